"""The textbook version of the limits: slow, and written from the words, not from the code.

Time is cut into half-grid instants. At each, the value that holds is looked up among all
readings; a level's condition is a run of consecutive instants in which it holds; a delay is
over at the first instant at which the run has lasted long enough. All instants of readings
and delays lie on the grid.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

GRID_MS = 500
HALF_MS = GRID_MS // 2
STALE_INTERVALS = 3


@dataclass
class TextbookLevel:
    """One level, watched instant by instant."""

    at: float
    active: bool = False
    run_from: int | None = None


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

    def run(self, until: int) -> list[tuple[int, str]]:
        """List what happens: (instant, raised | eased | returned | seen)."""
        levels = [TextbookLevel(at) for at in self.levels]
        happened: list[tuple[int, str]] = []
        state, level = "normal", -1
        for now in range(0, until + 1, HALF_MS):
            if now in self.seen and state in ("unseen", "returned"):
                state = "seen" if state == "unseen" else "normal"
                happened.append((now, "seen"))
            value = self.value_at(now)
            for each in levels:
                self._watch(each, now, value)
            now_level = max((i for i, each in enumerate(levels) if each.active), default=-1)
            if now_level > level:
                state = "unseen"
                happened.append((now, "raised"))
            elif now_level < level and now_level >= 0 and state in ("unseen", "seen"):
                happened.append((now, "eased"))
            elif now_level < level and now_level < 0:
                state = "returned" if state == "unseen" and self.must_be_seen else "normal"
                happened.append((now, "returned"))
            level = now_level
        return happened

    def _watch(self, each: TextbookLevel, now: int, value: float | None) -> None:
        if value is None:
            each.run_from = None
            return
        past = value - each.at if self.high else each.at - value
        holds = past <= -self.deadband if each.active else past > 0
        if not holds:
            each.run_from = None
            return
        if each.run_from is None:
            each.run_from = now
        if now - each.run_from >= (self.off_ms if each.active else self.on_ms):
            each.active = not each.active
            each.run_from = None


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

    def spans_at(self, now: int) -> tuple[float, float] | None:
        """Give the lowest and highest the judged value may have at an instant, None when nothing is known."""
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

    def _watch(self, each: TextbookLevel, now: int, value: float | None) -> None:
        """A condition holds if it does for every value there may be."""
        del value
        span = self.spans_at(now)
        if span is None:
            super()._watch(each, now, None)
            return
        sign = 1 if self.high else -1
        past = sorted(sign * (v - each.at) for v in span)
        holds = past[1] <= -self.deadband if each.active else past[0] > 0
        if not holds:
            each.run_from = None
            return
        if each.run_from is None:
            each.run_from = now
        if now - each.run_from >= (self.off_ms if each.active else self.on_ms):
            each.active = not each.active
            each.run_from = None
