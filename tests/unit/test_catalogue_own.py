"""A folder of one's own: new entries of any grade, and own tests in the place of what ships; nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from monitor.catalogue import Catalogue, figure_rows, load
from monitor.errors import ManyProblems
from monitor.figures import Figure, Grade
from tests.support.catalogues import FOLDER, LAYER, SOURCE, problems_of, write

FILM = "[adhesive.eva-film-2010]\n"
TESTED = '{ value = 68, unit = "degC", grade = "own test", note = "lot 7, 3 March, MK" }'
LEVEL = '[sheet.room.limits.humidity-high]\nlevels = [ { at = 58, priority = "low", grade = "own test" } ]\n'


@pytest.fixture(scope="module")
def ours() -> Catalogue:
    return load()


def test_a_measured_figure_takes_the_place_of_ours_and_the_rest_stays(ours: Catalogue, tmp_path: Path) -> None:
    own = load(write(tmp_path, {"adhesives.toml": f"{FILM}bond_line_min_c = {TESTED}\n"}))
    film, was = own.adhesives["eva-film-2010"], ours.adhesives["eva-film-2010"]
    least = Figure(68, "degC", "own-test", Grade.OWN_TEST, note="lot 7, 3 March, MK")
    assert film.figures == {**was.figures, "bond_line_min_c": least}
    assert film.name == was.name
    assert own.replaced == {"adhesive.eva-film-2010.bond_line_min_c": was.figures["bond_line_min_c"]}
    assert own.sandwich("strip-on-margin")["min_c"] == 68
    others = {key: entry for key, entry in own.adhesives.items() if key != film.key}
    assert others == {key: entry for key, entry in ours.adhesives.items() if key != film.key}
    assert (own.layers, own.sheets, own.own) == (ours.layers, ours.sheets, frozenset())


def test_the_list_says_what_ours_was(tmp_path: Path) -> None:
    film = f'{FILM}bond_line_min_c = {TESTED}\nhold_spatula_s = {{ value = 25, unit = "s", grade = "own test" }}\n'
    rows = {row.where: row for row in figure_rows(load(write(tmp_path, {"adhesives.toml": film})))}
    row = rows["adhesive.eva-film-2010.bond_line_min_c"]
    assert (row.value, row.grade, row.source_key) == ("68", "own test", "own-test")
    assert row.in_place_of == "70 degC, cited, conserving-canvas-19, fig. 19.4, notes 8-9"
    assert rows["adhesive.eva-film-2010.hold_spatula_s"].in_place_of == "no value: only an own test gives one"
    assert [where for where, row in rows.items() if row.in_place_of] == [
        "adhesive.eva-film-2010.bond_line_min_c", "adhesive.eva-film-2010.hold_spatula_s",
    ]  # fmt: skip


def test_a_figure_that_ours_lacks_may_be_added(tmp_path: Path) -> None:
    tested = '{ value = 90, unit = "degC", grade = "own test", source = "own-test" }'
    own = load(write(tmp_path, {"adhesives.toml": f"[adhesive.eva-film-2017]\nbond_line_max_c = {tested}\n"}))
    assert own.adhesives["eva-film-2017"].value("bond_line_max_c") == 90
    assert own.replaced == {"adhesive.eva-film-2017.bond_line_max_c": None}
    (row,) = [row for row in figure_rows(own) if row.in_place_of]
    assert row.in_place_of == "nothing: there was no such figure"


def test_a_measured_layer_conductance_or_response_counts(ours: Catalogue, tmp_path: Path) -> None:
    own = load(write(tmp_path, {
        "layers.toml": '[layer.canvas]\nthickness_um = { value = 620, unit = "um", grade = "own test" }\n',
        "sandwiches.toml": "[sandwich.strip-on-margin]\nconductance_w_m2k = "
        '{ value = 210, low = 180, high = 240, unit = "W/(m2 K)", grade = "own test" }\n',
        "sensors.toml": "[response.air_temperature]\n"
        'time_constant_s = { value = 9, unit = "s", grade = "own test" }\n',
    }))  # fmt: skip
    body = own.sandwich("strip-on-margin")
    layers, conductance = body["layers"], body["conductance_w_m2k"]
    assert isinstance(layers, list)
    assert isinstance(conductance, dict)
    assert layers[3]["thickness_um"] == 620
    assert (conductance["low"], conductance["likely"], conductance["grade"]) == (180, 210, "own test")
    assert own.responses["air_temperature"].value == 9
    assert own.replaced["response.air_temperature.time_constant_s"] == ours.responses["air_temperature"]
    assert own.layers["canvas"].value("conductivity_w_mk") == ours.layers["canvas"].value("conductivity_w_mk")


def test_a_slower_sensor_of_ones_own_makes_short_delays_wrong(tmp_path: Path) -> None:
    slow = '[response.relative_humidity]\ntime_constant_s = { value = 200, unit = "s", grade = "own test" }\n'
    problems = problems_of(write(tmp_path, {"sensors.toml": slow}))
    assert all("time constants of the sensor" in problem for problem in problems)
    assert any("room.limits.humidity-high.on_delay_s: is 300 s; expected 460 s" in problem for problem in problems)


def test_a_level_of_ones_own_takes_the_place_of_ours_of_that_priority(ours: Catalogue, tmp_path: Path) -> None:
    own = load(write(tmp_path, {"sheets/mine.toml": LEVEL}))
    mine, was = own.sheet("room").limits["humidity-high"], ours.sheet("room").limits["humidity-high"]
    assert [level.at for level in mine.levels] == [58, 70, 75]
    assert (mine.levels[0].grade, mine.levels[0].source) == ("own test", "own-test")
    assert mine.levels[1:] == was.levels[1:]
    assert (mine.deadband, mine.on_delay_ms, mine.causes) == (was.deadband, was.on_delay_ms, was.causes)
    rows = {row.where: row for row in figure_rows(own)}
    assert rows["sheet.room.humidity-high.levels[1]"].in_place_of.startswith("60 %RH, cited, iic-icom-cc-2014")


REFUSED = [
    # (file, text, line, key, a part of what is said)
    ("adhesives.toml", f'{FILM}name = "My film"\n', 2, "adhesive.eva-film-2010.name", "is of an entry that ships"),
    ("adhesives.toml", f'{FILM}bond_line_min_c = {TESTED.replace("own test", "published")}\n', 2,
     "bond_line_min_c.grade", "is 'published'; expected 'own test': nothing but figures of grade own test"),
    ("adhesives.toml", f'{FILM}bond_line_min_c = {TESTED.replace("own test", "proposal")}\n', 2,
     "bond_line_min_c.grade", "For anything else give the entry a key of its own."),
    ("adhesives.toml", FILM + 'bond_line_min_c = { value = 68, unit = "degC" }\n', 2, "bond_line_min_c.grade",
     "is missing"),
    ("adhesives.toml", f'{FILM}bond_line_min_c = {{ grade = "own test" }}\n', 2, "bond_line_min_c.value",
     "is missing; expected what you measured"),
    ("adhesives.toml", f'{FILM}bond_line_min_c = {TESTED.replace("note", "source")}\n', 2, "bond_line_min_c.source",
     "expected 'own-test', or no source"),
    ("adhesives.toml", f'{FILM}bond_line_min_c = {TESTED.replace("degC", "degF")}\n', 2, "bond_line_min_c.unit",
     "is 'degF'; expected 'degC'"),
    ("adhesives.toml", f'{FILM}bond_line_min_c = {TESTED.replace("68", "68.5")}\n', 2, "bond_line_min_c.value",
     "whole steps of 1 degC"),
    ("adhesives.toml", f"{FILM}bond_line_mim_c = {TESTED}\n", 2, "bond_line_mim_c", "is of an entry that ships"),
    ("adhesives.toml", f"{FILM}bond_line_min_c = 68\n", 2, "bond_line_min_c", "is 68; expected a table"),
    ("sandwiches.toml", '[sandwich.strip-on-margin]\nfilm = "another-film"\n', 2, "sandwich.strip-on-margin.film",
     "is of an entry that ships"),
    ("sandwiches.toml", '[sandwich.strip-on-margin]\nconductance_w_m2k = { value = 210, unit = "W/(m2 K)", '
     'grade = "own test" }\n', 2, "conductance_w_m2k", "has no range"),
    ("sources.toml", '[source.memory]\ntitle = "x"\nread = "y"\n', 1, "source.memory",
     "the source 'memory' ships; expected a source with a key of its own"),
    ("sentences.toml", '[caution.never-alone]\ntext = "x"\n', 1, "caution.never-alone", "ships"),
    ("sensors.toml", '[response.mass]\nname = "x"\n', 2, "response.mass.name", "is not a key"),
    ("sensors.toml", '[response.air_temperature]\nname = "x"\n', 2, "response.air_temperature.name",
     "is of an entry that ships"),
    ("formulas.toml", '[formula.mine]\nname = "x"\n', 1, "", "is not a file of the catalogue"),
    ("sheets/mine.toml", '[sheet.room]\ntitle = "x"\n', 2, "sheet.room.title", "is of an entry that ships"),
    ("sheets/mine.toml", LEVEL.replace("humidity-high", "damp"), 1, "sheet.room.limits.damp",
     "is not a limit of this sheet; expected a limit of this sheet: humidity-high"),
    ("sheets/mine.toml", LEVEL + "deadband = 3\n", 3, "humidity-high.deadband", "is of an entry that ships"),
    ("sheets/mine.toml", LEVEL.replace("own test", "proposal"), 2, "levels[1].grade", "is 'proposal'; expected"),
    ("sheets/mine.toml", LEVEL.replace('"low"', '"urgent"'), 2, "levels[1].priority", "one of low, medium, high"),
    ("sheets/mine.toml", LEVEL.replace("at = 58, ", ""), 2, "levels[1].at", "is missing; expected what you measured"),
    ("sheets/mine.toml", LEVEL.replace("58", "71"), 2, "levels[1].at", "70, medium, stands after a level as severe"),
    ("sheets/mine.toml", LEVEL + 'unit = "degC"\n', 3, "humidity-high.unit", "is 'degC'; expected one of %RH"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "text", "line", "key", "said"), REFUSED)
def test_anything_else_in_an_entry_that_ships_is_refused(
    tmp_path: Path, file: str, text: str, line: int, key: str, said: str
) -> None:
    problems = problems_of(write(tmp_path, {file: text}))
    right = [p for p in problems if f"{tmp_path / file}, line {line}" in p and key in p and said in p]
    assert len(right) == 1, problems
    assert all(problem in right or "is missing" in problem for problem in problems), problems


def test_a_new_entry_may_have_any_grade_with_sources_of_ones_own(tmp_path: Path) -> None:
    own = load(write(tmp_path, FOLDER))
    assert own.layers["baize"].figures["density_kg_m3"].grade is Grade.PUBLISHED
    assert {"layer.baize", "adhesive.gel", "sandwich.short", "sheet.trial", "source.iso"} <= own.own
    assert own.replaced == {}


def test_every_fault_of_a_folder_of_ones_own_is_told_at_once(tmp_path: Path) -> None:
    files = {
        "adhesives.toml": f'{FILM}name = "x"\nbond_line_min_c = {{ grade = "own test" }}\n',
        "layers.toml": LAYER.replace("low = 3000", "low = 20000"),
        "sources.toml": SOURCE.replace("source.iso", "source.memory"),
        "sheets/mine.toml": LEVEL.replace("own test", "cited"),
    }
    with pytest.raises(ManyProblems) as caught:
        load(write(tmp_path, files))
    assert [p.split(": ")[0].removeprefix(f"{tmp_path}/") for p in caught.value.problems] == [
        "adhesives.toml, line 2, adhesive.eva-film-2010.name",
        "adhesives.toml, line 3, adhesive.eva-film-2010.bond_line_min_c.value",
        "layers.toml, line 3, layer.baize.thickness_um.low",
        "layers.toml, line 4, layer.baize.conductivity_w_mk.source",
        "layers.toml, line 5, layer.baize.density_kg_m3.source",
        "sheets/mine.toml, line 2, sheet.room.limits.humidity-high.levels[1].grade",
        "sources.toml, line 1, source.memory",
    ]
