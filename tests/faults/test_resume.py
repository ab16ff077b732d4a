"""A station that is cut off goes on where it was: nothing committed is lost, nothing is made up."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from monitor.clock import SimulatedClock
from monitor.errors import LinkError
from monitor.station.places import opened_store
from monitor.store.recompute import recompute
from monitor.store.store import Store
from tests.support.stations import NINE_MS, bench

EVER = 2**62


def later(minutes: int) -> SimulatedClock:
    """A new boot, so monotonic time begins anew; the wall clock has gone on."""
    return SimulatedClock(start_wall_ms=NINE_MS + minutes * 60_000)


def readings(data: Path, channel: str) -> list[tuple[int, float | None]]:
    store = Store.open(data, read_only=True)
    try:
        return [(row.at_ms, row.value) for row in store.readings(channel, 0, EVER)]
    finally:
        store.close()


def agrees(data: Path) -> None:
    store = Store.open(data, read_only=True)
    try:
        found = recompute(store)
    finally:
        store.close()
    assert found.differences == []
    assert found.events > 0


def test_a_running_step_goes_on_and_its_gap_is_recorded(data: Path) -> None:
    async def work() -> None:
        async with bench(data, cut=True) as first:
            step = await first.heat_step()
            await first.station.run_until(90_000)
            revision = first.station.desk.state.steps[step].revision
        async with bench(data, clock=later(10)) as second:
            state = second.station.desk.state
            assert state.steps[step].revision == revision
            assert state.steps[step].stage == "places"
            starts = second.rows("segment_started")
            assert [row["body"]["reason"] for row in starts] == ["start", "start"]
            # the last input before the cut was stored up to a second before it
            assert 510_000 <= starts[1]["body"]["gap_ms"] <= 511_500
            answer = await second.ask("mark", step=step, mark="down")
            assert answer["ok"], answer
        agrees(data)

    asyncio.run(work())


def test_a_contact_in_hand_at_the_cut_is_not_known(data: Path) -> None:
    async def work() -> None:
        async with bench(data, cut=True) as first:
            step = await first.heat_step()
            await first.station.run_until(60_000)
            assert (await first.ask("mark", step=step, mark="down"))["ok"]
            await first.station.run_until(80_000)
        async with bench(data, clock=later(5)) as second:
            ended, judged = second.rows("contact_ended")[-1], second.rows("place_judged")[-1]
            assert ended["body"]["ended_by"] == "break"
            assert judged["body"]["verdict"] == "not known"
            assert "not running" in judged["body"]["reason"]
            assert second.station.desk.state.steps[step].places is not None
        agrees(data)

    asyncio.run(work())


def test_a_warning_that_was_told_while_the_tool_was_down_still_stands_afterwards(data: Path) -> None:
    """No state is kept during a contact: the ticks whose outcome was written are made again."""

    async def work() -> None:
        async with bench(data, cut=True) as first:
            step = await first.heat_step()
            first.world.tool_c = 70.0
            await first.station.run_until(60_000)
            assert (await first.ask("mark", step=step, mark="down"))["ok"]
            first.world.tool_c = 50.0
            await first.station.run_until(71_500)
            assert "alarm_raised" in first.kinds()
        async with bench(data, clock=later(2)) as second:
            alarm = second.station.desk.state.alarms[step, "tool-too-cold", "spatula.tool_temperature"]
            assert alarm.level == 0
            assert alarm.state == "unacknowledged"
        agrees(data)

    asyncio.run(work())


def test_everything_told_as_stored_is_there_after_a_cut(data: Path) -> None:
    async def work() -> int:
        async with bench(data, cut=True) as first:
            await first.station.run_until(45_000)
            assert first.station.stored_at_ms is not None
            return first.station.stored_at_ms

    stored_at_ms = asyncio.run(work())
    kept = readings(data, "spatula.tool_temperature")
    wanted = range(NINE_MS, stored_at_ms + 1, 200)
    assert {at for at, _ in kept} >= {at for at in wanted if at > NINE_MS}
    assert len(kept) >= 200


def test_an_answer_is_repeated_after_the_restart(data: Path) -> None:
    async def work() -> None:
        async with bench(data, cut=True) as first:
            answer = await first.ask("add_painting", number="26-09", name="Quince")
            assert answer["ok"]
        async with bench(data, clock=later(1)) as second:
            from monitor.link.messages import Request

            again = await second.client.request(
                Request("t1-1", "add_painting", {"number": "26-09", "name": "Quince"}, "MK", "browser:test")
            )
            assert again == answer
            assert len(second.rows("painting_added")) == 1

    asyncio.run(work())


def test_the_watch_of_the_room_is_started_once(data: Path) -> None:
    async def work() -> None:
        for minute in range(3):
            async with bench(data, clock=later(minute), cut=minute == 0) as at:
                await at.station.run_until(2_000)
                assert [row["body"]["sheet"]["key"] for row in at.rows("step_asked")] == ["room"]

    asyncio.run(work())
    agrees(data)


def test_two_stations_never_write_one_data_directory(data: Path) -> None:
    with opened_store(data), pytest.raises(LinkError, match="another station runs there"), opened_store(data):
        pass
    with opened_store(data) as store:
        assert store.boot == 0


def test_an_empty_place_gets_a_store(tmp_path: Path) -> None:
    with opened_store(tmp_path / "new") as store:
        assert list(store.daybook()) == []
    assert (tmp_path / "new" / "benchblotter.db").exists()
