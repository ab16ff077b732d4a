"""Known time beyond a level, summed reading by reading: no deadband, no delay, none after the last reading."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from monitor.bench.readings import Quality, Reading


@dataclass(slots=True)
class Spells:
    """What one channel did beyond one level.

    A spell is an unbroken stretch of known time beyond it: a value that is not, a gap, or a silence
    that makes the last reading stale ends it.

    Attributes:
        known_ms: time for which there was a value.
        outside_ms, longest_ms, count: all spells together, the longest, and how many.
    """

    known_ms: int = 0
    outside_ms: int = 0
    longest_ms: int = 0
    count: int = 0
    _from_ms: int = 0
    _to_ms: int | None = None

    def take(self, from_ms: int, to_ms: int, *, beyond: bool) -> None:
        """Count a value that holds from an instant to another, not before the one taken last."""
        if to_ms <= from_ms:
            return
        self.known_ms += to_ms - from_ms
        if not beyond:
            return
        self.outside_ms += to_ms - from_ms
        if self._to_ms != from_ms:
            self._from_ms = from_ms
            self.count += 1
        self._to_ms = to_ms
        self.longest_ms = max(self.longest_ms, to_ms - self._from_ms)


class Side(NamedTuple):
    """A level with its side; equal to it is not beyond it."""

    at: float
    high: bool

    def beyond(self, value: float, *, clipped: bool = False) -> bool:
        """Tell whether a value is past the level; a clipped one is past every level on its side."""
        if clipped:
            return (value > 0) is self.high
        return value > self.at if self.high else value < self.at


def spells_of(readings: Iterable[Reading], side: Side, stale_after_ms: int) -> Spells:
    """Sum the readings of one channel, in order; each holds until the next, or until it is stale."""
    found = Spells()
    for here, after in pairwise(readings):
        if here.value is not None:
            beyond = side.beyond(here.value, clipped=here.quality is Quality.CLIPPED)
            found.take(here.mono_ms, min(after.mono_ms, here.mono_ms + stale_after_ms), beyond=beyond)
    return found
