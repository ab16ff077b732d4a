"""What would a limit have said? The page's answer out of a store, its marks, its starting values, its errors."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from dashboard.limit_asked import LISTED, Asked, Turns, answer
from dashboard.limit_marks import stretches
from dashboard.limit_starts import of_sheets, of_steps
from monitor.bench.readings import Reading
from monitor.catalogue import load
from monitor.errors import BadInput
from monitor.store.batch import Batch
from monitor.store.store import Store
from tests.support import reference
from tests.support.fake_past import FakePast
from tests.support.stores import NOON, RH, TOOL, begin, migrated_folder, segment

__all__ = ["migrated_folder"]
MINUTE_MS = 60_000
HUMID = Asked(RH, "high", "65", "1", "5", "5")


@pytest.fixture
def store(migrated_folder: Path, tmp_path: Path) -> Iterator[Store]:
    opened = Store.open(shutil.copytree(migrated_folder, tmp_path / "store"))
    yield begin(opened)
    opened.close()


@pytest.fixture
def traced(store: Store) -> Store:
    """Give a store with the reference trace in it."""
    rows = reference.rows("alarm_trace")
    store.write(Batch(segment(), [Reading(int(r["t_s"]) * 1000, RH, float(r["value"])) for r in rows]))
    return store


def asked(store: Store, question: Asked = HUMID, to_s: int = 60, drawn: list[str] | None = None) -> dict[str, Any]:
    return answer(store, question, (NOON, NOON + to_s * 1000), drawn or [], "day")


def test_the_reference_trace_is_answered_as_the_fold_judges_it(traced: Store) -> None:
    """Raised only at 13 s, cleared only at 31 s; 15 s beyond in three spells, counted by hand from the trace."""
    found = asked(traced)
    assert [(row["at_ms"] - NOON, row["text"]) for row in found["rows"]] == [
        (13_000, "warns, 66 %"), (31_000, "back inside, 63.5 %"),
    ]  # fmt: skip
    assert found["told"] == [
        "It would have warned once.",
        "Readings were outside it for 15 s in 3 spells, the longest 10 s.",
        "There are readings for 73.3 % of the period.",
    ]
    assert found["more"] == 0


def test_a_comma_is_a_point_and_what_is_left_empty_is_nought(traced: Store) -> None:
    assert asked(traced, Asked(RH, "high", "65,05"))["told"][0] == "It would have warned 3 times."
    assert asked(traced, Asked(RH, "low", "50"))["told"][:2] == [
        "It would not have warned.",
        "No reading was outside it.",
    ]


def test_a_warning_that_has_not_ended_still_stands(traced: Store) -> None:
    found = asked(traced, to_s=20)
    assert "The last warning would still stand at the end." in found["told"]
    assert found["told"][-1].startswith("There are readings for 95.0 %")


def test_fifty_are_listed_and_the_others_counted(store: Store) -> None:
    store.write(Batch(segment(), [Reading(n * 1000, RH, 60.0 + 10 * (n % 2)) for n in range(200)]))
    found = asked(store, Asked(RH, "high", "65"), to_s=300, drawn=[RH])
    assert len(found["rows"]) == LISTED
    assert found["more"] == 199 - LISTED
    assert len(found["marks"]) == 1 + 100, "all of them are marked"


def test_marks_lie_on_the_strip_of_the_quantity_and_only_where_it_is_drawn(traced: Store) -> None:
    assert asked(traced, drawn=[TOOL])["marks"] == []
    level, wash = asked(traced, drawn=[TOOL, "air.air_temperature", RH])["marks"]
    assert (level["y0"], level["yref"], level["x0"], level["x1"]) == (65.0, "y3", NOON, NOON + MINUTE_MS)
    assert (wash["x0"], wash["x1"], wash["yref"]) == (NOON + 13_000, NOON + 31_000, "y3 domain")
    assert asked(traced, drawn=[RH])["marks"][0]["yref"] == "y"


def test_a_stretch_without_an_end_lasts_to_the_end_of_the_period() -> None:
    rows = [{"at_ms": 5, "event": "raise"}, {"at_ms": 7, "event": "clear"}, {"at_ms": 9, "event": "raise"}]
    assert stretches(rows, 20) == [(5, 7), (9, 20)]


def test_readings_without_a_date_are_said_to_be_missing(traced: Store) -> None:
    traced.write(Batch(segment(2, from_mono_ms=100_000, known=False), [Reading(100_000, RH, 90.0)]))
    assert asked(traced)["told"][-1] == "Readings from a time when the board had no date are not among these."


@pytest.mark.parametrize(
    ("question", "says"),
    [
        (Asked(RH, "high", "damp"), "Level: 'damp'; expected a number, for instance 65. Write one."),
        (Asked(RH, "high", ""), "Level: ''; expected a number"),
        (Asked(RH, "high", "nan"), "Level: 'nan'; expected a number"),
        (Asked(RH, "high", "65.000001"), "Level: 65.000001; expected six figures at most"),
        (Asked(RH, "high", "65", "-1"), "Dead band: -1; expected 0 or more"),
        (Asked(RH, "high", "65", "1", "-5"), "Warns after: -5; expected 0 to 86400 s"),
        (Asked(RH, "high", "65", "1", "5", "86401"), "Back after: 86401; expected 0 to 86400 s"),
        (Asked(RH, "above", "65"), "Side: 'above'"),
        (Asked("air.damp", "high", "65"), "Probe: 'air.damp' is not measured"),
        (Asked("air.dew_point", "high", "65"), "Probe: 'air.dew_point' is not measured"),
        (Asked(TOOL, "high", "65"), "nothing was read by this probe in it"),
        (Asked("cellar.mass", "high", "65"), "cellar.mass was never measured"),
    ],
)
def test_what_cannot_be_answered_is_told_in_the_words_of_the_page(traced: Store, question: Asked, says: str) -> None:
    with pytest.raises(BadInput) as caught:
        asked(traced, question)
    assert says in str(caught.value)


def test_one_question_is_worked_out_at_a_time_and_the_next_after_it() -> None:
    turns, begun, done = Turns(), threading.Event(), threading.Event()

    def slow() -> dict[str, Any]:
        begun.set()
        assert done.wait(5)
        return {"n": 1}

    working = threading.Thread(target=lambda: turns.take(slow))
    working.start()
    assert begun.wait(5)
    with pytest.raises(BadInput, match="another is being worked out"):
        turns.take(lambda: {"n": 2})
    done.set()
    working.join(5)
    assert turns.take(lambda: {"n": 3}) == {"n": 3}


def test_a_question_begins_with_limits_of_steps_and_of_sheets() -> None:
    (tool,) = of_steps(FakePast())
    assert (tool.channel, tool.side, tool.at) == ("spatula.tool_temperature", "high", "85")
    assert tool.title == "tool temperature at most 85 °C, spatula (23-09: Strip-lining)"
    room = [s for s in of_sheets(load().sheets.values()) if s.quantity == "relative_humidity" and s.side == "high"]
    humid = next(s for s in room if "(Room" in s.title or "room" in s.title.lower())
    limit = next(one for one in load().sheets["room"].limits.values() if one.quantity == "relative_humidity")
    assert float(humid.deadband) == limit.deadband
    assert float(humid.on_s) == limit.on_delay_ms / 1000
    assert humid.channel == ""


def test_each_start_of_the_sheets_can_be_asked_as_it_stands() -> None:
    for start in of_sheets(load().sheets.values()):
        _, limit = Asked(f"p.{start.quantity}", start.side, start.at, start.deadband, start.on_s, start.off_s).limit()
        assert limit.quantity == start.quantity
