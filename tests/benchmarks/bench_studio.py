"""How many times faster than real time the simulated world runs, sampled at 5 Hz; fails below 500 in contact."""

from __future__ import annotations

import platform
import sys
import time

from monitor.probes.studio import World, WorldConfig

LEAST = 500.0


def run(world: World, seconds: int, place: int | None = None) -> float:
    """Move and sample a world, set down on a place first if asked, and give the processor seconds it took.

    Processor time, since a contact is over in some 20 ms and other work on the machine would be counted too.
    """
    began = time.process_time()
    if place is not None:
        world.apply({"set_down": "place", "place": place})
    start_ms = int(str(world.truth()["mono_ms"]))
    for at_ms in range(start_ms, start_ms + seconds * 1000 + 1, 200):
        world.advance_to(at_ms)
        world.junction_c("spatula")
        world.cold_junction_c("spatula")
        if at_ms % 1000 == 0:
            world.air("room")
    return time.process_time() - began


def side(base: str) -> float:
    """Print the speeds along a side of 16 places and give that of its slowest quarter."""
    world = World(WorldConfig(base=base))
    world.apply({"tool": "on", "set_c": 78})
    run(world, 120)
    took = []
    for place in range(1, 17):
        took.append(run(world, 40, place))
        world.apply({"lift": True})
        run(world, 5)
    quarters = [4 * 40 / sum(took[n : n + 4]) for n in range(0, 16, 4)]
    say(f"{base}: in contact, by quarter of a side of 16: {', '.join(f'{q:,.0f}' for q in quarters)} times real time")
    say(f"{base}: hot tool in the hand, 16 places cooling: {60 / run(world, 60):,.0f} times real time")
    return min(quarters)


def main() -> int:
    """Print the speeds; exit code 1 when contact runs too slowly."""
    say(f"on {platform.node()} ({platform.machine()}, Python {platform.python_version()})")
    slowest = min(side(base) for base in ("felt", "board", "stone"))
    week, began = 7 * 86_400, time.process_time()
    World().advance_to(week * 1000)
    say(f"idle week: {week / (time.process_time() - began):,.0f} times real time")
    say(f"slowest quarter in contact: {slowest:,.0f}; at least {LEAST:,.0f} wanted")
    return 0 if slowest >= LEAST else 1


def say(line: str) -> None:
    """Write a line."""
    sys.stdout.write(line + "\n")


if __name__ == "__main__":
    sys.exit(main())
