"""Whole stations over a simulated wire, on a clock that a test moves, or on the real one."""

from __future__ import annotations

import asyncio
import contextlib
import shutil
import tempfile
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from monitor.catalogue.loader import load
from monitor.clock import Clock, SimulatedClock, from_iso
from monitor.config import ProbeConfig, Studio
from monitor.link.client import Client
from monitor.link.messages import AnswerDict, Request
from monitor.probes.opening import open_probes
from monitor.probes.sensed import SensedWorld
from monitor.probes.wire.still_world import StillWorld
from monitor.station.station import Station
from monitor.station.telling.telling import Opening, open_ways
from monitor.store.store import Store
from monitor.store.writer import Writer

NINE_MS = from_iso("2026-05-04T09:00:00Z")
ROOM = ProbeConfig("room", "north bench", "sht45", "i2c-1", 1000, 0x44)
SPATULA = ProbeConfig("spatula", "north bench", "max31856", "spi-0.0", 200, 0, "K")
STUDIO = Studio("Studio of a test", "test", ("north bench",), (ROOM, SPATULA))
ROOM_ONLY = Studio("Studio of a test", "test", ("north bench",), (ROOM,))

ANSWERS = {
    "what-lies-in-front": "ground only", "which-lot": "no mock-up yet", "nothing-in-the-work": "none is",
    "no-solvent-open": "it is",
}  # fmt: skip


@dataclass
class Bench:
    """A station that runs, with all that a test may want to touch."""

    station: Station
    store: Store
    writer: Writer
    clock: Clock
    world: StillWorld
    client: Client
    runtime: Path
    asked: int = 0

    async def ask(self, verb: str, by: str | None = "MK", **body: Any) -> AnswerDict:
        """Ask through the socket."""
        self.asked += 1
        boot = self.station.desk.segment.boot
        return await self.client.request(Request(f"t{boot}-{self.asked}", verb, body, by, "browser:test"))

    async def heat_step(self, places: int = 3) -> str:
        """Enter a painting, start a heat step at its places; give its number."""
        painting = {"number": "26-01", "name": "Two boats drying"}
        bindings = [
            {"role": "tool", "probe": "spatula", "touches": "outside of the shank"},
            {"role": "room", "probe": "room"},
        ]
        step = {"sheet": "heat-seal-spatula", "painting": "26-01", "bench": "north bench", "side": "A"}
        assert (await self.ask("add_painting", **painting))["ok"]
        answer = await self.ask("start_step", **step, places=places, sandwich="strip-on-margin",
                                bindings=bindings, answers=ANSWERS)  # fmt: skip
        assert answer["ok"], answer
        started = str(answer["result"]["step"])
        assert (await self.ask("next_stage", step=started, stage="places"))["ok"]
        return started

    def kinds(self) -> list[str]:
        """List the kinds of the day-book's rows in order."""
        return [row["kind"] for row in self.store.daybook()]

    def rows(self, kind: str) -> list[dict[str, Any]]:
        """List the day-book's rows of a kind."""
        return list(self.store.daybook(kinds=[kind]))


@asynccontextmanager
async def bench(
    data: Path,
    *,
    clock: Clock | None = None,
    studio: Studio = STUDIO,
    world: StillWorld | None = None,
    sensed: SensedWorld | None = None,
    threaded: bool = False,
    cut: bool = False,
    boot_id: str = "boot of a test",
    writing: Callable[[Store], Writer] = Writer,
    batch_ms: int = 1000,
    opening: Opening = open_ways,
) -> AsyncIterator[Bench]:
    """Run a station over the migrated store in `data`.

    Args:
        cut: end it as a power cut would, with nothing more recorded.
        writing: makes the writer.
        opening: makes the ways to be told.
    """
    clock = clock or SimulatedClock(start_wall_ms=NINE_MS)
    world = world or StillWorld()
    runtime = Path(tempfile.mkdtemp(prefix="blotter-"))
    store = Store.open(data)
    writer = writing(store)
    opened = open_probes(studio, sensed=sensed or world, clock=clock, threaded=threaded)
    station = Station(
        studio, clock, opened, store, writer, runtime, load(), boot_id=boot_id, batch_ms=batch_ms, opening=opening
    )
    try:
        await station.start()
        client = await Client.connect(runtime)
        try:
            yield Bench(station, store, writer, clock, world, client, runtime)
        finally:
            await client.close()
            await (station.abandon() if cut else station.stop("the test is over"))
    except BaseException:
        with contextlib.suppress(Exception):
            await station.abandon()
        raise
    finally:
        await asyncio.to_thread(writer.close)
        store.close()
        shutil.rmtree(runtime, ignore_errors=True)
