"""The three uses of a station: on hardware, as a demo over the simulated studio, and for a story."""

from __future__ import annotations

import asyncio
import logging
import signal
import tempfile
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from monitor.catalogue.loader import load
from monitor.clock import Clock, ScaledClock, SimulatedClock, SystemClock
from monitor.config import Studio
from monitor.errors import BadInput, BlotterError
from monitor.link.client import Client
from monitor.probes.opening import OpenedProbes, open_probes
from monitor.probes.studio import World, world_config
from monitor.station.housekeeping import Housekeeping, Trial
from monitor.station.places import opened_store
from monitor.station.station import Station
from monitor.store.store import Store
from monitor.store.where import resolve
from monitor.store.writer import Writer
from monitor.stories.player import Player
from monitor.stories.script import Script, load_story
from monitor.stories.summary import StoryResult, result_of

log = logging.getLogger(__name__)

FASTEST = 20.0  # beyond it a simulated probe's interval is shorter than a read takes
STORY_BATCH_MS = 60_000
BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
Ready = Callable[[], None]


class StudioWorld:
    """The simulated world, moved along with whoever looks; it never goes back."""

    def __init__(self, script: Script) -> None:
        names = [probe.name for probe in script.studio.probes]
        self.world = World(world_config(script.world, names, script.starts_ms))
        self._at_ms = 0

    def move(self, mono_ms: int) -> None:
        """Move to an instant, or stay where a later one was reached already."""
        self._at_ms = max(self._at_ms, mono_ms)
        self.world.advance_to(self._at_ms)


@dataclass
class _Driver:
    """Moves a story's time and world."""

    studio: StudioWorld
    wait: Callable[[int], Any]
    clock: Clock

    async def run_until(self, mono_ms: int) -> None:
        await self.wait(mono_ms)

    def act(self, action: dict[str, Any]) -> None:
        self.studio.move(self.clock.mono_ms())
        self.studio.world.apply(action)


def run_story(script: Script, data_dir: Path) -> StoryResult:
    """Play a story over a new store, as fast as it computes.

    Raises:
        BadInput: the data directory already has a day-book.
        StoryError: the story did not go as written.
    """
    with opened_store(data_dir) as store, tempfile.TemporaryDirectory(prefix="blotter-") as runtime_dir:
        if next(store.daybook(limit=1), None) is not None:
            raise BadInput(f"data directory {data_dir}", "it has a day-book", "an empty one", "Choose another.")
        asyncio.run(_story(script, store, Path(runtime_dir)))
        return result_of(script, list(store.daybook()))


async def _story(script: Script, store: Store, runtime_dir: Path) -> None:
    clock = SimulatedClock(start_wall_ms=script.starts_ms)
    studio = StudioWorld(script)
    opened = open_probes(script.studio, sensed=studio.world, clock=clock, threaded=False)
    writer = Writer(store)
    station = Station(
        script.studio, clock, opened, store, writer, runtime_dir, load(),
        boot_id=script.boot_id, move_world=studio.move, batch_ms=STORY_BATCH_MS,
    )  # fmt: skip
    try:
        await station.start()
        client = await Client.connect(runtime_dir)
        try:
            driver = _Driver(studio, station.run_until, clock)
            await Player(script, driver, client, prefix=script.key, strict=True).play(0)
        finally:
            await client.close()
        await station.stop("the story is over")
    except BaseException:
        await station.abandon()
        raise
    finally:
        await asyncio.to_thread(writer.close)


def run_station(studio: Studio, data_dir: Path, runtime_dir: Path, on_ready: Ready | None = None) -> None:
    """Run on hardware until SIGTERM or SIGINT.

    Args:
        on_ready: called once the station listens; the command line starts the dashboard then.

    Raises:
        BusError: a bus of the configuration is missing or may not be used.
    """
    clock = SystemClock()
    opened = open_probes(studio, clock=clock)
    asyncio.run(_live(studio, clock, opened, studio.store or data_dir, runtime_dir, None, on_ready))


def run_demo(name: str, speed: float, data_dir: Path, runtime_dir: Path, on_ready: Ready | None = None) -> None:
    """Run over the simulated studio until SIGTERM or SIGINT: the story plays, then the studio goes on.

    Raises:
        BadInput: no such story, or a speed that cannot be kept.
    """
    if not 1 <= speed <= FASTEST:
        raise BadInput("--speed", f"{speed:g}", f"1 to {FASTEST:g}", "Choose a speed in between.")
    script = load_story(name)
    asyncio.run(_demo(script, speed, data_dir, runtime_dir, on_ready))


async def _demo(script: Script, speed: float, data_dir: Path, runtime_dir: Path, on_ready: Ready | None) -> None:
    clock = ScaledClock(max(SystemClock().wall_ms(), _newest_ms(data_dir) + 1000), speed)
    studio = StudioWorld(script)
    opened = open_probes(script.studio, sensed=studio.world, clock=clock, threaded=False)
    player: list[asyncio.Task[None]] = []

    async def people() -> None:
        client = await Client.connect(runtime_dir)
        try:
            driver = _Driver(studio, clock.sleep_until, clock)
            prefix = f"{script.key}-{uuid.uuid4().hex[:8]}"
            await Player(script, driver, client, prefix=prefix, strict=False).play(clock.mono_ms())
        except BlotterError as error:
            log.error("the story was broken off: %s", error)
        finally:
            await client.close()

    def ready() -> None:
        player.append(asyncio.get_running_loop().create_task(people(), name="people"))
        if on_ready:
            on_ready()

    try:
        await _live(script.studio, clock, opened, data_dir, runtime_dir, studio.move, ready)
    finally:
        for task in player:
            task.cancel()
        await asyncio.gather(*player, return_exceptions=True)


def _newest_ms(data_dir: Path) -> int:
    """Give the latest instant stored: a demo that ran fast may have come further than the clock on the wall."""
    if not resolve(data_dir).file.exists():
        return 0
    store = Store.open(data_dir, read_only=True)
    try:
        newest = store.newest_segment()
    finally:
        store.close()
    return 0 if newest is None else newest[0].at_ms(newest[1]) or 0


async def _live(
    studio: Studio,
    clock: Clock,
    opened: OpenedProbes,
    where: str | Path,
    runtime_dir: Path,
    move_world: Callable[[int], None] | None,
    on_ready: Ready | None,
) -> None:
    with opened_store(where) as store:
        writer = Writer(store)
        station = Station(
            studio, clock, opened, store, writer, runtime_dir, load(), boot_id=_boot_id(), move_world=move_world
        )
        place = resolve(where)
        trial = Trial(station.telling.next_self_test_in_ms, station.telling.self_test)
        keeping = Housekeeping(store, None if place.url else place.file, clock, trial)
        station.on_clock_step = keeping.declare
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGINT):
            loop.add_signal_handler(number, station.stopped.set)

        def ready() -> None:
            keeping.start()
            if on_ready:
                on_ready()

        try:
            await station.run(ready)
        finally:
            keeping.stop()
            await asyncio.to_thread(writer.close)


def _boot_id() -> str:
    try:
        return BOOT_ID.read_text().strip()
    except OSError:
        return uuid.uuid4().hex
