"""The textbook version of one limit on recorded readings, measured or computed; see `watchman`.

All instants of readings and delays lie on the grid.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from tests.support.watchman import STEP_MS, Book, Probe, Rule, Span, Watchman, instant

GRID_MS = 500
STALE_INTERVALS = 3


@dataclass
class Textbook:
    """One limit on one channel.

    Attributes:
        readings: instant -> value or None for a gap.
        seen: instants at which a person says seen.
    """

    levels: list[float]
    high: bool
    deadband: float
    on_ms: int
    off_ms: int
    interval_ms: int
    readings: dict[int, float | None]
    seen: list[int] = field(default_factory=list)
    must_be_seen: bool = True

    def value_at(self, now: int) -> float | None:
        """Look up the value that holds at an instant, None when nothing is known."""
        past = [t for t in self.readings if t <= now]
        if not past or now > max(past) + STALE_INTERVALS * self.interval_ms:
            return None
        return self.readings[max(past)]

    def spans_at(self, now: int) -> Span | None:
        """Give the lowest and highest the judged value may have at an instant, None when nothing is known."""
        value = self.value_at(now)
        return None if value is None else (value, value)

    def probes(self) -> list[Probe]:
        """Give the channels it rests on."""
        return [Probe(STALE_INTERVALS * self.interval_ms, self.readings)]

    def run(self, until: int) -> list[tuple[int, str]]:
        """List what happens: (instant, raised | eased | returned | seen | suppressed | released | chatters)."""
        probes, book = self.probes(), Book()
        rule = Rule(self.levels, self.high, self.deadband, self.on_ms, self.off_ms, self.spans_at, probes,
                    self.must_be_seen)  # fmt: skip
        man = Watchman(rule, book)
        for now in range(0, until + 1, STEP_MS):
            if now in self.seen:
                man.ask("see", now)
            instant(now, probes, [man], book)
        return [(at, what) for at, what, _ in man.rows]


Input = dict[int, tuple[float | None, bool]]


@dataclass
class ComputedTextbook(Textbook):
    """One limit on what is computed from several channels, each looked up by itself.

    At every instant each channel's last reading is looked up; the value that holds is what follows from
    all of them, of whatever readings of that instant. A clipped humidity leaves only a bound.

    Attributes:
        inputs: of each channel: instant -> (value or None for a gap, clipped).
        intervals_ms: of each channel.
        formula: from the channels' values to the judged one, in the same order.
        rises: whether a higher clipped value lets the judged one rise.
    """

    inputs: list[Input] = field(default_factory=list)
    intervals_ms: list[int] = field(default_factory=list)
    formula: Callable[..., float] = float
    rises: bool = True

    def spans_at(self, now: int) -> Span | None:
        """Look up every channel's last reading."""
        values, clipped = [], False
        for readings, interval_ms in zip(self.inputs, self.intervals_ms, strict=True):
            past = max((t for t in readings if t <= now), default=None)
            if past is None or now > past + STALE_INTERVALS * interval_ms or readings[past][0] is None:
                return None
            values.append(readings[past][0])
            clipped = clipped or readings[past][1]
        value = round(self.formula(*values), 1)
        if not clipped:
            return value, value
        return (value, math.inf) if self.rises else (-math.inf, value)

    def probes(self) -> list[Probe]:
        """Give the channels it rests on."""
        return [
            Probe(STALE_INTERVALS * interval_ms, {t: value for t, (value, _) in readings.items()})
            for readings, interval_ms in zip(self.inputs, self.intervals_ms, strict=True)
        ]
