"""The wall clock is set, or is not known at the start: no reading is lost, none gets a wrong time."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from monitor.clock import SimulatedClock
from monitor.store.recompute import recompute
from monitor.store.store import Store
from tests.support.stations import NINE_MS, ROOM_ONLY, bench

RH = "room.relative_humidity"
EVER = 2**62


def agrees(data: Path) -> None:
    store = Store.open(data, read_only=True)
    try:
        assert recompute(store).differences == []
    finally:
        store.close()


@pytest.mark.parametrize("step_ms", [3_600_000, -3_600_000, 2_001, -2_001])
def test_a_step_of_the_wall_clock_begins_a_segment_and_loses_no_reading(data: Path, step_ms: int) -> None:
    async def work() -> None:
        clock = SimulatedClock(start_wall_ms=NINE_MS)
        async with bench(data, clock=clock, studio=ROOM_ONLY) as at:
            await at.station.run_until(10_500)
            clock.step_wall(step_ms)
            await at.station.run_until(20_500)
            second = at.rows("segment_started")[1]
            assert second["body"] == {
                "gap_ms": 0,
                "offset_ms": NINE_MS + step_ms,
                "reason": "clock set",
                "segment": 2,
            }
            kept = [(row.segment, row.at_ms) for row in at.store.readings(RH, 0, EVER)]
        assert [s for s, _ in kept].count(1) + [s for s, _ in kept].count(2) == len(kept)
        mono = sorted(t - NINE_MS - (step_ms if s == 2 else 0) for s, t in kept)
        # one reading a second by the clock that was not set; those in the same millisecond as a request moved on by 1
        assert [m // 1000 for m in mono] == list(range(len(mono)))
        assert len(mono) >= 20

    asyncio.run(work())
    agrees(data)


def test_a_small_drift_is_no_step(data: Path) -> None:
    async def work() -> None:
        clock = SimulatedClock(start_wall_ms=NINE_MS)
        async with bench(data, clock=clock, studio=ROOM_ONLY) as at:
            await at.station.run_until(5_500)
            clock.step_wall(2_000)
            await at.station.run_until(10_500)
            assert len(at.rows("segment_started")) == 1

    asyncio.run(work())


def test_a_board_that_does_not_know_the_time_dates_its_readings_when_it_does(data: Path) -> None:
    async def work() -> None:
        clock = SimulatedClock(start_wall_ms=0)  # no battery: the clock begins in 1970
        async with bench(data, clock=clock, studio=ROOM_ONLY) as at:
            await at.station.run_until(10_500)
            assert (await at.ask("note", text="Before the time was known."))["ok"]
            view = at.station.view()
            assert view["time_known"] is False
            assert view["at_ms"] is None
            assert list(at.store.readings(RH, 0, EVER)) == []
            assert all(row["at_ms"] is None for row in at.store.daybook())
            clock.step_wall(NINE_MS)
            await at.station.run_until(20_500)
            assert at.station.view()["time_known"] is True
            (known,) = at.rows("clock_known")
            assert known["body"]["segment"] == 1
            assert known["body"]["offset_ms"] == NINE_MS
            assert known["body"]["readings"] >= 2 * 10
            kept = [row.at_ms for row in at.store.readings(RH, 0, EVER)]
            assert [(at_ms - NINE_MS) // 1000 for at_ms in kept] == list(range(len(kept)))
            assert len(kept) >= 20
            assert at.rows("note_written")[0]["at_ms"] is None  # written before, and for ever as it was
            assert len(at.rows("segment_started")) == 1

    asyncio.run(work())
    agrees(data)


def test_a_wall_clock_earlier_than_what_is_stored_is_not_believed(data: Path) -> None:
    async def work() -> None:
        async with bench(data, studio=ROOM_ONLY) as first:
            await first.station.run_until(30_000)
        early = SimulatedClock(start_wall_ms=NINE_MS - 86_400_000)
        async with bench(data, clock=early, studio=ROOM_ONLY) as second:
            await second.station.run_until(3_500)
            assert second.station.view()["time_known"] is False
            assert second.rows("segment_started")[-1]["body"]["gap_ms"] is None
            early.step_wall(2 * 86_400_000)
            await second.station.run_until(6_500)
            assert second.station.view()["time_known"] is True
            assert len(second.rows("clock_known")) == 1

    asyncio.run(work())
    agrees(data)
