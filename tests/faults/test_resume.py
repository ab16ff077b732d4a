"""A station that is cut off goes on where it was: nothing committed is lost, nothing is made up."""

from __future__ import annotations

import asyncio
import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from monitor.bench.state_json import dump
from monitor.catalogue.loader import load
from monitor.clock import SimulatedClock
from monitor.config import Studio
from monitor.errors import BadInput, LinkError
from monitor.link.messages import Request
from monitor.probes.opening import open_probes
from monitor.probes.wire.still_world import StillWorld
from monitor.station.places import opened_store
from monitor.station.station import Station
from monitor.station.uses import run_demo, run_story
from monitor.store.recompute import recompute
from monitor.store.store import Store
from monitor.store.writer import Writer
from monitor.stories.script import load_story
from tests.support.stations import NINE_MS, ROOM, ROOM_ONLY, SPATULA, STUDIO, bench

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


def test_a_second_station_on_the_sockets_is_refused_before_anything_is_recorded(data: Path, tmp_path: Path) -> None:

    async def work() -> None:
        async with bench(data) as first:
            opened = open_probes(STUDIO, sensed=StillWorld(), clock=first.clock, threaded=False)
            store = Store.open(data)
            writer = Writer(store)
            try:
                second = Station(STUDIO, first.clock, opened, store, writer, first.runtime, load(), boot_id="b2")
                with pytest.raises(LinkError, match="another station runs there"):
                    await second.run()
                assert store.boot == 1
            finally:
                await asyncio.to_thread(writer.close)
                store.close()
            await first.station.run_until(3_000)
            assert (await first.ask("note", text="Still the only one."))["ok"]

    asyncio.run(work())


def test_a_story_is_never_played_over_a_record(data: Path) -> None:

    async def work() -> None:
        async with bench(data):
            pass

    asyncio.run(work())
    with pytest.raises(BadInput, match="it has a day-book"):
        run_story(load_story("strip-lining"), data)


@pytest.mark.parametrize("speed", [0.0, 0.5, 20.5, 1000.0])
def test_a_demo_at_a_speed_that_cannot_be_kept_is_refused(tmp_path: Path, speed: float) -> None:

    with pytest.raises(BadInput, match="1 to 20"):
        run_demo("strip-lining", speed, tmp_path / "data", tmp_path / "run")
    assert not (tmp_path / "data").exists()


SLOW = Studio(
    "Studio of a test",
    "test",
    ("north bench",),
    (replace(ROOM, interval_ms=10_000), replace(SPATULA, interval_ms=10_000)),
)


async def a_silence_ends_between_two_readings(data: Path) -> str:
    """Cut a station that has told the end of a silence, by a tick alone, while the tool is down."""
    async with bench(data, studio=SLOW, cut=True) as first:
        step = await first.heat_step()
        await first.station.run_until(60_500)
        assert (await first.ask("mark", step=step, mark="down"))["ok"]
        alarm = {"step": step, "limit": "tool-too-cold", "channel": "spatula.tool_temperature"}
        assert (await first.ask("shelve", **alarm, for_s=3, reason="warming up"))["ok"]
        await first.station.run_until(66_500)
        assert first.kinds()[-1] == "alarm_unshelved"
    return step


def test_what_a_tick_alone_has_told_is_told_once_and_holds_after_the_cut(data: Path) -> None:
    async def work() -> None:
        step = await a_silence_ends_between_two_readings(data)
        async with bench(data, studio=SLOW, clock=later(2)) as second:
            alarm = second.station.desk.state.alarms[step, "tool-too-cold", "spatula.tool_temperature"]
            assert (alarm.state, alarm.shelved_until_ms) == ("normal", None)
            await second.station.run_until(20_500)
            assert len(second.rows("alarm_unshelved")) == 1

    asyncio.run(work())
    agrees(data)


def test_a_kept_state_that_cannot_be_read_is_folded_anew_from_everything_stored(
    data: Path, caplog: pytest.LogCaptureFixture
) -> None:
    async def work() -> None:
        step = await a_silence_ends_between_two_readings(data)
        async with bench(data, studio=SLOW, clock=later(2), cut=True) as second:
            await second.station.run_until(20_500)
            known = dump(second.station.desk.state)
        with closing(sqlite3.connect(data / "benchblotter.db")) as base:
            base.execute("UPDATE snapshots SET state = '{\"form\": 99}'")
            base.commit()
        async with bench(data, studio=SLOW, clock=later(2)) as third:
            assert third.station.desk.state.steps[step].stage == "places"
            alarms = json.loads(known)["alarms"]
            assert json.loads(dump(third.station.desk.state))["alarms"] == alarms
            assert len(third.rows("alarm_unshelved")) == 1

    asyncio.run(work())
    assert "folded anew" in caplog.text


def test_a_record_with_a_fault_in_it_does_not_keep_the_station_from_measuring(
    data: Path, caplog: pytest.LogCaptureFixture
) -> None:
    async def work() -> None:
        async with bench(data, cut=True) as first:
            await first.station.run_until(5_000)
        with closing(sqlite3.connect(data / "benchblotter.db")) as base:
            # a probe the settings never named
            base.execute(
                "UPDATE channels SET channel = 'ghost.air_temperature' WHERE channel = 'room.air_temperature'"
            )
            base.commit()
        async with bench(data, clock=later(2)) as second:
            await second.station.run_until(3_000)
            assert (await second.ask("note", text="Measuring."))["ok"]

    asyncio.run(work())
    assert "check-store --recompute" in caplog.text


def test_a_probe_that_is_gone_from_the_configuration_leaves_its_step_running_and_says_so(data: Path) -> None:
    async def work() -> None:
        async with bench(data, cut=True) as first:
            step = await first.heat_step()
            await first.station.run_until(20_000)
        async with bench(data, clock=later(2), studio=ROOM_ONLY) as second:
            await second.station.run_until(10_000)
            view = second.station.view()
            assert [p["probe"] for p in view["probes"]] == ["room"]
            heat = next(s for s in view["steps"] if s["id"] == step)
            assert ["tool", "no such probe; outside of the shank"] in heat["say"]["facts"]
            assert (await second.ask("finish_step", step=step))["ok"]

    asyncio.run(work())
    agrees(data)
