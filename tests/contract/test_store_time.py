"""Time on both stores: clock segments, undated readings and how they are dated, resuming, inputs in order."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from monitor.bench.inputs import Asked, Input, order_key
from monitor.bench.outputs import Estimate
from monitor.bench.readings import Quality, Reading
from monitor.clock import Segment
from monitor.errors import StoreError
from monitor.store.batch import Batch, Position, Snapshot
from monitor.store.integrity import check, counts
from monitor.store.store import Store
from tests.support.drafts import STEP, note, note_asked, whole_step
from tests.support.stores import NOON, RH, TEMPERATURE, TOOL, begin, segment

DAY = 86_400_000


def rows_of(store: Store) -> Iterator[tuple[int, Input]]:
    """Give the inputs, a note's row read back by hand."""
    return store.inputs(None, asked)


def asked(row: dict[str, Any]) -> Asked | None:
    """Give the request a row records."""
    return Asked(row["mono_ms"], row["kind"], row["by"], row["via"], row["body"])


def test_undated_readings_wait_and_are_dated_in_one_recorded_transaction(begun: Store) -> None:
    undated = segment(known=False)
    readings = [Reading(t * 1000, RH, 50 + t / 100) for t in range(200)]
    estimate = Estimate(11_000, STEP, "left", 1, 1, "face", 1.0, 2.0, 3.0)
    state = Snapshot(Position(1, 150_000, 3, "", 0), None, 1, "{}")
    begun.write(Batch(undated, readings, whole_step(), [estimate], state, {"r1": {"ok": True}}))
    assert list(begun.readings(RH, 0, 2 * NOON)) == []
    assert begun.envelope(RH, 0, 2 * NOON) == []
    assert [(r.mono_ms, r.value) for r in begun.undated(RH, 1)] == [(r.mono_ms, r.value) for r in readings]
    assert {row["at_ms"] for row in begun.daybook()} == {None}
    assert check(begun) == []

    row = begun.date_segment(segment(), 200_500, by="MK", via="browser:1")

    assert row["body"] == {"segment": 1, "offset_ms": NOON, "readings": 200}
    assert (row["kind"], row["at_ms"], row["by"], row["via"]) == ("clock_known", NOON + 200_500, "MK", "browser:1")
    assert [(r.at_ms, r.value) for r in begun.readings(RH, 0, 2 * NOON)] == [
        (NOON + r.mono_ms, r.value) for r in readings
    ]
    assert list(begun.undated(RH, 1)) == []
    assert {row["at_ms"] for row in begun.daybook(kinds=["step_started"])} == {None}
    assert begun.steps()[0].started_at_ms == NOON + 1010
    assert begun.contacts(STEP)[0].end_at_ms == NOON + 22_000
    assert begun.bindings(STEP)[0].to_at_ms == NOON + 61_000
    assert next(begun.estimates(STEP)).at_ms == NOON + 11_000
    assert begun.segments() == [segment()]
    assert check(begun) == []


def test_a_batch_made_before_the_dating_is_dated_when_it_is_written(begun: Store) -> None:
    begun.write(Batch(segment(known=False), [Reading(1, RH, 50.0)]))
    begun.date_segment(segment(), 5)
    begun.write(Batch(segment(known=False), [Reading(2, RH, 51.0)]))
    begun.write(Batch(segment(), [Reading(3, RH, 52.0)]))
    assert [(r.at_ms - NOON, r.value) for r in begun.readings(RH, 0, 2 * NOON)] == [(1, 50.0), (2, 51.0), (3, 52.0)]
    assert check(begun) == []


def test_a_segment_is_dated_once(begun: Store) -> None:
    begun.write(Batch(segment(known=False), [Reading(1, RH, 50.0)]))
    begun.date_segment(segment(), 5)
    with pytest.raises(StoreError, match="time already known"):
        begun.date_segment(segment(at_ms=NOON + 1), 6)
    assert [row["kind"] for row in begun.daybook()] == ["clock_known"]


def test_dated_readings_may_lie_between_others(begun: Store) -> None:
    """A board without a clock battery: what it read undated turns out to lie before and after other rows."""
    begun.write(Batch(segment(1), [Reading(t, RH, 1.0 + t) for t in (0, 40_000, 200_000, 4_000_000)]))
    begun.write(Batch(segment(2, from_mono_ms=5_000_000, known=False), [
        Reading(5_000_000 + t, RH, 2.0) for t in range(0, 300_000, 7_000)
    ]))  # fmt: skip
    begun.date_segment(segment(2, from_mono_ms=5_000_000, at_ms=NOON + 30_000), 6_000_000)
    assert check(begun) == []
    begun.write(Batch(segment(3, from_mono_ms=6_000_000, at_ms=NOON + 8_000_000), [Reading(6_000_000, RH, 3.0)]))
    assert check(begun) == []


def test_a_step_of_the_wall_clock_keeps_both_hours(begun: Store) -> None:
    """The clock is set back by an hour: the hour is stored twice, each reading under its segment."""
    hour = 3_600_000
    before = [Reading(t, RH, 40.0) for t in range(0, 2 * hour, 60_000)]
    after = [Reading(2 * hour + t, RH, 60.0) for t in range(0, 2 * hour, 60_000)]
    begun.write(Batch(segment(1), before))
    begun.write(Batch(segment(2, from_mono_ms=2 * hour, at_ms=NOON + hour), after))
    stored = list(begun.readings(RH, NOON + hour, NOON + 2 * hour))
    assert [(r.segment, r.value) for r in stored[:4]] == [(1, 40.0), (2, 60.0), (1, 40.0), (2, 60.0)]
    assert [item for _, item in rows_of(begun)] == before + after
    assert check(begun) == []


