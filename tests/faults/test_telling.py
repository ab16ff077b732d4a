"""Ways to be told that fail: a broker that dies, hangs or refuses, a child that hangs; and that nobody else minds."""

from __future__ import annotations

import asyncio
import os
import shutil
import socket
import statistics
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from monitor.clock import Clock, SimulatedClock, SystemClock
from monitor.link.messages import TEST_WAY
from monitor.probes.wire.still_world import StillWorld
from monitor.station.telling.by_message import MessageWay
from monitor.station.telling.by_mqtt import MqttWay
from monitor.station.telling.health import FAILS, WORKS, Health, Noting
from monitor.station.telling.message import NotTold
from monitor.station.telling.on_line import Lamp, Sounder
from monitor.station.telling.waiting import Backoff, Waiting
from monitor.station.telling.way import Way
from monitor.ways import BrokerConfig, LineConfig, MessageConfig, TellConfig, WayConfig
from tests.support import broker
from tests.support.broker import Mosquitto, listening
from tests.support.stations import STUDIO, Bench, bench
from tests.support.telling import FakeLine, FakeSender, FakeTimer, Noted, health_of, message

needs_broker = pytest.mark.skipif(broker.PROGRAM is None, reason="no mosquitto on this machine")
BACKOFF = Backoff(lambda: 0.0, first_s=0.02, longest_s=0.1)
PATIENCE_S = 12


async def until(holds: Any) -> None:
    """Wait until something holds; TimeoutError after a while."""
    async with asyncio.timeout(PATIENCE_S / 2):
        while not holds():
            await asyncio.sleep(0)


def mqtt_way(config: BrokerConfig, noted: Noted, within_s: float = 2.0) -> MqttWay:
    clock = SimulatedClock()
    health = health_of(config, noted, clock)
    return MqttWay(config, health, "quay", Waiting(health.gave_up, clock.mono_ms), BACKOFF, within_s)


@asynccontextmanager
async def kept_running(way: Way) -> AsyncIterator[None]:
    running = asyncio.ensure_future(way.run())
    try:
        yield
    finally:
        running.cancel()
        await asyncio.gather(running, return_exceptions=True)


def go(work: Any) -> None:
    asyncio.run(asyncio.wait_for(work(), PATIENCE_S))


@needs_broker
def test_a_broker_that_dies_and_returns_is_told_the_state_and_what_was_missed(tmp_path: Path) -> None:
    async def work() -> None:
        far, noted = Mosquitto(tmp_path), Noted()
        far.start()
        way = mqtt_way(BrokerConfig("mqtt", "house", host="127.0.0.1", port=far.port), noted)
        try:
            async with kept_running(way):
                async with listening(far.port) as listener:
                    assert await listener.next("quay/online") == {"online": True}
                    assert (await listener.next("quay/state"))["warnings"] == []
                    way.tell(message(warning="before"))
                    assert (await listener.next("quay/warning"))["warning"] == "before"
                far.stop()
                await until(lambda: way.health.state == FAILS)
                way.tell(message(warning="while it was away"))
                assert "127.0.0.1 port" in way.health.reason
                far.start()
                async with listening(far.port) as listener:
                    assert (await listener.next("quay/state"))["unseen"] == 0
                await until(lambda: way.health.state == WORKS)
                assert noted.kinds() == ["telling_failed", "telling_restored"]
            async with listening(far.port) as listener:
                assert await listener.next("quay/online") == {"online": False}, "retained, after it has gone in order"
        finally:
            far.stop()

    go(work)


@needs_broker
def test_a_station_that_is_killed_is_offline_for_those_who_listen(tmp_path: Path) -> None:
    async def work() -> None:
        far = Mosquitto(tmp_path)
        far.start()
        way = mqtt_way(BrokerConfig("mqtt", "house", host="127.0.0.1", port=far.port), Noted())
        try:
            async with kept_running(way), listening(far.port, "benchblotter/quay/online") as listener:
                assert await listener.next("online") == {"online": True}
                assert way._connection is not None
                held = way._connection._client._client.socket()
                assert held is not None
                held.shutdown(socket.SHUT_RDWR)  # without a word, as when a process is killed
                assert await listener.next("online") == {"online": False}
                assert await listener.next("online") == {"online": True}
        finally:
            far.stop()

    go(work)


@needs_broker
@pytest.mark.parametrize(("word", "mode", "said"), [("wrong", 0o600, "not authori"), ("right", 0o644, "mode 0644")])
def test_a_wrong_password_or_one_that_others_may_read_is_told(
    tmp_path: Path, word: str, mode: int, said: str
) -> None:
    async def work() -> None:
        far, noted = Mosquitto(tmp_path, ("blotter", "right")), Noted()
        kept = tmp_path / "word"
        kept.write_text(word + "\n")
        kept.chmod(mode)
        config = BrokerConfig(
            "mqtt", "house", host="127.0.0.1", port=far.port, user="blotter", password_file=str(kept)
        )
        way = mqtt_way(config, noted)
        far.start()
        try:
            async with kept_running(way):
                with pytest.raises(NotTold) as caught:
                    await way.attempt(message("test", "low", ""), quiet=False)
                assert said in caught.value.reason.lower()
                assert word not in caught.value.reason
                kept.write_text("right\n")
                kept.chmod(0o600)
                await way.attempt(message("test", "low", ""), quiet=False)
                assert noted.kinds() == ["telling_failed", "telling_restored"]
        finally:
            far.stop()

    go(work)


