"""A painting in a tent, with the catalogue's own sheet: judged at the reverse, told, kept, recomputed and reported."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from pathlib import Path
from typing import Any

from monitor.clock import SimulatedClock
from monitor.config import ProbeConfig, Studio
from monitor.store.checking import check_all
from monitor.store.migrating import migrate
from monitor.store.store import Store
from tests.support.stations import NINE_MS, ROOM, Bench, bench

TENT = replace(ROOM, name="tent", bus="i2c-2")
REVERSE = ProbeConfig("reverse", "north bench", "max31856", "spi-0.0", 1000, 0, "T", "surface_temperature")
EDGE = replace(REVERSE, name="edge", bus="spi-0.1")
STUDIO = Studio("Studio of a test", "test", ("north bench",), (ROOM, TENT, REVERSE, EDGE))
MINUTE_MS = 60_000


async def humidified(data: Path, probes: tuple[str, ...], until: Any, *, cut: bool = False) -> None:
    """Humidify in a tent whose air is 20 degC, 75 %RH: the reverse at 18 degC, the edge a second later at 17."""
    clock = SimulatedClock(start_wall_ms=NINE_MS)
    async with bench(data, clock=clock, studio=STUDIO, cut=cut) as b:
        b.world.air_c, b.world.rh_pct = 20.0, 75.0
        b.world.junctions_c = {"reverse": 20.0, "edge": 20.0}
        assert (await b.ask("add_painting", number="26-01", name="Two boats drying"))["ok"]
        answers = {
            q.key: (q.choices or ("as told",))[0] for q in b.station._catalogue.sheet("air-humidification").asks
        }
        bindings = [
            {"role": "tent", "probe": "tent", "touches": "in the tent's air"},
            *({"role": "reverse", "probe": name, "touches": "on the canvas"} for name in probes),
            {"role": "room", "probe": "room", "touches": "hangs free"},
        ]
        started = await b.ask(
            "start_step", sheet="air-humidification", painting="26-01", bench="north bench", bindings=bindings,
            answers=answers,
        )  # fmt: skip
        assert started["ok"], started
        step = started["result"]["step"]
        assert (await b.ask("next_stage", step=step, stage="taking-up"))["ok"]
        await until(b)


async def raised(b: Bench) -> None:
    """Let both places cool, one a second after the other, and stop the station as the first is told."""
    await b.station.run_until(MINUTE_MS)
    b.world.junctions_c["reverse"] = 18.0
    await b.station.run_until(MINUTE_MS + 1000)
    b.world.junctions_c["edge"] = 17.0
    for second in range(400):
        await b.station.run_until(MINUTE_MS + (second + 2) * 1000)
        if b.rows("alarm_raised"):
            return


def checked(data: Path) -> list[str]:
    store = Store.open(data, read_only=True)
    try:
        found = check_all(store, again=True)
        assert found.again is not None
        assert found.again.events > 5
        return [*found.again.differences, *([] if found.in_order else found.lines())]
    finally:
        store.close()


def test_a_state_kept_between_a_reading_and_its_tick_recomputes(tmp_path: Path) -> None:
    """One warning is told as another has just come due at the last reading of the same instant."""
    migrate(tmp_path)
    asyncio.run(humidified(tmp_path, ("reverse", "edge"), raised, cut=True))
    assert checked(tmp_path) == []
