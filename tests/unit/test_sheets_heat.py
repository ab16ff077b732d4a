"""Sheets of heat, solvents and tests: what must stand in them, whatever else is changed in their files."""

from __future__ import annotations

import re

import pytest

from monitor.bench.events import canonical
from monitor.bench.quantities import QUANTITIES
from monitor.bench.sheets import Level, Limit, Sheet
from monitor.catalogue import Catalogue, load
from monitor.figures import NEEDS_LOCATOR, Grade

HOT = ("heat-seal-spatula", "heat-seal-iron", "hot-table", "low-heat-flattening")
SOLVENT = ("cleaning-tests", "gel-or-poultice")
MINE = (*HOT, *SOLVENT)
SIZE_AT_MOST = 14_000  # bytes of the day-book row that starts a step; the kept state holds 64 kB
HOTTEST_C = 85.0  # no hotter tool is ever recommended
WARM = ("tool_temperature", "surface_temperature", "bond_line_temperature", "face_temperature")
EVERY = (
    "This monitor is no safety device and replaces no cut-out",
    "Local codes and a qualified conservator come first",
)
OF_HEAT = (
    *EVERY, "Hot tools burn and start fires", "nothing wet with it in reach of a hot tool: vapour ignites",
    "this monitor measures no vapour", "Mains and water do not mix", "No wire or bead under the sole",
    "Count the leads",
)  # fmt: skip
OF_SOLVENT = (
    *EVERY, "Solvent vapour ignites: no flame, no hot tool", "Gloves that stand up to the solvent, extraction on",
    "measures no vapour", "No advice is given",
)  # fmt: skip
NUMBER = re.compile(r"\d")


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load()


def levels(sheet: Sheet) -> list[tuple[Limit, Level]]:
    return [(limit, level) for limit in sheet.limits.values() for level in limit.levels]


@pytest.mark.parametrize("key", MINE)
def test_the_usual_cautions_stand_where_the_work_happens(catalogue: Catalogue, key: str) -> None:
    said = " ".join(catalogue.sheet(key).cautions)
    for words in OF_HEAT if key in HOT else OF_SOLVENT:
        assert words in said, words


@pytest.mark.parametrize("key", HOT)
def test_heat_starts_only_after_what_lies_in_front_and_closed_solvent_were_asked(
    catalogue: Catalogue, key: str
) -> None:
    asks = catalogue.sheet(key).asks
    front = [ask for ask in asks if ask.text.startswith("What lies in front")]
    assert len(front) == 1
    assert len(front[0].choices) >= 5
    (solvent,) = [ask for ask in asks if ask.key == "no-solvent-open"]
    assert solvent.choices == ("it is",), "only one answer lets a hot step start"
    (wire,) = [ask for ask in asks if ask.key == "nothing-in-the-work"]
    assert wire.choices == ("none is",)


@pytest.mark.parametrize("key", SOLVENT)
def test_solvent_work_is_never_asked_to_be_without_solvent(catalogue: Catalogue, key: str) -> None:
    keys = [ask.key for ask in catalogue.sheet(key).asks]
    assert "no-solvent-open" not in keys
    assert {"nothing-hot-near", "solvent-in-it"} & set(keys)


def test_an_iron_that_moves_has_no_places(catalogue: Catalogue) -> None:
    iron = catalogue.sheet("heat-seal-iron")
    assert not iron.has_places
    assert [stage.key for stage in iron.stages] == ["set-up", "runs", "cooling"]
    assert any(text.startswith("No estimate for a moving iron") for text in iron.cautions)
    assert not any("flat sole" in text for text in iron.cautions), "that is said of an estimate"
    assert "Note each run: side, strokes, begin and end." in iron.stages[1].sentence


@pytest.mark.parametrize("key", MINE)
def test_nothing_hotter_than_a_proposal_of_85_is_set(catalogue: Catalogue, key: str) -> None:
    for limit, level in levels(catalogue.sheet(key)):
        if limit.quantity in WARM:
            assert level.at <= HOTTEST_C
            assert level.at < HOTTEST_C or level.grade == Grade.PROPOSAL


@pytest.mark.parametrize("key", HOT)
def test_a_hot_sheet_has_a_ceiling_in_every_stage_with_heat_and_a_floor_only_while_it_counts(
    catalogue: Catalogue, key: str
) -> None:
    sheet = catalogue.sheet(key)
    floors = {k for k, x in sheet.limits.items() if x.side == "low" and x.quantity in WARM}
    ceilings = {k for k, x in sheet.limits.items() if x.side == "high" and x.quantity in WARM}
    for stage in sheet.stages[:-1]:
        assert ceilings <= set(stage.limits), stage.key
    assert len([stage for stage in sheet.stages if floors & set(stage.limits)]) == 1
    assert not floors & {*sheet.stages[0].limits, *sheet.stages[-1].limits}


