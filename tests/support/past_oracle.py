"""Quantities of a stretch of time, worked out the slow way: every minute anew, from the raw readings.

Written from the words, not from the code. A line of minutes is laid over all boots; each minute is looked up by
itself among the readings; what a quantity is at a minute is cut out of that line; a level's run is watched every
half minute. Delays are whole half minutes.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, field

MINUTE_MS, HALF_MS = 60_000, 30_000
DAY_MIN = 24 * 60
Line = list[float | None]


@dataclass
class Boot:
    """What one run of the station was given.

    Attributes:
        from_ms, until_ms: on its own scale; minutes before `until_ms` were sampled.
        missed_ms: how long nothing was measured before it; None where that is not known.
        readings: instant -> (value, or None for a gap; clipped), in order.
        means: instant -> (mean or None, hours covered).
        stages: instants at which a stage began.
        clock_steps: instant -> by how much the wall clock was set; changes nothing here.
    """

    from_ms: int
    until_ms: int
    missed_ms: int | None = 0
    readings: dict[int, tuple[float | None, bool]] = field(default_factory=dict)
    means: dict[int, tuple[float | None, int]] = field(default_factory=dict)
    stages: list[int] = field(default_factory=list)
    clock_steps: dict[int, int] = field(default_factory=dict)

    def minutes(self) -> list[int]:
        """List the whole minutes that were sampled."""
        return [m for m in range(0, self.until_ms, MINUTE_MS) if m >= self.from_ms]

    def read_at(self, now: int, stale_after_ms: int, instants: list[int]) -> tuple[float | None, bool]:
        """Look up the reading that speaks at an instant, among all instants of readings."""
        place = bisect_right(instants, now)
        if place == 0 or instants[place - 1] < now - stale_after_ms:
            return None, False
        return self.readings[instants[place - 1]]


@dataclass
class Minute:
    """A minute at which things were worked out: in which boot, when, and where it lies on the line."""

    boot: int
    mono_ms: int
    place: int


class PastBook:
    """The textbook of one channel's past over several boots."""

    def __init__(self, boots: list[Boot], stale_after_ms: int, threshold: float = 0.0) -> None:
        self.boots = boots
        self.line: Line = []
        self.above: list[bool] = []
        self.starts: list[int] = []  # for each place, where the line it belongs to begins
        self.minutes: list[Minute] = []
        last_ms = 0
        for number, boot in enumerate(boots):
            self._join(number, boot, last_ms)
            instants = sorted(boot.readings)
            for now in boot.minutes():
                value, clipped = boot.read_at(now, stale_after_ms, instants)
                self.minutes.append(Minute(number, now, len(self.line)))
                self.starts.append(self._start)
                self.line.append(None if clipped else value)
                self.above.append(value is not None and (value > 0 if clipped else value > threshold))
                last_ms = now

    def _join(self, number: int, boot: Boot, last_ms: int) -> None:
        """Lay as many unknown minutes in between as went by, to the nearest; begin a new line after a day."""
        if number == 0:
            self._start = 0
            return
        first = boot.minutes()[0]
        if boot.missed_ms is None:
            self._start = len(self.line)
            return
        before = self.boots[number - 1]
        gone_ms = (before.until_ms - last_ms) + boot.missed_ms + (first - boot.from_ms)
        missed = max(0, (gone_ms + HALF_MS) // MINUTE_MS - 1)
        if missed >= DAY_MIN:
            self._start = len(self.line)
            return
        for _ in range(missed):
            self.starts.append(self._start)
            self.line.append(None)
            self.above.append(False)

    def _cut(self, place: int, first: int, last: int) -> Line:
        """Cut the minutes from `first` to `last` ago out of the line that a place belongs to."""
        return [self.line[p] for p in range(max(place - first, self.starts[place]), place - last + 1)]

    def rate(self, at: Minute) -> float | None:
        """Mean of five minutes less that of the five an hour before."""
        if at.place - 64 < self.starts[at.place]:
            return None
        now, before = mean_of_three(self._cut(at.place, 4, 0)), mean_of_three(self._cut(at.place, 64, 60))
        return None if now is None or before is None else round(now - before, 1)

    def change(self, at: Minute) -> float | None:
        """Highest less lowest of the hour that runs and the 23 before it; hours are counted on the line."""
        start = self.starts[at.place]
        first = max(start, start + ((at.place - start) // 60 - 23) * 60)
        known = [v for v in self.line[first : at.place + 1] if v is not None]
        return round(max(known) - min(known), 1) if len(known) >= 60 else None

    def departure(self, at: Minute) -> float | None:
        """Mean of five minutes less the newest mean that covers a week and was given within a day."""
        now = mean_of_three(self._cut(at.place, 4, 0))
        age = self.given(at)
        if now is None or age is None:
            return None
        (mean, hours), age_ms = age
        return None if mean is None or hours < 168 or age_ms > DAY_MIN * MINUTE_MS else round(now - mean, 1)

    def given(self, at: Minute) -> tuple[tuple[float | None, int], int] | None:
        """Find the newest mean given before a minute, and how long ago; none across a break of unknown length."""
        since, number, now = 0, at.boot, at.mono_ms
        while number >= 0:
            boot = self.boots[number]
            past = [t for t in boot.means if t <= now]
            if past:
                return boot.means[max(past)], since + now - max(past)
            if boot.missed_ms is None or number == 0:
                return None
            since += now - boot.from_ms + boot.missed_ms
            number, now = number - 1, self.boots[number - 1].until_ms
        return None

    def counted(self, at: Minute) -> float:
        """Count the minutes above the threshold since the newest stage began."""
        boot, stage_ms = max(
            ((n, t) for n, b in enumerate(self.boots) for t in b.stages if (n, t) <= (at.boot, at.mono_ms)),
            default=(0, -1),
        )
        return float(sum(
            self.above[m.place] for m in self.minutes
            if (boot, stage_ms) <= (m.boot, m.mono_ms) <= (at.boot, at.mono_ms)
        ))  # fmt: skip


def mean_of_three(samples: Line) -> float | None:
    """Give the mean of what is known, of three at least."""
    known = [v for v in samples if v is not None]
    return sum(known) / len(known) if len(known) >= 3 else None


@dataclass
class Level:
    """One level, watched every half minute."""

    at: float
    active: bool = False
    run_from: int | None = None

    def watch(self, now: int, value: float | None, deadband: float, on_ms: int, off_ms: int, *, high: bool) -> None:
        """Look once."""
        past = 0.0 if value is None else (value - self.at if high else self.at - value)
        holds = value is not None and (round(past, 6) <= -deadband if self.active else past > 0)
        if not holds:
            self.run_from = None
            return
        self.run_from = now if self.run_from is None else self.run_from
        if now - self.run_from >= (off_ms if self.active else on_ms):
            self.active, self.run_from = not self.active, None


def told(
    book: PastBook, of: Callable[[Minute], float | None], levels: list[float], deadband: float, on_ms: int,
    off_ms: int, *, high: bool, resets: bool = False,
) -> list[tuple[int, int, str]]:  # fmt: skip
    """List what happens: (boot, instant, raised | eased | returned).

    Args:
        resets: a stage ends what stood for the stage before.
    """
    watched, level, happened = [Level(at) for at in levels], -1, list[tuple[int, int, str]]()
    for number, boot in enumerate(book.boots):
        values = {m.mono_ms: of(m) for m in book.minutes if m.boot == number}
        for each in watched:
            each.run_from = None
        looks = {*range(0, boot.until_ms, HALF_MS), *(boot.stages if resets else [])}
        for now in sorted(t for t in looks if t >= boot.from_ms):
            if resets and now in boot.stages:
                watched = [Level(at) for at in levels]
            minute = now // MINUTE_MS * MINUTE_MS
            value = values.get(minute) if not (resets and any(minute < t <= now for t in boot.stages)) else None
            if now % HALF_MS == 0 and minute in values:
                for each in watched:
                    each.watch(now, value, deadband, on_ms, off_ms, high=high)
            now_level = max((i for i, each in enumerate(watched) if each.active), default=-1)
            if now_level != level:
                word = "raised" if now_level > level else "eased" if now_level >= 0 else "returned"
                happened.append((number, now, word))
            level = now_level
    return happened
