"""What every way to be told promises: the same cases on lamp, sounder, message and MQTT broker."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path
from typing import Any

import pytest

from monitor.clock import SimulatedClock
from monitor.station.telling.by_message import MessageWay
from monitor.station.telling.by_mqtt import MqttWay
from monitor.station.telling.health import FAILS, NOT_TRIED, WORKS
from monitor.station.telling.message import KINDS, OVER, TEST, NotTold
from monitor.station.telling.on_line import Lamp, Sounder
from monitor.station.telling.waiting import MOST, Backoff, Waiting
from monitor.station.telling.way import Standing, Way
from monitor.ways import BrokerConfig, LineConfig, MessageConfig, TellConfig
from tests.support import broker
from tests.support.broker import Mosquitto, listening
from tests.support.telling import FakeLine, FakeSender, FakeTimer, Noted, health_of, message, stands

AT_ONCE_S = 0.05
BACKOFF = Backoff(lambda: 0.0, first_s=0.02, longest_s=0.02)


class Rig:
    """A way and its far end, which can break and be mended; `heard` gives how often something came there."""

    def __init__(self, way: Way, noted: Noted, clock: SimulatedClock) -> None:
        self.way = way
        self.noted = noted
        self.clock = clock
        self.breaks: Callable[[], None] = lambda: None
        self.mends: Callable[[], None] = lambda: None
        self.heard: Callable[[], int] = lambda: 0
        self.passes: Callable[[], None] = lambda: None  # lets the line's own time pass

    async def until(self, holds: Callable[[], bool]) -> None:
        """Wait until something holds; TimeoutError after a while."""
        async with asyncio.timeout(10):
            while not holds():
                self.passes()
                await asyncio.sleep(0)


@asynccontextmanager
async def on_line(kind: type[Lamp] | type[Sounder], _: Path) -> AsyncIterator[Rig]:
    clock, noted, timer = SimulatedClock(), Noted(), FakeTimer()
    line = FakeLine(timer)
    config = LineConfig(kind.__name__.lower(), "at the bench", line=17)
    rig = Rig(kind(config, health_of(config, noted, clock), line.opening, timer), noted, clock)

    def broken(now: bool) -> None:
        line.broken = now
        timer.pass_ms(5000)  # whatever was played is over

    rig.breaks, rig.mends = lambda: broken(True), lambda: broken(False)
    rig.heard = lambda: sum(1 for _, on in line.switched if on)
    rig.passes = lambda: timer.pass_ms(50)
    yield rig


def lamp(folder: Path) -> AbstractAsyncContextManager[Rig]:
    return on_line(Lamp, folder)


def sounder(folder: Path) -> AbstractAsyncContextManager[Rig]:
    return on_line(Sounder, folder)


@asynccontextmanager
async def phone(folder: Path) -> AsyncIterator[Rig]:
    clock, noted, sender = SimulatedClock(), Noted(), FakeSender(folder)
    config = MessageConfig("message", "phone of MK", url_file=str(folder / "phone.url"), self_test=True)
    health = health_of(config, noted, clock)
    waiting = Waiting(health.gave_up, clock.mono_ms)
    rig = Rig(MessageWay(config, health, TellConfig(), waiting, BACKOFF, sender.command), noted, clock)
    rig.breaks, rig.mends = sender.breaks, lambda: sender.breaks(False)
    rig.heard = lambda: len(sender.sent())
    yield rig


@asynccontextmanager
async def mqtt(folder: Path) -> AsyncIterator[Rig]:
    if broker.PROGRAM is None:
        pytest.skip("no mosquitto on this machine")
    clock, noted, far = SimulatedClock(), Noted(), Mosquitto(folder)
    config = BrokerConfig("mqtt", "house", host="127.0.0.1", port=far.port)
    health = health_of(config, noted, clock)
    waiting = Waiting(health.gave_up, clock.mono_ms)
    rig = Rig(MqttWay(config, health, "quay", waiting, BACKOFF, within_s=2.0), noted, clock)
    came: list[Any] = []
    listeners: list[asyncio.Task[None]] = []

    async def listen(up: asyncio.Event) -> None:
        async with listening(far.port, "benchblotter/quay/+", identifier="listener", clean_session=False) as listener:
            up.set()
            while True:
                came.append(await listener.next(("test", "warning")))

    async def start() -> None:
        far.start()
        up = asyncio.Event()
        listeners.append(asyncio.ensure_future(listen(up)))
        await up.wait()

    def mends() -> None:
        far.start()
        listeners.append(asyncio.ensure_future(listen(asyncio.Event())))

    rig.breaks, rig.mends, rig.heard = far.stop, mends, lambda: len(came)
    await start()
    try:
        yield rig
    finally:
        for task in listeners:
            task.cancel()
        await asyncio.gather(*listeners, return_exceptions=True)
        far.stop()


Making = Callable[[Path], AbstractAsyncContextManager[Rig]]
WAYS = pytest.mark.parametrize("making", [lamp, sounder, phone, mqtt])


def run(making: Making, folder: Path, case: Callable[[Rig], Any]) -> None:
    """Run a case on a way that is kept running."""

    async def work() -> None:
        async with making(folder) as rig:
            running = asyncio.ensure_future(rig.way.run())
            try:
                await case(rig)
            finally:
                running.cancel()
                await asyncio.gather(running, return_exceptions=True)
                rig.way.close()

    asyncio.run(work())


@WAYS
def test_it_says_what_it_is(making: Making, tmp_path: Path) -> None:
    async def case(rig: Rig) -> None:
        assert rig.way.key == rig.way.config.way
        assert rig.way.words.startswith(("lamp", "sounder", "message", "MQTT broker"))
        assert rig.way.at_once is (rig.way.key in ("lamp", "sounder"))
        assert rig.way.config.name

    run(making, tmp_path, case)


@WAYS
def test_a_trial_arrives(making: Making, tmp_path: Path) -> None:
    async def case(rig: Rig) -> None:
        for quiet in (False, True):
            before = rig.heard()
            assert await rig.way.attempt(message(TEST, "low", ""), quiet=quiet) is True
            await rig.until(lambda before=before: rig.heard() > before)  # type: ignore[misc]
        assert (rig.way.health.state, rig.way.health.reason) == (WORKS, "")
        assert rig.noted.rows == []

    run(making, tmp_path, case)


@WAYS
def test_what_is_told_arrives(making: Making, tmp_path: Path) -> None:
    async def case(rig: Rig) -> None:
        rig.way.tell(message())
        await rig.until(lambda: rig.heard() >= 1)

    run(making, tmp_path, case)


@WAYS
def test_a_failure_has_its_reason_and_is_written_once_until_it_is_over(making: Making, tmp_path: Path) -> None:
    async def case(rig: Rig) -> None:
        assert rig.way.health.state == NOT_TRIED or rig.way.key == "mqtt"
        rig.breaks()
        for _ in range(3):
            with pytest.raises(NotTold) as caught:
                await rig.way.attempt(message(TEST, "low", ""), quiet=False)
            assert len(caught.value.reason) > 10
            assert not caught.value.reason.endswith(".")
        assert rig.way.health.state == FAILS
        assert rig.noted.kinds() == ["telling_failed"]
        kept = rig.noted.rows[0][1]
        assert kept.keys() == {"way", "name", "reason"}
        rig.mends()
        await rig.way.attempt(message(TEST, "low", ""), quiet=False)
        assert rig.way.health.state == WORKS
        assert rig.noted.kinds() == ["telling_failed", "telling_restored"]
        rig.breaks()
        with pytest.raises(NotTold):
            await rig.way.attempt(message(TEST, "low", ""), quiet=False)
        assert rig.noted.kinds() == ["telling_failed", "telling_restored"], "one that comes and goes is not a flood"
        rig.clock.move_to(700_000)
        rig.way.health.look()
        assert rig.noted.kinds()[-1] == "telling_failed"

    run(making, tmp_path, case)


@WAYS
def test_telling_never_waits_and_never_raises(making: Making, tmp_path: Path) -> None:
    async def case(rig: Rig) -> None:
        for broken in (False, True):
            if broken:
                rig.breaks()
            began = time.perf_counter()
            for number in range(MOST):
                rig.way.tell(message(KINDS[number % len(KINDS)], warning=f"s{number}/a/b.c"))
                rig.way.stands((stands(), Standing(), None)[number % 3])
            assert time.perf_counter() - began < AT_ONCE_S * MOST / 10

    run(making, tmp_path, case)


@WAYS
def test_what_was_told_while_it_was_broken_arrives_when_it_is_mended(making: Making, tmp_path: Path) -> None:
    async def case(rig: Rig) -> None:
        await rig.way.attempt(message(TEST, "low", ""), quiet=False)
        rig.breaks()
        before = rig.heard()
        rig.way.tell(message())
        await rig.until(lambda: rig.way.health.state == FAILS)
        rig.mends()
        if rig.way.at_once:
            rig.way.tell(message(OVER, warning="another"))  # the line is taken again with the next message
        await rig.until(lambda: rig.heard() > before and rig.way.health.state == WORKS)

    run(making, tmp_path, case)


@WAYS
def test_it_ends_in_the_midst_of_anything(making: Making, tmp_path: Path) -> None:
    async def case(rig: Rig) -> None:
        rig.breaks()
        rig.way.tell(message())
        trying = asyncio.ensure_future(rig.way.attempt(message(TEST, "low", ""), quiet=False))
        await asyncio.sleep(0)
        trying.cancel()
        with contextlib.suppress(asyncio.CancelledError, NotTold):
            await trying
        rig.way.close()

    run(making, tmp_path, case)
