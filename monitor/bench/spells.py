"""Known time beyond a level, summed reading by reading: no deadband, no delay, none after the last reading."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
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


class Sums:
    """Sums one channel's time beyond several levels; each reading holds until the next, or until it is stale.

    Attributes:
        sides: the levels; `spells` what each came to, in the same order.
        readings: how many had a value.
    """

    def __init__(self, stale_after_ms: int, sides: Sequence[Side]) -> None:
        self.sides = sides
        self.spells = [Spells() for _ in sides]
        self.readings = 0
        self._stale_after_ms = stale_after_ms
        self._held: Reading | None = None

    def take(self, item: Reading) -> None:
        """Take the next reading."""
        self._hold_until(item.mono_ms)
        self._held = item
        self.readings += item.value is not None

    def pass_over(self, from_ms: int, to_ms: int, known_ms: int, beyond: Sequence[bool], readings: int) -> None:
        """Take a stretch all of whose values lie on one side of each level.

        Args:
            from_ms, to_ms: instants of its first reading and of the first one after it.
            known_ms: time in it for which there was a value; all of it where a level was passed.
            beyond: for each level, whether all values are past it, or none.
            readings: how many in it had a value.
        """
        self._hold_until(from_ms)
        self._held = None
        self.readings += readings
        for spells, past in zip(self.spells, beyond, strict=True):
            if past:
                spells.take(from_ms, to_ms, beyond=True)
            else:
                spells.known_ms += known_ms

    def _hold_until(self, mono_ms: int) -> None:
        held = self._held
        if held is None or held.value is None:
            return
        until_ms = min(mono_ms, held.mono_ms + self._stale_after_ms)
        clipped = held.quality is Quality.CLIPPED
        for side, spells in zip(self.sides, self.spells, strict=True):
            spells.take(held.mono_ms, until_ms, beyond=side.beyond(held.value, clipped=clipped))


def spells_of(readings: Iterable[Reading], side: Side, stale_after_ms: int) -> Spells:
    """Sum the readings of one channel, in order, for one level."""
    sums = Sums(stale_after_ms, [side])
    for item in readings:
        sums.take(item)
    return sums.spells[0]
