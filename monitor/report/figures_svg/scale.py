"""Scales: from values and instants to points on paper, with ticks at round figures."""

from __future__ import annotations

import math
from dataclasses import dataclass

_SECOND, _MINUTE, _HOUR, _DAY = 1000, 60_000, 3_600_000, 86_400_000
_TIME_STEPS = (
    *(n * _SECOND for n in (1, 2, 5, 10, 15, 30)),
    *(n * _MINUTE for n in (1, 2, 5, 10, 15, 30)),
    *(n * _HOUR for n in (1, 2, 3, 6, 12)),
    *(n * _DAY for n in (1, 2, 7, 14, 28, 91, 182, 365)),
)


@dataclass(frozen=True)
class Scale:
    """A straight scale from `low`..`high` onto `at_low`..`at_high` points."""

    low: float
    high: float
    at_low: float
    at_high: float

    def __call__(self, value: float) -> float:
        """Give the place of a value; values beyond the ends lie beyond them."""
        span = self.high - self.low
        share = (value - self.low) / span if span else 0.5
        return self.at_low + share * (self.at_high - self.at_low)


def round_ends(low: float, high: float, steps: int = 5) -> tuple[float, float, float]:
    """Widen a range to round figures; give low, high and the distance of the ticks."""
    if high - low < 1e-9:
        low, high = low - 1, high + 1
    raw = (high - low) / steps
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= raw - 1e-12)
    return math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step, step


def ticks(low: float, high: float, step: float) -> list[float]:
    """List the ticks from low to high."""
    return [low + i * step for i in range(round((high - low) / step) + 1)]


def time_ticks(from_ms: int, to_ms: int, at_most: int = 8) -> tuple[list[int], int]:
    """List whole instants between two times, `at_most` of them, and their distance in ms."""
    span = max(1, to_ms - from_ms)
    step = next((s for s in _TIME_STEPS if span / s <= at_most), _TIME_STEPS[-1] * math.ceil(span / _TIME_STEPS[-1]))
    first = -(-from_ms // step) * step
    return list(range(first, to_ms + 1, step)), step