def test_a_hot_table_is_held_from_the_coldest_point_and_cools_under_pressure(catalogue: Catalogue) -> None:
    table = catalogue.sheet("hot-table")
    assert [stage.key for stage in table.stages] == ["set-up", "warming", "held", "cooling"]
    set_up, warming, held, cooling = (stage.sentence for stage in table.stages)
    assert "several points" in set_up
    assert "when the coldest point is inside what you set" in warming
    assert "only while the coldest point is inside" in held
    assert "pressure stays on until every point is as cold as the room" in cooling
    said = " ".join(table.cautions)
    for words in ("never runs unattended", "cut-out of its own", "vacuum pump", "hot and cold spots", "both cannot"):
        assert words in said
    cold = [(level.at, level.grade, level.source) for level in table.limits["table-too-cold"].levels]
    assert cold == [(70, "cited", "conserving-canvas-19"), (65, "cited", "conserving-canvas-19")]
    face = table.limits["face-too-hot"].levels
    assert [(level.at, level.grade) for level in face] == [(65, "published"), (70, "proposal")]
    assert "unknown paint 40 is proposed" in face[0].note


def test_low_heat_stays_within_what_was_described(catalogue: Catalogue) -> None:
    limits = catalogue.sheet("low-heat-flattening").limits
    assert [(x.at, x.priority, x.grade) for x in limits["heater-too-warm"].levels] == [
        (38, "low", "proposal"), (40, "high", "published"),
    ]  # fmt: skip
    assert [(x.at, x.priority, x.grade) for x in limits["heater-too-cool"].levels] == [(30, "low", "published")]


@pytest.mark.parametrize("key", SOLVENT)
def test_solvent_and_gel_sheets_judge_the_room_only(catalogue: Catalogue, key: str) -> None:
    sheet, room = catalogue.sheet(key), catalogue.sheet("room")
    assert list(sheet.roles) == ["room"]
    for name, limit in sheet.limits.items():
        if sheet.key == "cleaning-tests":
            ours = [level.at for level in room.limits[name].levels][: len(limit.levels)]
            assert [level.at for level in limit.levels] == ours, "as the room's own watch, for work on the stretcher"


@pytest.mark.parametrize("key", MINE)
def test_every_level_is_graded_and_every_warning_says_what_to_do(catalogue: Catalogue, key: str) -> None:
    sheet = catalogue.sheet(key)
    for limit, level in levels(sheet):
        assert level.source in catalogue.sources
        assert (Grade(level.grade) in NEEDS_LOCATOR) == bool(level.locator)
        assert Grade(level.grade) is not Grade.RECALLED
        tau_s = catalogue.responses[limit.quantity].value
        assert tau_s is not None
        assert limit.on_delay_ms >= 2300 * tau_s
    for limit in sheet.limits.values():
        assert len(limit.causes) >= 3
        assert limit.consequence.endswith(".")
        assert limit.what_to_do.endswith(".")
        assert limit.time_to_respond_s >= 5
        assert QUANTITIES[limit.quantity].unit in ("degC", "%RH")


@pytest.mark.parametrize("key", MINE)
def test_no_sentence_holds_a_number_without_a_grade(catalogue: Catalogue, key: str) -> None:
    """Figures belong to levels and layers, where a source stands beside them; two older cautions name theirs."""
    sheet = catalogue.sheet(key)
    known = ("A brushed coat: 12 h at least before heat.", "wider than about 15 mm")
    texts = [stage.sentence for stage in sheet.stages] + list(sheet.cautions) + [ask.text for ask in sheet.asks]
    texts += [
        text for limit in sheet.limits.values() for text in (limit.consequence, limit.what_to_do, *limit.causes)
    ]
    for text in texts:
        assert not NUMBER.search(text) or any(words in text for words in known), text


@pytest.mark.parametrize("key", MINE)
def test_a_sheet_fits_the_record_and_comes_back_the_same(catalogue: Catalogue, key: str) -> None:
    sheet = catalogue.sheet(key)
    body = sheet.as_json()
    assert Sheet.from_json(body) == sheet
    assert len(canonical(body).encode()) <= SIZE_AT_MOST
