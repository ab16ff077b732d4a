"""What the station tells, to whom and when: lamp and sounder before the commit, the others after it."""

from __future__ import annotations

import asyncio
import shutil
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from monitor.clock import SimulatedClock, from_iso
from monitor.store.store import Store
from monitor.store.writer import Writer
from monitor.ways import TellConfig, WayConfig
from tests.support.stations import bench
from tests.support.told_station import LAMP, PHONE, go, rig


@pytest.fixture
def data(migrated_folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(migrated_folder, tmp_path / "data"))


def test_a_warning_reaches_lamp_and_phone_in_its_own_words(data: Path) -> None:
    async def work() -> None:
        async with rig(data) as r:
            await r.too_hot()
            (message,) = r.ways["phone of MK"].told
            assert r.ways["lamp at the door"].told == [message]
            assert message.kind == "limit passed"
            assert message.priority == "high"
            begins = "Simulated: Two boats drying, north bench: tool temperature at spatula"
            assert message.sentence.startswith(begins)
            assert message.what_to_do
            assert (message.board, message.bench) == ("test", "north bench")
            assert message.warning == f"{r.step}/tool-too-hot/spatula.tool_temperature"
            assert message.at_ms is not None
            raised = r.at.rows("alarm_raised")[-1]
            assert raised["at_ms"] == message.at_ms

    go(work)


class FullDisk:
    full = False

    def writer(self, store: Store) -> Writer:
        write_all = store.write_all

        def writing(batches: Any) -> Any:
            if self.full:
                raise sa.exc.OperationalError("INSERT", {}, OSError("database or disk is full"))
            return write_all(batches)

        store.write_all = writing  # type: ignore[method-assign]
        return Writer(store, retry_s=0.01)


def test_lamp_and_sounder_never_wait_for_the_disk_and_the_others_always_do(data: Path) -> None:
    async def work() -> None:
        disk = FullDisk()
        async with rig(data, writing=disk.writer) as r:
            lamp, phone = r.ways["lamp at the door"], r.ways["phone of MK"]
            desk = r.at.station.desk
            disk.full = True
            r.world.tool_c = 95.0
            for _ in range(30):  # run_until would wait for the store
                r.at.clock.move_to(r.at.clock.mono_ms() + 200)  # type: ignore[attr-defined]
                await r.at.station._read(r.at.station._rounds, r.at.clock.mono_ms())
            async with desk.lock:
                desk.pass_time()
                desk.settle()
            assert [m.kind for m in lamp.told] == ["limit passed"]
            standing = lamp.stood[-1]
            assert standing is not None
            assert standing.warnings[0].sounds
            assert phone.told == []
            assert all(s is None or not s.warnings for s in phone.stood)
            disk.full = False
            await r.at.station.ledger.idle()
            assert [m.kind for m in phone.told] == ["limit passed"]
            assert phone.stood[-1] is not None

    go(work)


def test_who_was_told_of_a_warning_is_told_that_it_is_over(data: Path) -> None:
    async def work() -> None:
        async with rig(data, LAMP, PHONE, WayConfig("mqtt", "house", "high")) as r:
            await r.too_hot()
            r.world.tool_c = 75.0
            await r.passes(30_000)
            for name in ("phone of MK", "house"):
                kinds = [m.kind for m in r.ways[name].told if "tool-too-hot" in m.warning]
                assert kinds == ["limit passed", "over"], name
            over = r.ways["phone of MK"].told[-1]
            assert over.sentence.endswith("it is inside again.")
            assert over.what_to_do == ""

    go(work)


def test_what_was_not_told_is_not_told_to_be_over(data: Path) -> None:
    async def work() -> None:
        night = TellConfig(time_zone="Europe/Lisbon")
        async with rig(data, LAMP, replace(PHONE, when="overnight"), tell=night) as r:
            await r.too_hot()  # at ten in the morning
            r.world.tool_c = 75.0
            await r.passes(30_000)
            assert r.ways["phone of MK"].told == []
            assert r.ways["lamp at the door"].told != []

    go(work)


@pytest.mark.parametrize(
    ("at", "told"), [("2026-05-04T17:59:00Z", ["day"]), ("2026-05-04T18:00:30Z", ["night"]),
                     ("2026-05-04T05:58:00Z", ["night"]), ("2026-05-04T06:00:30Z", ["day"])],
)  # fmt: skip
def test_the_phone_of_the_night_and_the_phone_of_the_day(data: Path, at: str, told: list[str]) -> None:
    async def work() -> None:
        clock = SimulatedClock(start_wall_ms=from_iso(at))
        ways = (WayConfig("message", "night", "high", "overnight"), WayConfig("message", "day", "high", "by day"))
        async with rig(data, *ways, clock=clock) as r:
            await r.too_hot()
            assert [name for name in ("night", "day") if r.ways[name].told] == told

    go(work)


