"""Midnight, silence, a set clock, a cut while a warning is silent: the record still follows from its inputs."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

from monitor.clock import SimulatedClock, from_iso
from monitor.probes.wire.still_world import StillWorld
from monitor.store.recompute import recompute
from monitor.store.store import Store
from tests.support.stations import NINE_MS, ROOM_ONLY, Bench, bench

NINE = "2026-05-04T09:00:"


def agrees(data: Path) -> None:
    store = Store.open(data, read_only=True)
    try:
        assert recompute(store).differences == []
    finally:
        store.close()


def later(hours: float) -> SimulatedClock:
    return SimulatedClock(start_wall_ms=NINE_MS + round(hours * 3_600_000))


def stop_reading(at: Bench) -> None:
    at.station._rounds = []


def test_a_quiet_room_over_midnight_recomputes(data: Path) -> None:
    """A state is kept on the new day's first readings, when nothing at all has happened."""

    async def work() -> None:
        world = StillWorld()
        clock = SimulatedClock(start_wall_ms=from_iso("2026-05-04T23:58:30Z"))
        async with bench(data, clock=clock, studio=ROOM_ONLY, world=world) as at:
            await at.station.run_until(120_500)
            world.air_c, world.rh_pct = 21.0, 47.0
            await at.station.run_until(300_500)

    asyncio.run(work())
    agrees(data)


def test_silence_is_named_before_and_after_a_cut(data: Path) -> None:
    async def work() -> None:
        async with bench(data, studio=ROOM_ONLY, cut=True) as at:
            await at.station.run_until(3_500)
            stop_reading(at)
            await at.station.run_until(9_500)
            assert [row["mono_ms"] for row in at.rows("probe_stale")] == [6001, 6001]
        async with bench(data, clock=later(0.1), studio=ROOM_ONLY, cut=True) as at:
            await at.station.run_until(5_500)
            stop_reading(at)
            await at.station.run_until(600_500)
            assert len(at.rows("probe_stale")) == 4
        async with bench(data, clock=later(0.5), studio=ROOM_ONLY) as at:
            await at.station.run_until(5_500)

    asyncio.run(work())
    agrees(data)


def test_a_warning_silent_over_a_cut_speaks_again_at_the_start(data: Path) -> None:
    async def shelve(at: Bench) -> dict[str, Any]:
        alarm = next(iter(at.station.desk.state.alarms.values()))
        body = {"step": alarm.step, "limit": alarm.limit.key, "channel": alarm.channel}
        return dict(await at.ask("shelve", **body, for_s=60, reason="window open for a minute"))

    async def work() -> None:
        async with bench(data, studio=ROOM_ONLY, cut=True) as at:
            await at.station.run_until(3_500)
            assert (await shelve(at))["ok"]
            await at.station.run_until(5_500)
        async with bench(data, clock=later(1), studio=ROOM_ONLY, cut=True) as at:
            stop_reading(at)
            await at.station.run_until(1_500)
            ended = at.rows("alarm_unshelved")
            assert [row["at_ms"] for row in ended] == [NINE_MS + 3_600_000]
        async with bench(data, clock=later(1.1), studio=ROOM_ONLY) as at:
            await at.station.run_until(5_500)

    asyncio.run(work())
    agrees(data)


def test_what_happened_before_the_clock_was_set_keeps_its_time(data: Path) -> None:
    async def work() -> None:
        clock = SimulatedClock(start_wall_ms=NINE_MS)
        async with bench(data, clock=clock, studio=ROOM_ONLY) as at:
            await at.station.run_until(3_500)
            stop_reading(at)
            await at.station.run_until(6_900)
            clock.step_wall(3_600_000)
            await at.station.run_until(20_500)
            silent = at.rows("probe_stale")
            assert {(row["at_ms"], row["segment"]) for row in silent} == {(NINE_MS + 6001, 1)}
            assert len(at.rows("segment_started")) == 2

    asyncio.run(work())
    agrees(data)
