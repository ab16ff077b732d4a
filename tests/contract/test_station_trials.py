"""Trials of the ways to be told: by a person, answered after the commit; once a day, all of them."""

from __future__ import annotations

import asyncio
import shutil
from pathlib import Path
from typing import Any

import pytest

from monitor.clock import SimulatedClock
from monitor.link.messages import TEST_WAY
from monitor.station.housekeeping import Housekeeping, Trial
from monitor.station.telling import telling
from monitor.ways import TellConfig, WayConfig
from tests.support.stations import NINE_MS, bench
from tests.support.told_station import LAMP, PHONE, go, rig


@pytest.fixture
def data(migrated_folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(migrated_folder, tmp_path / "data"))


def test_a_trial_is_answered_after_its_row_is_stored(data: Path) -> None:
    async def work() -> None:
        async with rig(data, heat=False) as r:
            answer = await r.at.ask(TEST_WAY, name="phone of MK")
            assert answer["ok"]
            assert answer["result"] == {"outcome": "told", "reason": ""}
            row = list(r.at.store.daybook())[-1]
            assert (row["kind"], row["by"], row["via"]) == ("telling_tested", "MK", "browser:test")
            assert row["body"] == {"way": "message", "name": "phone of MK", "outcome": "told", "reason": ""}
            assert r.ways["phone of MK"].tried == [False]
            (view,) = [w for w in r.at.station.view()["ways"] if w["name"] == "phone of MK"]
            assert view["state"] == "works"
            assert view["tried"] == {"at_ms": row["at_ms"], "outcome": "told", "reason": "", "daily": False}

    go(work)


def test_a_trial_that_fails_says_why_and_the_failure_is_written_once(data: Path) -> None:
    async def work() -> None:
        async with rig(data, heat=False) as r:
            r.ways["phone of MK"].trouble = "no network"
            for _ in range(2):
                answer = await r.at.ask(TEST_WAY, name="phone of MK")
                assert answer["result"] == {"outcome": "not told", "reason": "no network"}
            assert len(r.at.rows("telling_tested")) == 2
            assert len(r.at.rows("telling_failed")) == 1
            (view,) = [w for w in r.at.station.view()["ways"] if w["name"] == "phone of MK"]
            assert (view["state"], view["reason"]) == ("does not work", "no network")

    go(work)


@pytest.mark.parametrize("body", [{"name": "telegraph"}, {}, {"name": "phone of MK", "loud": True}, {"name": 3}])
def test_a_trial_of_nothing_is_refused(data: Path, body: dict[str, Any]) -> None:
    async def work() -> None:
        async with rig(data, heat=False) as r:
            answer = await r.at.ask(TEST_WAY, **body)
            assert not answer["ok"]
            assert "lamp at the door, phone of MK" in str(answer["error"])
            assert r.at.rows("telling_tested") == []

    go(work)


def test_a_trial_without_any_way_is_refused(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            answer = await at.ask(TEST_WAY, name="lamp")
            assert "none is configured" in str(answer["error"])
            assert at.station.view()["ways"] == []

    go(work)


def test_a_trial_that_takes_long_is_answered_and_written_when_it_is_over(
    data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(telling, "ANSWER_WITHIN_S", 0.01)

    async def work() -> None:
        async with rig(data, heat=False) as r:
            gate = r.ways["phone of MK"].gate = asyncio.Event()
            answer = await r.at.ask(TEST_WAY, name="phone of MK")
            assert answer["result"] == {"outcome": "on its way", "reason": ""}
            assert r.at.rows("telling_tested") == []
            (view,) = [w for w in r.at.station.view()["ways"] if w["name"] == "phone of MK"]
            assert view["trying"]
            gate.set()
            while not r.at.rows("telling_tested"):
                await asyncio.sleep(0)
            (row,) = r.at.rows("telling_tested")
            assert (row["by"], row["body"]["outcome"]) == ("MK", "told")

    go(work)


def test_the_daily_trial_is_one_row_with_what_came_of_each_and_is_remembered(data: Path) -> None:
    async def work() -> None:
        async with rig(data, LAMP, PHONE, WayConfig("mqtt", "house"), heat=False) as r:
            r.ways["house"].trouble = "no broker"
            await r.at.station.telling.self_test()
            while not r.at.rows("self_tested"):
                await asyncio.sleep(0)
            (row,) = r.at.rows("self_tested")
            came = {w["name"]: (w["outcome"], w["reason"]) for w in row["body"]["ways"]}
            assert came == {
                "lamp at the door": ("told", ""),
                "phone of MK": ("not tried", ""),
                "house": ("not told", "no broker"),
            }
            assert all(way.tried == [True] for way in r.ways.values())
        async with rig(data, LAMP, PHONE, WayConfig("mqtt", "house"), heat=False, boot_id="second") as r:
            tried = {w["name"]: w["tried"] for w in r.at.station.view()["ways"]}
            assert tried["house"] is not None
            assert (tried["house"]["outcome"], tried["house"]["daily"]) == ("not told", True)
            assert tried["phone of MK"] is None

    go(work)


def test_the_daily_trial_is_declared_anew_after_each_and_after_a_step_of_the_clock(data: Path) -> None:
    async def work() -> None:
        clock = SimulatedClock(start_wall_ms=NINE_MS - 1_800_000)  # half past nine in Lisbon
        tell = TellConfig(self_test_minute=9 * 60, time_zone="Europe/Lisbon")
        async with rig(data, clock=clock, tell=tell, heat=False) as r:
            station = r.at.station
            trial = Trial(station.telling.next_self_test_in_ms, station.telling.self_test)
            keeping = Housekeeping(r.at.store, None, clock, trial)
            keeping.start()
            station.on_clock_step = keeping.declare
            try:
                due = lambda: station.telling.next_self_test_in_ms()  # noqa: E731
                assert due() == 60_000, "today's was missed"
                await keeping.try_ways()
                assert due() == 86_400_000 - 1_800_000
                job = keeping._scheduler.get_job("try_ways")
                assert job is not None
                first = job.next_run_time
                clock.step_wall(12 * 3_600_000)
                await r.passes(3_000)
                moved = keeping._scheduler.get_job("try_ways").next_run_time
                assert (first - moved).total_seconds() == pytest.approx(12 * 3600, abs=30)
                while not r.at.rows("self_tested"):
                    await asyncio.sleep(0)
            finally:
                keeping.stop()

    go(work)


def test_while_the_time_is_not_known_no_daily_trial_is_due(data: Path) -> None:
    async def work() -> None:
        async with rig(data, clock=SimulatedClock(start_wall_ms=0), heat=False) as r:
            assert r.at.station.telling.next_self_test_in_ms() is None

    go(work)
