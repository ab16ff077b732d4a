"""Readings a second through the fold: 8 probes with 3 limits each, against a bare comparison in the same run.

The yardstick looks each reading's channel up and compares its value with three levels; it is
what no monitor can do without. The fold may take at most so many times as long, and not
longer after a long history than after a short one.

A second figure: three tents whose air and surface are read and judged, and of which every derived
quantity is judged too. It may take so many times as long as the formulas alone, at every reading.
"""

from __future__ import annotations

import platform
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from monitor.bench.derived import DERIVED, FORMULAS, inputs_of
from monitor.bench.inputs import Asked, Break
from monitor.bench.readings import Reading
from monitor.bench.sheets import Level, Limit, Sheet, Stage
from monitor.bench.ticking import Fold

PROBES, ROUNDS = 8, 40_000
MOST_TIMES = 5.0
MOST_GROWTH = 1.15
WANTED_PER_S = 500_000
TENTS, TENT_ROUNDS = 3, 20_000
MOST_TIMES_COMPUTED = 2.0
WANTED_COMPUTED_PER_S = 200_000
RULES = {
    "dry": ("relative_humidity", "low", 40.0), "damp": ("relative_humidity", "high", 60.0),
    "wet": ("relative_humidity", "high", 75.0), "cold": ("air_temperature", "low", 16.0),
    "warm": ("air_temperature", "high", 25.0), "canvas": ("humidity_at_canvas", "high", 75.0),
    "dew": ("dew_point", "high", 15.0), "margin": ("dew_point_margin", "low", 3.0),
    "colder": ("painting_minus_air", "low", -2.0),
}  # fmt: skip


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


def rule(key: str, quantity: str, side: str, at: float) -> Limit:
    """Make a limit of a tent."""
    return Limit(key, "air", quantity, side, 1.0, 300_000, 300_000, (Level(at, "low", "project", "proposal"),))


def tents() -> Fold:
    """Give a fold with a step in each tent: three limits on its humidity, two on its warmth, one on each derived."""
    roles = {"air": ("air_temperature", "relative_humidity"), "on": ("surface_temperature",)}
    limits = {key: rule(key, *told) for key, told in RULES.items()}
    sheet = Sheet("t", "T", roles, (Stage("s", "S", tuple(limits)),), limits, asks_painting=False)
    bound = [
        [{"role": role, "probe": f"{role}{n}", "touches": "", "channels": [f"{role}{n}.{q}" for q in quantities]}
         for role, quantities in roles.items()] for n in range(TENTS)
    ]  # fmt: skip
    fold = Fold()
    fold.feed(Break(0, 1, 1, 0, None))
    names = [name for bindings in bound for binding in bindings for name in binding["channels"]]
    channels = [{"channel": name, "interval_ms": 1000, "bench": "b"} for name in names]
    fold.feed(Asked(0, "settings_in_force", None, "station", {"engine": 1, "channels": channels}))
    for n, bindings in enumerate(bound):
        body = {"step": f"s{n + 1}", "sheet": sheet.as_json(), "painting": None, "bench": "b", "bindings": bindings,
                "side": None, "places": None, "sandwich": None, "answers": []}  # fmt: skip
        fold.feed(Asked(n, "step_asked", None, "station", body))
    assert len(fold.state.computed) == TENTS * sum(not needs.each for needs in DERIVED.values())
    return fold


def tent_readings(first: int, rounds: int) -> list[Reading]:
    """Give readings of all tents once a second, all three of a tent in motion, now and then beyond."""
    made = []
    for n in range(first, first + rounds):
        for tent in range(TENTS):
            step = (n * 7 + tent) % 90
            made += [
                Reading(n * 1000, f"air{tent}.air_temperature", 20.0 + step / 100),
                Reading(n * 1000, f"air{tent}.relative_humidity", 61.0 if n % 997 < 3 else 50.0 + step / 10),
                Reading(n * 1000, f"on{tent}.surface_temperature", 19.5 + step / 128),
            ]
    return sorted(made, key=lambda r: (r.mono_ms, r.channel))


def formulas_alone(items: list[Reading]) -> float:
    """Give the processor seconds of computing each derived quantity that a reading changes, and comparing it."""
    uses = {name: tuple(inputs_of(name)) for name in DERIVED}
    measured = inputs_of("dew_point_margin")
    changed = {quantity: [name for name in DERIVED if quantity in uses[name]] for quantity in measured}
    last = {"air_temperature": 20.0, "relative_humidity": 50.0, "surface_temperature": 19.5}
    beyond, began = 0, time.process_time()
    for item in items:
        quantity = item.channel.rpartition(".")[2]
        last[quantity] = item.value or 0.0
        for name in changed[quantity]:
            beyond += FORMULAS[name](*[last[one] for one in uses[name]]) > 75.0
    return time.process_time() - began


def computed() -> bool:
    """Print the second figure; False when its ratio is beyond its bound."""
    fold = tents()
    parts = [tent_readings(1 + n * TENT_ROUNDS, TENT_ROUNDS) for n in range(3)]
    alone = min(formulas_alone(part) for part in parts)
    took = min(timed_fold(fold, part) for part in parts)
    count, ratio = len(parts[0]), took / alone
    say(f"with every derived quantity judged: {count / took:,.0f} readings/s ({WANTED_COMPUTED_PER_S:,} wanted); "
        f"formulas alone {count / alone:,.0f}; times that: {ratio:.2f} (at most {MOST_TIMES_COMPUTED})")  # fmt: skip
    return ratio <= MOST_TIMES_COMPUTED


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
    within = computed()
    return 0 if ratio <= MOST_TIMES and growth <= MOST_GROWTH and within else 1


if __name__ == "__main__":
    sys.exit(main())