class Silent:
    """Takes connections and never says a word."""

    def __init__(self) -> None:
        self.taken: list[asyncio.StreamWriter] = []
        self.gone = 0
        self.port = 0

    @asynccontextmanager
    async def serving(self) -> AsyncIterator[Silent]:
        async def take(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            self.taken.append(writer)
            await reader.read(-1)
            self.gone += 1
            writer.close()

        server = await asyncio.start_server(take, "127.0.0.1", 0)
        self.port = server.sockets[0].getsockname()[1]
        try:
            yield self
        finally:
            server.close()
            for writer in self.taken:
                writer.close()
            await server.wait_closed()
            await until(lambda: self.gone == len(self.taken))


def test_a_broker_that_never_answers_is_given_up_each_time_and_no_socket_stays(tmp_path: Path) -> None:
    async def work() -> None:
        async with Silent().serving() as far:
            noted = Noted()
            way = mqtt_way(BrokerConfig("mqtt", "house", host="127.0.0.1", port=far.port), noted, within_s=0.05)
            async with kept_running(way):
                with pytest.raises(NotTold, match=r"timed out|no answer"):
                    await way.attempt(message("test", "low", ""), quiet=False)
                await until(lambda: len(far.taken) >= 4)
                await until(lambda: far.gone >= 3)
                assert noted.kinds() == ["telling_failed"]
            await until(lambda: far.gone == len(far.taken))

    go(work)


def phone(folder: Path, noted: Noted, deadline_s: float) -> tuple[MessageWay, FakeSender]:
    sender, clock = FakeSender(folder), SimulatedClock()
    config = MessageConfig("message", "phone of MK", url_file=str(folder / "phone.url"))
    health = health_of(config, noted, clock)
    waiting = Waiting(health.gave_up, clock.mono_ms)
    return MessageWay(config, health, TellConfig(), waiting, BACKOFF, sender.command, deadline_s), sender


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def test_a_child_that_hangs_is_killed_at_its_deadline(tmp_path: Path) -> None:
    async def work() -> None:
        noted = Noted()
        way, sender = phone(tmp_path, noted, deadline_s=0.3)
        sender.hangs()
        began = time.monotonic()
        with pytest.raises(NotTold, match=r"no answer from the service in 0\.3 s"):
            await way.attempt(message(), quiet=False)
        assert 0.3 <= time.monotonic() - began < 5
        assert not alive(sender.pid())
        async with kept_running(way):
            way.tell(message())
            await until(lambda: noted.kinds() == ["telling_failed"])
            sender.hangs(False)
            await until(lambda: noted.kinds() == ["telling_failed", "telling_restored"])
        assert len(sender.sent()) == 1

    go(work)


def test_a_child_that_hangs_goes_with_its_station(tmp_path: Path) -> None:
    async def work() -> None:
        way, sender = phone(tmp_path, Noted(), deadline_s=60)
        sender.hangs()
        async with kept_running(way):
            way.tell(message())
            await until(lambda: (tmp_path / "pid").exists() and (tmp_path / "pid").read_text())
        assert not alive(sender.pid())

    go(work)


@pytest.mark.parametrize("command", [("/nowhere/at-all",), ("/bin/true",), ("/bin/echo", "hello")])
def test_a_child_that_cannot_be_started_or_says_nothing_is_told(tmp_path: Path, command: tuple[str, ...]) -> None:
    async def work() -> None:
        way, _ = phone(tmp_path, Noted(), deadline_s=10)
        way._command = command
        with pytest.raises(NotTold, match="child"):
            await way.attempt(message(), quiet=False)

    go(work)


# -- what a dead way does to the others ----------------------------------------------------------------

SOUNDER = LineConfig("sounder", "sounder", line=27)
LAMP = LineConfig("lamp", "lamp at the door", line=17)
TIMES = 8
APART_MS = 70_000  # far enough that it does not count as coming and going
MOST_S = 0.25  # what is asked of the way from a probe to a sound


@asynccontextmanager
async def with_ways(data: Path, folder: Path, *dead: WayConfig) -> AsyncIterator[tuple[Bench, StillWorld, FakeLine]]:
    """Run a station with a sounder, and ways that are dead: their far ends never answer."""
    line, world = FakeLine(FakeTimer()), StillWorld()

    def opening(tell: TellConfig, board: str, clock: Clock, note: Noting) -> list[Way]:
        sounder = Sounder(SOUNDER, Health(SOUNDER, note, clock.mono_ms), line.opening, line.timer)
        lamp = Lamp(LAMP, Health(LAMP, note, clock.mono_ms), FakeLine(line.timer).opening, line.timer)
        ways: list[Way] = [sounder, lamp]
        for config in dead:
            health = Health(config, note, clock.mono_ms)
            waiting = Waiting(health.gave_up, clock.mono_ms)
            if isinstance(config, BrokerConfig):
                ways.append(MqttWay(config, health, board, waiting, BACKOFF, within_s=0.1))
            else:
                assert isinstance(config, MessageConfig)
                sender = FakeSender(folder)
                sender.hangs()
                ways.append(MessageWay(config, health, tell, waiting, BACKOFF, sender.command, deadline_s=0.4))
        return ways

    studio = replace(STUDIO, tell=TellConfig((LAMP, SOUNDER, *dead)))
    async with bench(data, clock=SimulatedClock(start_wall_ms=SystemClock().wall_ms()), world=world, studio=studio,
                     opening=opening) as at:  # fmt: skip
        await at.station.run_until(1_000)
        await at.heat_step()
        yield at, world, line


async def probe_to_sound_s(at: Bench, world: StillWorld, line: FakeLine) -> list[float]:
    """Let the tool be too hot again and again; give the times from the reading to the sounder, s."""
    times: list[float] = []
    station, clock = at.station, at.clock
    for _ in range(TIMES):
        world.tool_c = 95.0
        before = len(line.switched)
        for _ in range(60):
            if len(line.switched) > before:
                break
            clock.move_to(clock.mono_ms() + 200)  # type: ignore[attr-defined]
            began = time.perf_counter()
            await station._read(station._rounds, clock.mono_ms())
            async with station.desk.lock:
                station.desk.pass_time()
                station.desk.settle()
            took = time.perf_counter() - began
        assert len(line.switched) > before, "it never sounded"
        times.append(took)
        world.tool_c = 75.0
        await station.run_until(clock.mono_ms() + APART_MS)
        (hot,) = [w for w in station.view()["warnings"] if "tool-too-hot" in w["limit"]]
        body = {"step": hot["step"], "limit": hot["limit"], "channel": hot["channel"]}
        assert (await at.ask("see", **body))["ok"]
        line.timer.pass_ms(5_000)
    return times


def test_a_dead_broker_and_a_hanging_child_leave_the_sounder_and_the_sampler_alone(
    migrated_folder: Path, tmp_path: Path
) -> None:
    async def work() -> None:
        told = {}
        async with Silent().serving() as far:
            house = BrokerConfig("mqtt", "house", host="127.0.0.1", port=far.port)
            phone = MessageConfig("message", "phone of MK", url_file="/nowhere")
            for name, dead in (("alone", ()), ("beside dead ways", (house, phone))):
                data = Path(shutil.copytree(migrated_folder, tmp_path / name))
                async with with_ways(data, tmp_path, *dead) as (at, world, line):
                    times = await probe_to_sound_s(at, world, line)
                    told[name] = f"{statistics.median(times) * 1000:.1f} ms, at most {max(times) * 1000:.1f} ms"
                    assert max(times) < MOST_S, told
                    assert len(at.rows("alarm_raised")) >= TIMES
                    failed = {row["body"]["name"] for row in at.rows("telling_failed")}
                    assert failed == {config.name for config in dead}
                    answer = await at.ask(TEST_WAY, name="sounder")
                    assert answer["result"]["outcome"] == "told"
        print(told)  # noqa: T201

    go(work)


@needs_broker
def test_a_listener_hears_of_a_warning_what_the_screens_say_and_of_its_end(data: Path, tmp_path: Path) -> None:
    async def work() -> None:
        far, world = Mosquitto(tmp_path), StillWorld()
        far.start()
        house = BrokerConfig("mqtt", "house", host="127.0.0.1", port=far.port, topic="studio/blotter")
        studio = replace(STUDIO, tell=TellConfig((house,)))
        try:
            async with (
                listening(far.port, "studio/blotter/test/online") as online,
                listening(far.port, "studio/blotter/test/warning") as warnings,
                listening(far.port, "studio/blotter/test/state") as states,
                bench(data, world=world, studio=studio) as at,
            ):
                station, clock = at.station, at.clock
                assert await online.next("/online") == {"online": True}
                await station.run_until(1_000)
                await at.heat_step()
                world.tool_c = 95.0
                await station.run_until(clock.mono_ms() + 8_000)
                heard = await warnings.next("/warning")
                (hot,) = [w for w in station.view()["warnings"] if w["limit"] == "tool-too-hot"]
                assert (heard["kind"], heard["priority"]) == ("limit passed", hot["priority"])
                assert heard["what_to_do"] == hot["what_to_do"]
                assert "Two boats drying, north bench" in heard["sentence"]
                state = await states.next("/state")
                while not state["warnings"]:
                    state = await states.next("/state")
                assert (state["unseen"], state["warnings"][0]["state"]) == (1, "not yet seen")
                await at.ask("see", step=hot["step"], limit=hot["limit"], channel=hot["channel"])
                while state["unseen"]:
                    state = await states.next("/state")
                assert state["warnings"][0]["state"] == "seen"
                world.tool_c = 75.0
                await station.run_until(clock.mono_ms() + 30_000)
                assert (await warnings.next("/warning"))["kind"] == "over"
        finally:
            far.stop()

    go(work)