def test_the_newest_segment_tells_how_far_it_was_read(begun: Store) -> None:
    assert begun.newest_segment() is None
    begun.write(Batch(segment(), [Reading(7000, RH, 50.0), Reading(5000, TOOL, 20.0)]))
    assert begun.newest_segment() == (segment(), 7000)


def test_snapshots_first_of_each_day_and_the_newest_are_kept(begun: Store) -> None:
    assert begun.newest_snapshot() is None
    for mono in (0, DAY // 4, DAY // 3, DAY, DAY + 5, 3 * DAY):
        state = Snapshot(Position(1, mono, 3, "", 0), NOON + mono, 1, f'{{"mono":{mono}}}')
        begun.write(Batch(segment(), drafts=[note(mono)], snapshot=state))
    kept = begun.kept_snapshots()
    assert [s.position.mono_ms for s in kept] == [0, DAY, 3 * DAY]
    assert [s.position.seq for s in kept] == [1, 4, 6]
    assert begun.newest_snapshot() == Snapshot(
        Position(1, 3 * DAY, 3, "", 6), NOON + 3 * DAY, 1, f'{{"mono":{3 * DAY}}}'
    )


def test_a_state_of_exactly_64_kb_is_stored(begun: Store) -> None:
    state = "ü" * 32_768
    begun.write(Batch(segment(), snapshot=Snapshot(Position(1, 1, 3, "", 0), NOON, 1, state)))
    found = begun.newest_snapshot()
    assert found is not None
    assert found.state == state


def test_a_position_has_the_last_row_of_its_own_transaction(begun: Store) -> None:
    at = Position(1, 5, 3, "", 0)
    begun.write_all([
        Batch(segment(), drafts=[note(1), note(2)], snapshot=Snapshot(at, NOON, 1, "{}")),
        Batch(segment(), drafts=[note(6)]),
    ])  # fmt: skip
    found = begun.newest_snapshot()
    assert found is not None
    assert found.position.seq == 2


CHANNELS = (TEMPERATURE, RH, TOOL)
ONE = st.tuples(st.integers(0, 40), st.sampled_from((*CHANNELS, "note")))


@pytest.mark.long
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    first=st.lists(ONE, max_size=12, unique=True),
    second=st.lists(ONE, max_size=12, unique=True),
    step_at=st.integers(0, 40),
    back=st.sampled_from([-30, 0, 30]),
    known=st.booleans(),
)
def test_inputs_come_in_total_order_and_resume_after_each(
    new_place: Callable[[], str], first: list[Any], second: list[Any], step_at: int, back: int, known: bool
) -> None:
    """Two boots, the first with a stepped clock, the second perhaps undated: order and resume hold for all."""
    given_inputs: list[tuple[int, Input]] = []
    store = begin(Store.open(new_place()))
    try:
        segments = [segment(1), segment(2, 1, step_at, NOON + step_at + back)]
        given_inputs += [(1, item) for item in _write(store, first, segments)]
        begin(store)
        segments = [segment(3, 2, 0, NOON + 1000, known=known)]
        given_inputs += [(2, item) for item in _write(store, second, segments)]
        assert list(rows_of(store)) == given_inputs
        seq = 0
        for place, (boot, item) in enumerate(given_inputs):
            seq += isinstance(item, Asked)
            if place % 3:
                continue
            after = Position(boot, *order_key(item), seq)
            assert list(store.inputs(after, asked)) == given_inputs[place + 1 :]
    finally:
        store.close()


def _write(store: Store, items: list[tuple[int, str]], segments: list[Segment]) -> list[Input]:
    """Write what a station would have; give the inputs in the order it folded them."""
    made: list[Input] = []
    for mono, what in items:
        if what == "note":
            body = {"step": None, "text": str(mono)}
            made.append(Asked(mono, "note_asked", "MK", "command", body))
        else:
            gap = mono % 7 == 3
            made.append(Reading(mono, what, None if gap else float(mono), Quality.BUS if gap else Quality.GOOD))
    made.sort(key=order_key)
    for item in made:
        here = [s for s in segments if s.from_mono_ms <= item.mono_ms][-1]
        if isinstance(item, Asked):
            store.write(Batch(here, drafts=[note_asked(item.mono_ms, str(item.mono_ms))]))
        elif isinstance(item, Reading):
            store.write(Batch(here, [item]))
    return made


def test_inputs_are_read_lazily(begun: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("monitor.store.resuming.PAGE", 10)
    begun.write(Batch(segment(), [Reading(t, c, 20.0) for t in range(1000) for c in CHANNELS]))
    asked_for = 0
    real = begun.engine.connect

    def counted() -> Any:
        nonlocal asked_for
        asked_for += 1
        return real()

    monkeypatch.setattr(begun.engine, "connect", counted)
    found = rows_of(begun)
    for _ in range(30):
        next(found)
    assert asked_for <= 10
    assert sum(1 for _ in found) == 2970
    assert asked_for > 300


def test_nothing_is_lost_when_the_store_is_opened_again(begun: Store, open_place: Callable[..., Store]) -> None:
    """A store that was never closed, as after a kill, goes on with the same rollups and chain."""
    readings = [Reading(t * 1000, RH, 50 + t / 10) for t in range(400)]
    begun.write(Batch(segment(), readings[:130], [note(130_000)]))
    again = begin(open_place())
    again.write(Batch(segment(), readings[130:], [note(400_000)]))
    assert counts(again)["readings"] == 400
    assert [row["seq"] for row in again.daybook()] == [1, 2]
    assert check(again) == []
