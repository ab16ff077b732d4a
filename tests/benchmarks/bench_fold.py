"""Readings a second through the fold: 8 probes with 3 limits each, against a bare comparison in the same run.

The yardstick looks each reading's channel up and compares its value with three levels; it is
what no monitor can do without. The fold may take at most so many times as long, and not
longer after a long history than after a short one.
"""

from __future__ import annotations

import platform
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from monitor.bench.inputs import Asked, Break
from monitor.bench.readings import Reading
from monitor.bench.sheets import Level, Limit, Sheet, Stage
from monitor.bench.ticking import Fold

PROBES, ROUNDS = 8, 40_000
MOST_TIMES = 5.0
MOST_GROWTH = 1.15
WANTED_PER_S = 500_000


def say(line: str) -> None:
    """Write a line."""
    sys.stdout.write(f"{line}\n")


def limit(key: str, side: str, at: float) -> Limit:
    """Make one of a probe's three limits."""
    levels = (Level(at, "low", "project", "proposal"),)
    return Limit(key, "air", "relative_humidity", side, 2.0, 300_000, 300_000, levels)


def folded() -> Fold:
    """Give a fold with a step that judges 8 channels by 3 limits each."""
    names = [f"p{n}.relative_humidity" for n in range(PROBES)]
    limits = {x.key: x for x in (limit("dry", "low", 40.0), limit("damp", "high", 60.0), limit("wet", "high", 75.0))}
    sheet = Sheet("b", "B", {"air": ("relative_humidity",)}, (Stage("s", "S", tuple(limits)),), limits,
                  asks_painting=False)  # fmt: skip
    fold = Fold()
    fold.feed(Break(0, 1, 1, 0, None))
    channels = [{"channel": name, "interval_ms": 1000, "bench": "b"} for name in names]
    fold.feed(Asked(0, "settings_in_force", None, "station", {"engine": 1, "channels": channels}))
    bound = [{"role": "air", "probe": n.partition(".")[0], "touches": "air", "channels": [n]} for n in names]
    body = {"step": "s1", "sheet": sheet.as_json(), "painting": None, "bench": "b", "bindings": bound,
            "side": None, "places": None, "sandwich": None, "answers": []}  # fmt: skip
    fold.feed(Asked(0, "step_asked", None, "station", body))
    return fold


def value(n: int, p: int) -> float:
    """Give 50 to 59 %, and now and then three readings beyond a limit."""
    return 61.0 if (n + p) % 997 < 3 else 50.0 + (n * 7 + p) % 90 / 10


def readings(first: int, rounds: int) -> list[Reading]:
    """Give readings of all probes once a second, with an excursion now and then."""
    return [
        Reading((first + n) * 1000, f"p{p}.relative_humidity", value(n, p))
        for n in range(rounds) for p in range(PROBES)
    ]  # fmt: skip


def timed_fold(fold: Fold, items: list[Reading]) -> float:
    """Give the processor seconds of folding them."""
    began = time.process_time()
    for item in items:
        fold.feed(item)
    return time.process_time() - began


def yardstick(items: list[Reading]) -> float:
    """Give the processor seconds of the bare comparison."""
    levels = {f"p{p}.relative_humidity": [(40.0, -1), (60.0, 1), (75.0, 1)] for p in range(PROBES)}
    beyond, began = 0, time.process_time()
    for item in items:
        value = item.value
        for at, sign in levels[item.channel]:
            if value is not None and (value - at) * sign > 0:
                beyond += 1
    return time.process_time() - began


def main() -> int:
    """Print speeds and ratios; exit code 1 when a ratio is beyond its bound."""
    say(f"on {platform.node()} ({platform.machine()}, Python {platform.python_version()})")
    fold = folded()
    parts = [readings(1 + n * ROUNDS, ROUNDS) for n in range(5)]
    bare = min(yardstick(part) for part in parts)
    took = [timed_fold(fold, part) for part in parts]
    count = len(parts[0])
    ratio, growth = min(took) / bare, took[-1] / min(took[:2])
    say(f"fold: {count / min(took):,.0f} readings/s ({WANTED_PER_S:,} wanted); bare comparison {count / bare:,.0f}")
    say(f"times the yardstick: {ratio:.2f} (at most {MOST_TIMES}); last fifth against first {growth:.2f}")
    return 0 if ratio <= MOST_TIMES and growth <= MOST_GROWTH else 1


if __name__ == "__main__":
    sys.exit(main())
