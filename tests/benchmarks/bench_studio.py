"""How many times faster than real time the simulated world runs, sampled at 5 Hz; fails below 500 in contact."""

from __future__ import annotations

import platform
import sys
import time

from monitor.probes.studio import World, WorldConfig

LEAST = 500.0


def run(world: World, seconds: int) -> float:
    """Move and sample a world for some seconds of its time and give its speed over real time."""
    start_ms = int(str(world.truth()["mono_ms"]))
    began = time.perf_counter()
    for at_ms in range(start_ms, start_ms + seconds * 1000 + 1, 200):
        world.advance_to(at_ms)
        world.junction_c("spatula")
        world.cold_junction_c("spatula")
        if at_ms % 1000 == 0:
            world.air("room")
    return seconds / (time.perf_counter() - began)


def say(line: str) -> None:
    """Write a line."""
    sys.stdout.write(line + "\n")


def main() -> int:
    """Print the speeds; exit code 1 when a contact runs too slowly."""
    say(f"on {platform.node()} ({platform.machine()}, Python {platform.python_version()})")
    slowest = float("inf")
    for base in ("felt", "board", "stone"):
        world = World(WorldConfig(base=base))
        world.apply({"tool": "on", "set_c": 78})
        run(world, 120)
        for place in range(1, 17):
            world.apply({"set_down": "place", "place": place})
            speed = run(world, 40)
            slowest = min(slowest, speed)
            if place in (1, 16):
                say(f"{base}: contact with {place - 1} places cooling: {speed:,.0f} times real time")
            world.apply({"lift": True})
            run(world, 5)
        say(f"{base}: hot tool in the hand, 16 places cooling: {run(world, 60):,.0f} times real time")
    week = 7 * 86_400
    world, began = World(), time.perf_counter()
    world.advance_to(week * 1000)
    say(f"idle week: {week / (time.perf_counter() - began):,.0f} times real time")
    say(f"slowest contact: {slowest:,.0f}; at least {LEAST:,.0f} wanted")
    return 0 if slowest >= LEAST else 1


if __name__ == "__main__":
    sys.exit(main())
