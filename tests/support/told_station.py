"""A station in a heat step with ways that write down what they are told."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from monitor.clock import Clock
from monitor.probes.wire.still_world import StillWorld
from monitor.station.telling.health import Health, Noting
from monitor.station.telling.message import Message, NotTold
from monitor.station.telling.way import Standing, Way
from monitor.ways import TellConfig, WayConfig
from tests.support.stations import STUDIO, Bench, bench

LAMP = WayConfig("lamp", "lamp at the door")
PHONE = WayConfig("message", "phone of MK")


@dataclass
class ToldWay:
    """A way that writes down what it is told; `trouble` makes its trials fail."""

    config: WayConfig
    health: Health
    told: list[Message] = field(default_factory=list)
    stood: list[Standing | None] = field(default_factory=list)
    tried: list[bool] = field(default_factory=list)
    trouble: str = ""
    faulty: bool = False
    gate: asyncio.Event | None = None
    words: str = "a way of the test"

    @property
    def key(self) -> str:
        return self.config.way

    @property
    def at_once(self) -> bool:
        return self.config.way in ("lamp", "sounder")

    def tell(self, message: Message) -> None:
        if self.faulty:
            raise RuntimeError("a fault of this way")
        self.told.append(message)

    def stands(self, standing: Standing | None) -> None:
        self.stood.append(standing)

    async def attempt(self, message: Message, *, quiet: bool) -> bool:
        self.tried.append(quiet)
        if self.gate is not None:
            await self.gate.wait()
        if self.trouble:
            self.health.failed(self.trouble)
            raise NotTold(self.config.name, self.trouble, "", "")
        self.health.worked()
        return not (quiet and self.key == "message")

    async def run(self) -> None:
        await asyncio.Event().wait()

    def close(self) -> None:
        pass


@dataclass
class Rig:
    """A station in a heat step, and its ways."""

    at: Bench
    world: StillWorld
    ways: dict[str, ToldWay]
    step: str = ""

    async def too_hot(self) -> None:
        """Let the tool be too hot until that has warned."""
        self.world.tool_c = 95.0
        await self.passes(6_000)

    async def passes(self, ms: int) -> None:
        """Let time pass."""
        clock = self.at.clock
        await self.at.station.run_until(clock.mono_ms() + ms)

    async def seen(self) -> None:
        (warning,) = [w for w in self.at.station.view()["warnings"] if w["may_be_seen"]]
        body = {"step": warning["step"], "limit": warning["limit"], "channel": warning["channel"]}
        assert (await self.at.ask("see", **body))["ok"]


@asynccontextmanager
async def rig(data: Path, *configs: WayConfig, heat: bool = True, **more: Any) -> AsyncIterator[Rig]:
    ways: dict[str, ToldWay] = {}

    def opening(tell: TellConfig, board: str, clock: Clock, note: Noting) -> list[Way]:
        for config in tell.ways:
            ways[config.name] = ToldWay(config, Health(config, note, clock.mono_ms))
        return list(ways.values())

    world = StillWorld()
    tell = more.pop("tell", TellConfig(time_zone="Europe/Lisbon"))
    studio = replace(STUDIO, tell=replace(tell, ways=configs or (LAMP, PHONE)))
    async with bench(data, world=world, studio=studio, opening=opening, **more) as at:
        made = Rig(at, world, ways)
        if heat:
            await made.passes(2_000)
            made.step = await at.heat_step()
            await made.passes(2_000)
        yield made


def go(case: Callable[[], Any]) -> None:
    asyncio.run(asyncio.wait_for(case(), 20))
