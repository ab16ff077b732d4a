"""Rollups of one minute and one hour: what a bucket holds and how readings enter it.

A reading counts in the bucket in which it lies. A good reading holds until the next reading
of its channel or until it is stale (3 intervals), whichever comes first, and the whole of
that hold is weighed in the bucket in which it begins. A gap ends the hold before it and has
none itself. A clipped reading keeps its bound in `low`, `high`, `first` and `last`, ends the
hold before it, and is in no mean. An hour is the sum of its minutes, taken in order, so that
it can be recomputed bit by bit. The bucket of a channel's newest reading is always open and
kept in memory; all earlier ones are stored.
"""

from __future__ import annotations

from dataclasses import dataclass

MINUTE_MS = 60_000
HOUR_MS = 3_600_000
STALE_INTERVALS = 3
GOOD, FIRST_GAP = 0, 10


@dataclass(slots=True)
class Rollup:
    """One bucket.

    Attributes:
        width_ms, from_ms: its length and its start, a whole multiple of the length (UTC).
        n, clipped, gaps: how many good, clipped and missing readings.
        low, high, first, last: of good and clipped values; None where there is none.
        total: sum of the good values; the mean is total / n.
        weighted, weight_ms: sum of good value x hold, and of the holds, in ms.
    """

    width_ms: int
    from_ms: int
    n: int = 0
    clipped: int = 0
    gaps: int = 0
    low: float | None = None
    high: float | None = None
    first: float | None = None
    last: float | None = None
    total: float = 0.0
    weighted: float = 0.0
    weight_ms: int = 0

    def see(self, value: float | None, quality: int) -> None:
        """Count a reading; its hold is added later by `hold`."""
        if value is None:
            self.gaps += 1
            return
        if quality == GOOD:
            self.n += 1
            self.total += value
        else:
            self.clipped += 1
        if self.low is None or self.high is None:
            self.low = self.high = self.first = value
        elif value < self.low:
            self.low = value
        elif value > self.high:
            self.high = value
        self.last = value

    def hold(self, value: float, for_ms: int) -> None:
        """Weigh a good value by how long it held."""
        self.weighted += value * for_ms
        self.weight_ms += for_ms

    def merge(self, later: Rollup) -> None:
        """Add a bucket that follows all of this one's."""
        self.n += later.n
        self.clipped += later.clipped
        self.gaps += later.gaps
        self.total += later.total
        self.weighted += later.weighted
        self.weight_ms += later.weight_ms
        if later.low is None or later.high is None:
            return
        self.low = later.low if self.low is None else min(self.low, later.low)
        self.high = later.high if self.high is None else max(self.high, later.high)
        self.first = later.first if self.first is None else self.first
        self.last = later.last


def floor_to(width_ms: int, at_ms: int) -> int:
    """Give the start of the bucket that holds an instant."""
    return at_ms - at_ms % width_ms


class OpenRollup:
    """The open minute and hour of one channel, and the reading that still holds."""

    __slots__ = ("held", "held_stale_ms", "hour", "last_at_ms", "minute")

    def __init__(self) -> None:
        self.minute: Rollup | None = None
        self.hour: Rollup | None = None
        self.last_at_ms: int | None = None
        self.held: float | None = None
        self.held_stale_ms = 0

    def add(self, at_ms: int, value: float | None, quality: int, stale_ms: int, closed: list[Rollup]) -> None:
        """Take the next reading in order of time; buckets that close are appended to `closed`."""
        self._end_hold(at_ms)
        minute = self.minute
        if minute is None or at_ms >= minute.from_ms + MINUTE_MS:
            minute = self._turn(at_ms, closed)
        minute.see(value, quality)
        self.last_at_ms = at_ms
        self.held = value if quality == GOOD else None
        self.held_stale_ms = stale_ms

    def _end_hold(self, at_ms: int) -> None:
        if self.held is not None and self.minute is not None and self.last_at_ms is not None:
            self.minute.hold(self.held, min(at_ms - self.last_at_ms, self.held_stale_ms))

    def _turn(self, at_ms: int, closed: list[Rollup]) -> Rollup:
        hour_from = floor_to(HOUR_MS, at_ms)
        if self.minute is not None:
            self.close_minute(closed)
        if self.hour is not None and self.hour.from_ms != hour_from:
            closed.append(self.hour)
            self.hour = None
        if self.hour is None:
            self.hour = Rollup(HOUR_MS, hour_from)
        self.minute = Rollup(MINUTE_MS, floor_to(MINUTE_MS, at_ms))
        return self.minute

    def close_minute(self, closed: list[Rollup]) -> None:
        """Close the open minute and add it to its hour."""
        assert self.minute is not None
        closed.append(self.minute)
        if self.hour is None:
            self.hour = Rollup(HOUR_MS, floor_to(HOUR_MS, self.minute.from_ms))
        self.hour.merge(self.minute)
        self.minute = None