def test_a_lamp_of_the_night_goes_on_in_the_evening_and_off_in_the_morning(data: Path) -> None:
    async def work() -> None:
        clock = SimulatedClock(start_wall_ms=from_iso("2026-05-04T17:58:00Z"))
        async with rig(data, replace(LAMP, when="overnight"), clock=clock) as r:
            lamp = r.ways[LAMP.name]
            await r.too_hot()
            assert lamp.told == []
            assert lamp.stood[-1] is None
            await r.passes(120_000)
            standing = lamp.stood[-1]
            assert standing is not None
            assert any(w.unseen for w in standing.warnings)
            clock.step_wall(13 * 3_600_000)
            await r.passes(3_000)
            assert lamp.stood[-1] is None

    go(work)


def test_what_is_milder_than_a_way_wants_is_not_told_to_it(data: Path) -> None:
    async def work() -> None:
        async with rig(data, replace(LAMP, least="high"), replace(PHONE, least="low")) as r:
            r.world.rh_pct = 62.0  # outside the lowest level alone
            await r.passes(420_000)
            assert {m.priority for m in r.ways["phone of MK"].told} == {"low"}
            assert r.ways["lamp at the door"].told == []

    go(work)


def test_seen_reaches_lamp_and_sounder_at_once(data: Path) -> None:
    async def work() -> None:
        async with rig(data, LAMP, WayConfig("sounder", "sounder")) as r:
            await r.too_hot()
            await r.seen()
            for way in r.ways.values():
                standing = way.stood[-1]
                assert standing is not None
                (hot,) = [w for w in standing.warnings if "too-hot" in w.warning]
                assert (hot.unseen, hot.sounds) == (False, False)

    go(work)


def test_a_way_with_a_fault_of_its_own_keeps_nobody_from_being_told_and_nothing_from_being_stored(
    data: Path, caplog: pytest.LogCaptureFixture
) -> None:
    async def work() -> None:
        faulty = WayConfig("message", "faulty"), WayConfig("lamp", "faulty lamp")
        async with rig(data, *faulty, LAMP, PHONE) as r:
            for config in faulty:
                r.ways[config.name].faulty = True
            await r.too_hot()
            assert r.at.rows("alarm_raised")
            assert [m.kind for m in r.ways[LAMP.name].told] == ["limit passed"]
            assert [m.kind for m in r.ways[PHONE.name].told] == ["limit passed"]
            assert r.at.station.stored_at_ms == r.at.clock.wall_ms() - 1000

    go(work)
    assert "a fault of this way" in caplog.text


def test_of_a_flood_the_phone_is_told_once_and_of_what_is_graver(data: Path) -> None:
    async def work() -> None:
        async with rig(data) as r:
            await r.too_hot()
            r.world.rh_pct = 62.0
            await r.passes(420_000)
            lamp, phone = r.ways[LAMP.name], r.ways[PHONE.name]
            warnings = {w["priority"]: w for w in r.at.station.view()["warnings"]}
            before = len(lamp.told), len(phone.told)

            async def one_more(priority: str, count: int) -> None:
                body = {key: warnings[priority][key] for key in ("step", "limit", "channel")}  # type: ignore[literal-required]
                async with r.at.station.desk.lock:
                    r.at.station.desk._audience.signal("warning", {**body, "priority": priority, "flood": count})
                    await r.at.station.desk.settle(wait=True)  # type: ignore[misc]

            for number, priority in enumerate(["low", "low", "high", "low", "high"], start=11):
                await one_more(priority, number)
            assert len(lamp.told) == before[0] + 5
            told = phone.told[before[1] :]
            assert [m.priority for m in told] == ["low", "high"]
            assert told[0].sentence.startswith(
                "Simulated: 11 new warnings within 10 minutes, told as one; the last: "
            )
            assert told[0].sentence.count("Simulated") == 1

    go(work)


def test_something_due_is_told_as_that(data: Path) -> None:
    async def work() -> None:
        async with rig(data, LAMP, PHONE) as r:
            body = {"sentence": "Two boats drying, north bench: look at the blotters.", "what_to_do": "Weigh them.",
                    "bench": "north bench", "priority": "medium"}  # fmt: skip
            async with r.at.station.desk.lock:  # a stand-in: nothing in this version is due yet
                r.at.station.desk._audience.signal("due", body)
                await r.at.station.desk.settle(wait=True)  # type: ignore[misc]
            for way in r.ways.values():
                (message,) = way.told
                assert (message.kind, message.priority, message.what_to_do) == ("due", "medium", "Weigh them.")

    go(work)


def test_with_no_way_configured_nothing_is_kept_running(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            assert not [t for t in asyncio.all_tasks() if t.get_name() == "telling"]
            assert at.station.telling.next_self_test_in_ms() is None
            began = time.perf_counter()
            for _ in range(10_000):
                at.station.telling.changed()
            assert time.perf_counter() - began < 1.0

    go(work)
