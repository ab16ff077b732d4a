"""Every mistake in a catalogue is told with file, line and key; all of them at once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from monitor.catalogue import load
from monitor.errors import BadInput, ManyProblems
from tests.support.catalogues import (
    ADHESIVES,
    FOLDER,
    LAYER,
    LAYERS,
    SANDWICHES,
    SHEET,
    SOLVENTS,
    SOURCE,
    SUPPORTS,
    TRIAL,
    problems_of,
    write,
)


def test_a_folder_of_ones_own_adds_to_what_ships(tmp_path: Path) -> None:
    catalogue = load(write(tmp_path, FOLDER))
    sheet = catalogue.sheets["trial"]
    assert sheet.limits["too-damp"].role == "tent"
    assert sheet.stages[0].title == "taking up"
    assert sheet.stages[0].sentence == "Whether a place holds is checked by hand when cold."
    assert not sheet.only_proposals
    assert catalogue.layers["baize"].value("density_kg_m3") == 120
    assert catalogue.sandwich("short")["min_c"] is None
    assert "room" in catalogue.sheets


def test_a_sheet_of_proposals_says_so(tmp_path: Path) -> None:
    text = SHEET.replace('"cci-incorrect-rh", locator = "p. 1", grade = "published"', '"project", grade = "proposal"')
    assert load(write(tmp_path, {"sheets/trial.toml": text})).sheets["trial"].only_proposals


ONE_MISTAKE = [
    # (file, what is replaced, by what, line, key, a part of what is said)
    (TRIAL, 'title = "Trial"\n', "", 1, "title", "is missing"),
    (TRIAL, "[sheet.trial]\n", "[sheet.trial]\ncolour = 1\n", 2, "colour", "is not a key"),
    (TRIAL, '"which-lot"', '"what-now"', 3, "asks[1]", "'what-now' is not in the catalogue"),
    (TRIAL, '"never-alone"', '"never"', 5, "cautions[1]", "Add [caution.never] to sentences.toml"),
    (TRIAL, '"air_temperature",', '"wind",', 4, "roles.tent[1]", "'wind'; expected a measured quantity"),
    (TRIAL, '"air_temperature",', '"dew_point",', 4, "roles.tent[1]", "'dew_point'; expected a measured"),
    (TRIAL, ', room = ["relative_humidity"]', ", room = []", 4, "roles.room", "an empty list"),
    (TRIAL, 'key = "taking-up"\n', "", 6, "stages[1].key", "is missing"),
    (TRIAL, '"person"', '"itself"', 8, "stages[1].ends", "one of person"),
    (TRIAL, '["too-damp"]', '["too-damp", "too-dry"]', 9, "stages[1].limits[2]", "'too-dry'; expected a limit"),
    (TRIAL, '["too-damp"]', "[]", 11, "limits.too-damp", "no stage lists it"),
    (TRIAL, '"check-by-hand"', '"nod"', 10, "prompts[1]", "[prompt.nod]"),
    (TRIAL, "[sheet.trial.limits", "has_contacts = 1\n[sheet.trial.limits", 11, "has_contacts", "true or false"),
    (TRIAL, 'role = "tent"', 'role = "bed"', 12, "role", "'bed'; expected one of tent, room"),
    (TRIAL, 'role = "tent"\n', "", 11, "role", "several roles give relative_humidity"),
    (TRIAL, '["air_temperature", "relative_humidity"]', '["air_temperature"]', 13, "quantity",
     "not given by the role 'tent'"),
    (TRIAL, '"relative_humidity"\nside = "high"\nunit = "%RH"', '"mass"\nside = "high"\nunit = "g"', 13,
     "quantity", "not given by the role 'tent'"),
    (TRIAL, '"relative_humidity"\nside', '"humidity"\nside', 13, "quantity", "'humidity'; expected one of"),
    (TRIAL, '"relative_humidity"\nside', '"countdown"\nside', 13, "quantity", "which nothing works out yet"),
    (TRIAL, '"relative_humidity"\nside', '"hold_condition"\nside', 13, "quantity", "are not in this version"),
    (TRIAL, '"relative_humidity"\nside', '"humidity_at_canvas"\nside', 13, "quantity", "no role gives surface"),
    (TRIAL, '"high"\nunit', '"upper"\nunit', 14, "side", "one of high, low"),
    (TRIAL, 'unit = "%RH"', 'unit = "degC"', 15, "unit", "'%RH', the unit of relative_humidity"),
    (TRIAL, 'unit = "%RH"\n', "", 11, "unit", "is missing"),
    (TRIAL, "deadband = 2", "deadband = -1", 16, "deadband", "is -1"),
    (TRIAL, "\non_delay_s = 300", "\non_delay_s = 9.1", 17, "on_delay_s",
     "is 9.1 s; expected 9.2 s or more, 2.3 time constants"),
    (TRIAL, "\noff_delay_s = 300", "\noff_delay_s = -1", 18, "off_delay_s", "is -1"),
    (TRIAL, "\noff_delay_s = 300", "\noff_delay_s = 0.0005", 18, "off_delay_s", "whole milliseconds"),
    (TRIAL, "latching = false", "latching = 'no'", 19, "latching", "true or false"),
    (TRIAL, "at = 75, ", "", 20, "levels[1].at", "is missing"),
    (TRIAL, "at = 75", "at = true", 20, "levels[1].at", "a number of %RH"),
    (TRIAL, "at = 75", "at = inf", 20, "levels[1].at", "a number of %RH"),
    (TRIAL, "at = 75", "at = 75.00001", 20, "levels[1].at", "six figures"),
    (TRIAL, '"low", source', '"urgent", source', 20, "levels[1].priority", "one of low, medium, high"),
    (TRIAL, 'source = "project", ', "", 20, "levels[1].source", "is missing"),
    (TRIAL, '"project"', '"hearsay"', 20, "levels[1].source", "'hearsay' is not in the catalogue"),
    (TRIAL, ', grade = "proposal"', "", 20, "levels[1].grade", "is missing"),
    (TRIAL, '"proposal"', '"certain"', 20, "levels[1].grade", "'certain'; expected one of published"),
    (TRIAL, '"proposal" }', '"proposal", page = 1 }', 20, "levels[1].page", "is not a key"),
    (TRIAL, 'locator = "p. 1", ', "", 21, "levels[2].locator", "because the grade is published"),
    (TRIAL, '"published"', '"cited", note = 3', 21, "levels[2].note", "is 3"),
    (TRIAL, "at = 80", "at = 75", 21, "levels[2].at", "further out than 75"),
    (TRIAL, '"high", source', '"low", source', 21, "levels[2].at", "more urgent than low"),
    (TRIAL, 'causes = ["x"]\n', "", 11, "causes", "is missing"),
    (TRIAL, 'causes = ["x"]', "causes = []", 22, "causes", "an empty list"),
    (TRIAL, 'causes = ["x"]', "causes = [1]", 22, "causes[1]", "is 1"),
    (TRIAL, 'consequence = "y"\n', "", 11, "consequence", "is missing"),
    (TRIAL, 'what_to_do = "z"\n', "", 11, "what_to_do", "is missing"),
    (TRIAL, "time_to_respond_s = 300\n", "", 11, "time_to_respond_s", "is missing"),
    (TRIAL, "time_to_respond_s = 300", "time_to_respond_s = 0", 25, "time_to_respond_s", "from 1"),
    (TRIAL, "time_to_respond_s = 300", "time_to_respond_s = 300\nblink = true", 26, "blink", "is not a key"),
    (LAYERS, 'name = "baize"\n', "", 1, "layer.baize.name", "is missing"),
    (LAYERS, "density_kg_m3", "density_g_cm3", 5, "layer.baize.density_g_cm3", "Did you mean density_kg_m3?"),
    (LAYERS, "value = 0.05, ", "", 4, "conductivity_w_mk.value", "is missing"),
    (LAYERS, "value = 0.05", 'value = "0.05"', 4, "conductivity_w_mk.value", "Write a number without quotes"),
    (LAYERS, "value = 0.05", "value = nan", 4, "conductivity_w_mk.value", "is nan"),
    (LAYERS, "value = 0.05", "value = 0", 4, "conductivity_w_mk.value", "more than 0"),
    (LAYERS, "value = 0.05", "value = -1", 4, "conductivity_w_mk.value", "is -1"),
    (LAYERS, "value = 0.05", "value = 0.0505", 4, "conductivity_w_mk.value", "whole steps of 0.001"),
    (LAYERS, ' unit = "W/(m K)",', "", 4, "conductivity_w_mk.unit", "is missing"),
    (LAYERS, '"W/(m K)"', '"W/mK"', 4, "conductivity_w_mk.unit", "'W/mK'; expected 'W/(m K)'"),
    (LAYERS, 'source = "iso", locator = "baize", grade = "published" }\nd',
     'locator = "baize", grade = "published" }\nd', 4, "conductivity_w_mk.source", "is missing"),
    (LAYERS, '"memory"', '"dream"', 6, "heat_capacity_j_kgk.source", "'dream' is not in the catalogue"),
    (LAYERS, '"recalled"', '"remembered"', 6, "heat_capacity_j_kgk.grade", "'remembered'; expected one of"),
    (LAYERS, ', grade = "recalled"', "", 6, "heat_capacity_j_kgk.grade", "is missing"),
    (LAYERS, '"recalled"', '"cited"', 6, "heat_capacity_j_kgk.locator", "because the grade is cited"),
    (LAYERS, '"recalled"', '"recalled", locator = ""', 6, "heat_capacity_j_kgk.locator", "not empty"),
    (LAYERS, '"recalled"', '"recalled", sure = true', 6, "heat_capacity_j_kgk.sure", "is not a key"),
    (LAYERS, "low = 3000", "low = 11000", 3, "thickness_um.low", "is 11000, above high = 10000"),
    (LAYERS, "low = 3000", "low = 6000", 3, "thickness_um.value", "a value from low to high"),
    (LAYERS, "low = 3000", "low = 3000.5", 3, "thickness_um.low", "whole steps of 1 um"),
    (LAYERS,
     '\ndensity_kg_m3 = { value = 120, unit = "kg/m3", source = "iso", locator = "baize", grade = "published" }',
     "\ndensity_kg_m3 = 120", 5, "layer.baize.density_kg_m3", "is 120; expected a table"),
    (ADHESIVES, 'hold_spatula_s = { grade = "own test", note = "mock-up" }\n', "", 1, "hold_spatula_s", "is missing"),
    (ADHESIVES,
     'bond_line_min_c = { grade = "own test" }', 'bond_line_min_c = { grade = "own test", unit = 1, vlue = 2 }',
     3, "bond_line_min_c.vlue", "Did you mean value?"),
    (SANDWICHES, 'film = "gel"', 'film = "gell"', 3, "film", "Did you mean 'gel'?"),
    (SANDWICHES, '"canvas", "baize"]', '"canvas", "fleece"]', 4, "layers[4]", "'fleece' is not in the catalogue"),
    (SANDWICHES, 'bond_line = "eva-film-65"', 'bond_line = "blotter"', 5, "bond_line", "not one of the layers"),
    (SANDWICHES, '"canvas", "baize"]', '"canvas", "canvas", "baize"]', 6, "face", "more than once"),
    (SANDWICHES, 'face = "canvas"', 'face = "linen-strip"', 6, "face", "lies before the bond line"),
    (SANDWICHES, " low = 60,", "", 7, "conductance_w_m2k", "has no range"),
    (SANDWICHES, "underside_w_m2k", "under_w_m2k", 8, "under_w_m2k", "is not a key"),
    (SUPPORTS, 'beware = [ { text = "It sags.", source = "iso", locator = "p. 2", grade = "cited" } ]\n', "", 1,
     "support.hemp.beware", "there is nothing to beware of"),
    (SUPPORTS, ' locator = "p. 2",', "", 3, "beware[1].locator", "because the grade is cited"),
    (SUPPORTS, 'text = "It sags.", ', "", 3, "beware[1].text", "is missing"),
    (SUPPORTS, 'text = "It sags.", source = "iso"', 'text = "It sags.", source = "hearsay"', 3, "beware[1].source",
     "'hearsay' is not in the catalogue"),
    (SUPPORTS, "low = 65", "low = 76", 4, "turnover_rh_pct.low", "is 76, above high = 75"),
    (SUPPORTS, 'high = 75, unit = "%RH"', 'high = 75, unit = "%"', 4, "turnover_rh_pct.unit",
     "is '%'; expected '%RH'"),
    (SUPPORTS, 'differs = "turnover_rh_pct"', 'differs = "turnover"', 5, "shrinkage_rh_pct.differs",
     "is 'turnover'; expected another figure of this entry"),
    (SUPPORTS, 'differs = "turnover_rh_pct"', 'differs = "shrinkage_rh_pct"', 5, "shrinkage_rh_pct.differs",
     "expected another figure"),
    (SUPPORTS, 'grade = "published" }', 'grade = "published", test = 1 }', 6, "table_paint_ceiling_c.test", "is 1"),
    (SUPPORTS, 'name = "glass"\nface', 'name = "glass"\nfoot', 9, "front.glass.foot_ceiling_c", "is not a key"),
    (SOLVENTS, 'cas = "60-29-7"\n', "", 1, "solvent.ether.cas", "is missing"),
    (SOLVENTS, 'unit = "g/mol"', 'unit = "kg/mol"', 4, "molar_mass_g_mol.unit", "expected 'g/mol'"),
    (SOLVENTS, "boiling_point_c", "boiling_point_k", 5, "boiling_point_k", "Did you mean boiling_point_c?"),
    ("sensors.toml", "response.mass", "response.weight", 1, "response.weight", "'weight' is not measured"),
    ("sensors.toml", "value = 3, ", "", 2, "time_constant_s.value", "is missing"),
    ("sentences.toml", 'text = "Mind the step."', "", 1, "caution.mine.text", "is missing"),
    ("sentences.toml", "caution.mine", "warning.mine", 1, "warning", "one of caution, ask, prompt"),
    ("sources.toml", "read = 'A tabulated extract.'\n", "", 1, "source.iso.read", "is missing"),
    ("sources.toml", "read =", "url = 'x'\nread =", 3, "source.iso.url", "is not a key"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "line", "key", "said"), ONE_MISTAKE)
def test_each_mistake_is_told_at_its_line_and_key(
    tmp_path: Path, file: str, old: str, new: str, line: int, key: str, said: str
) -> None:
    assert old in FOLDER[file]
    problems = problems_of(write(tmp_path, {**FOLDER, file: FOLDER[file].replace(old, new, 1)}))
    right = [p for p in problems if f"{tmp_path / file}, line {line}, " in p and f"{key}: " in p and said in p]
    assert len(right) == 1, problems
    # a key written wrongly is both unknown and missing; nothing else may come along
    assert all(p in right or "is missing" in p or "more than once" in p for p in problems), problems


def test_all_mistakes_of_all_files_are_told_at_once(tmp_path: Path) -> None:
    files = dict(FOLDER)
    files["layers.toml"] = LAYER.replace("5000,", "5,").replace("recalled", "known")
    files["sheets/trial.toml"] = SHEET.replace('"tent"', '"bed"').replace('priority = "low", ', "").replace("z", "")
    problems = problems_of(write(tmp_path, files))
    assert [p.split(": ")[0].removeprefix(f"{tmp_path}/") for p in problems] == [
        "layers.toml, line 3, layer.baize.thickness_um.value",
        "layers.toml, line 6, layer.baize.heat_capacity_j_kgk.grade",
        "sheets/trial.toml, line 12, sheet.trial.limits.too-damp.role",
        "sheets/trial.toml, line 20, sheet.trial.limits.too-damp.levels[1].priority",
        "sheets/trial.toml, line 24, sheet.trial.limits.too-damp.what_to_do",
    ]


def test_a_response_that_is_not_known_is_told(tmp_path: Path) -> None:
    text = SHEET.replace('room = ["relative_humidity"]', 'pump = ["pressure"]')
    text = text.replace('role = "tent"', 'role = "pump"')
    text = text.replace('"relative_humidity"\nside', '"pressure"\nside').replace('"%RH"', '"Pa"')
    (problem,) = problems_of(write(tmp_path, {"sheets/trial.toml": text}))
    assert "no response time is known for pressure" in problem


def test_the_role_is_found_where_only_one_gives_the_quantity(tmp_path: Path) -> None:
    text = SHEET.replace('role = "tent"\n', "").replace(', room = ["relative_humidity"]', "")
    assert load(write(tmp_path, {"sheets/trial.toml": text})).sheets["trial"].limits["too-damp"].role == "tent"


def test_a_sheet_without_anything_misses_everything(tmp_path: Path) -> None:
    problems = problems_of(write(tmp_path, {"sheets/trial.toml": "[sheet.trial]\n"}))
    assert [p.split("line 1, ")[1].split(";")[0] for p in problems] == [
        "sheet.trial.roles: there is no role", "sheet.trial.stages: there is no stage",
        "sheet.trial.title: is missing",
    ]  # fmt: skip


def test_two_stages_of_one_key_are_told(tmp_path: Path) -> None:
    twice = "[[sheet.trial.stages]]\nkey = 'taking-up'\n"
    (problem,) = problems_of(write(tmp_path, {"sheets/trial.toml": SHEET + twice}))
    assert "stages[2].key: is 'taking-up', as of a stage before" in problem


def test_one_key_in_two_files_of_a_folder_is_told(tmp_path: Path) -> None:
    (problem,) = problems_of(write(tmp_path, {"sheets/trial.toml": SHEET, "sheets/two.toml": SHEET}))
    assert "sheets/two.toml, line 1, sheet.trial: is in " in problem


def test_a_file_of_another_name_is_told(tmp_path: Path) -> None:
    (problem,) = problems_of(write(tmp_path, {"layer.toml": LAYER, "sources.toml": SOURCE}))
    assert "layer.toml, line 1: is not a file of the catalogue; expected one of sources.toml" in problem


def test_what_is_not_toml_is_told_without_what_follows_from_it(tmp_path: Path) -> None:
    problems = problems_of(write(tmp_path, {**FOLDER, "sources.toml": "[source.iso\n", "layers.toml": "x = \n"}))
    assert len(problems) == 2
    assert "layers.toml, line 1: is not TOML" in problems[0]
    assert "sources.toml, line 1: is not TOML" in problems[1]


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="is not a folder"):
        load(tmp_path / "none")


def test_a_copy_of_the_folder_that_ships_gives_the_same(tmp_path: Path) -> None:
    shutil.copytree(Path(__file__).parents[2] / "monitor/catalogue", tmp_path / "copy")
    assert load(base_dir=tmp_path / "copy") == load()


@pytest.mark.parametrize(
    ("line", "instead", "key", "said"),
    [
        ('locator = "ch. 1, eq. 33"\n', "", "locator", "because the grade is cited"),
        ('source = "ashrae-2017"\n', 'source = "hearsay"\n', "source", "'hearsay' is not in the catalogue"),
        ('test = "tests/reference/test_humidity.py::test_against_psychrolib"\n', "", "test", "is missing"),
        ('name = "wet-bulb temperature of air"\n', 'nom = "wet"\n', "nom", "is not a key of this table"),
    ],
)
def test_each_mistake_of_a_formula_is_told(tmp_path: Path, line: str, instead: str, key: str, said: str) -> None:
    shutil.copytree(Path(__file__).parents[2] / "monitor/catalogue", tmp_path / "copy")
    file = tmp_path / "copy/formulas.toml"
    before, start, after = file.read_text().partition("[formula.wet-bulb]")
    assert line in after
    file.write_text(before + start + after.replace(line, instead, 1))
    with pytest.raises(ManyProblems) as caught:
        load(base_dir=tmp_path / "copy")
    assert [p for p in caught.value.problems if f"formula.wet-bulb.{key}: " in p and said in p], caught.value.problems


def test_a_delay_of_just_the_sensors_response_is_accepted(tmp_path: Path) -> None:
    text = SHEET.replace("\non_delay_s = 300", "\non_delay_s = 9.2")
    assert load(write(tmp_path, {"sheets/trial.toml": text})).sheets["trial"].limits["too-damp"].on_delay_ms == 9200
