"""The simulated world felt through the real drivers over the simulated wire."""

from __future__ import annotations

import pytest

from monitor.bench.readings import Quality
from monitor.clock import SimulatedClock
from monitor.config import ProbeConfig, Studio
from monitor.probes.opening import OpenedProbes, open_probes
from monitor.probes.studio import World

STUDIO = Studio(
    name="invented",
    board="board",
    benches=("bench",),
    probes=(
        ProbeConfig("room", "bench", "sht45", "i2c-1", 1000, address=0x44),
        ProbeConfig("spatula", "bench", "max31856", "spi-0.0", 200, thermocouple="K"),
    ),
)


def read(opened: OpenedProbes) -> dict[str, tuple[float | None, Quality]]:
    """Read every probe once."""
    return {f"{p.name}.{s.quantity}": (s.value, s.quality) for p in opened.probes for s in p.read()}


def test_what_the_drivers_read_is_what_the_world_feels(clock: SimulatedClock) -> None:
    world = World()
    opened = open_probes(STUDIO, sensed=world, clock=clock, threaded=False)
    world.apply({"tool": "on", "set_c": 78})
    try:
        for at_ms in range(0, 120_001, 200):
            clock.move_to(at_ms)
            world.advance_to(at_ms)
            found = read(opened)
        air_c, rh_pct = world.air("room")
        assert found["room.air_temperature"] == (pytest.approx(air_c, abs=0.02), Quality.GOOD)
        assert found["room.relative_humidity"] == (pytest.approx(rh_pct, abs=0.02), Quality.GOOD)
        assert found["spatula.tool_temperature"] == (
            pytest.approx(world.junction_c("spatula"), abs=0.3),
            Quality.GOOD,
        )
        assert found["spatula.tool_temperature"][0] == pytest.approx(world.tool.tip_c - 0.6, abs=1.5)
        world.apply({"fault": "open thermocouple", "probe": "spatula"})
        clock.move_to(120_400)
        world.advance_to(120_400)
        assert read(opened)["spatula.tool_temperature"] == (None, Quality.OPEN)
    finally:
        assert opened.close()
