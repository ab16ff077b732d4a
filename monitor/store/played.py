"""Stored readings played through a fold, exactly, without reading the minutes in which nothing can happen.

Rollups keep of each minute the lowest and highest value and for how long there was one. While no delay
runs, a minute whose values all lie on one side of every level changes nothing, however they lie in it.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterator, Mapping

import sqlalchemy as sa

from monitor.bench.readings import Reading
from monitor.bench.replaying import Course
from monitor.errors import BadInput
from monitor.store.minutes import Minute, first_at, minutes
from monitor.store.queries import Queries
from monitor.store.rolling import newest_at
from monitor.store.rollups import MINUTE_MS, STALE_INTERVALS, floor_to
from monitor.store.tables import intervals

DAY_MS = 86_400_000
CHUNK_MINUTES = 60
"""Minutes that are passed over, or read, together at most where each reading's hold matters."""


class StoredSeries:
    """The readings of some channels with from <= at < to (UTC ms); those of unknown time are not among them.

    Args:
        stale_after_ms: how long a reading speaks; three of its channel's intervals without it.
        most: how many readings may be looked at one by one before the question is refused; None for any.

    Attributes:
        looked_at: how many were.
    """

    def __init__(
        self, store: Queries, channels: Collection[str], from_ms: int, to_ms: int,
        stale_after_ms: int | None = None, most: int | None = None,
    ) -> None:  # fmt: skip
        declared = {row.channel: row.interval_ms for row in store.channels()}
        self._store, self._numbers = store, {name: store.channel_id(name) for name in channels}
        self._to_ms, self._most, self.looked_at = to_ms, most, 0
        self._rolled = {
            name: stale_after_ms is None and self._always(number, declared[name])
            for name, number in self._numbers.items()
        }
        self.stale_after_ms: Mapping[str, int] = {
            name: stale_after_ms or STALE_INTERVALS * declared[name] for name in channels
        }
        self.from_ms = from_ms
        with store.engine.connect() as connection:
            newest = {name: newest_at(connection, number, to_ms) for name, number in self._numbers.items()}
        self._newest = {name: at for name, at in newest.items() if at is not None and at >= from_ms}
        self.last_ms: int | None = max(self._newest.values(), default=None)

    def readings(self, channels: Collection[str]) -> Iterator[Reading]:
        """Give the readings of these channels in order of instant and channel."""
        return _merged([self.between(name, self.from_ms, self._to_ms) for name in channels])

    def played(self, course: Course) -> Iterator[Reading]:
        """Give all readings in that order, less the minutes of which the course says that they change nothing."""
        return _merged([
            self._played(course, name) if self._rolled[name] else self.between(name, self.from_ms, self._to_ms)
            for name in self._newest
        ])  # fmt: skip

    def _always(self, number: int, interval_ms: int) -> bool:
        """Tell whether a channel was read at one interval ever since, by which its rollups weigh."""
        chosen = sa.select(intervals.c.interval_ms).where(intervals.c.channel_id == number).distinct()
        with self._store.engine.connect() as connection:
            return set(connection.execute(chosen).scalars()) == {interval_ms}

    def between(self, name: str, from_ms: int, to_ms: int) -> Iterator[Reading]:
        """Give the readings of a channel with from <= at < to; each is counted."""
        for at_ms, _, value, quality in self._store.readings(name, from_ms, to_ms):
            self.looked_at += 1
            if self._most is not None and self.looked_at > self._most:
                raise _too_many(self._most)
            yield Reading(at_ms, name, value, quality)

    def _played(self, course: Course, name: str) -> Iterator[Reading]:
        begin = -floor_to(MINUTE_MS, -self._first(name, self.from_ms))
        end = floor_to(MINUTE_MS, self._newest[name])
        if end <= begin:
            yield from self.between(name, self.from_ms, self._to_ms)
            return
        yield from self.between(name, self.from_ms, begin)
        for day in range(begin, end, DAY_MS):
            found = minutes(self._store.engine, self._numbers[name], day, min(day + DAY_MS, end))
            yield from self._day(course, name, found)
        yield from self.between(name, end, self._to_ms)

    def _day(self, course: Course, name: str, found: list[Minute]) -> Iterator[Reading]:
        """Play minutes in order: pass over runs of quiet ones, read the others, ever more of them at a time."""
        ahead, start, must_read = _Ahead(self, name), 0, 0
        while start < len(found):
            stop = start if start < must_read else self._quiet_run(course, name, found, start)
            if stop > start and self._pass_over(course, name, found[start:stop]):
                start = stop
                ahead.start_again()
                continue
            must_read = max(must_read, stop, start + 1)
            yield from ahead.minute(found[start].from_ms, found[-1].from_ms + MINUTE_MS)
            start += 1

    def _quiet_run(self, course: Course, name: str, found: list[Minute], start: int) -> int:
        """Give where the run of minutes ends that change nothing and lie alike; `start` where there is none."""
        sides, standing = course.sums[name].sides, course.stands(name)
        lies = found[start].lies(sides)
        whole = standing or (lies is not None and any(lies))
        most = min(len(found), start + CHUNK_MINUTES) if whole else len(found)
        for index in range(start, most):
            minute = found[index]
            if lies is None or minute.lies(sides) != lies or (whole and minute.gaps):
                return index
            if not course.quiet(name, *minute.span):
                return index
        return most

    def _pass_over(self, course: Course, name: str, run: list[Minute]) -> bool:
        """Count a run without reading it; False where its readings' holds matter and a silence lies between them."""
        sums = course.sums[name]
        lies = run[0].lies(sums.sides) or ()
        end_ms, known_ms = run[-1].from_ms + MINUTE_MS, sum(minute.weight_ms for minute in run)
        first_ms, next_ms = self._first(name, run[0].from_ms), self._first(name, end_ms)
        if (any(lies) or course.stands(name)) and known_ms != next_ms - first_ms:
            return False
        sums.pass_over(first_ms, next_ms, known_ms, lies, sum(minute.n for minute in run))
        course.passed_over(name, end_ms - 1)
        return True

    def _first(self, name: str, from_ms: int) -> int:
        return first_at(self._store.engine, self._numbers[name], from_ms)


class _Ahead:
    """Reads a channel minute by minute, the more at a time the longer it goes on."""

    def __init__(self, series: StoredSeries, name: str) -> None:
        self._series, self._name = series, name
        self._rows: list[Reading] = []
        self._place, self._to_ms, self._minutes = 0, 0, 1

    def start_again(self) -> None:
        """Drop what was read ahead: it was passed over."""
        self._rows, self._place, self._to_ms, self._minutes = [], 0, 0, 1

    def minute(self, from_ms: int, end_ms: int) -> Iterator[Reading]:
        """Give the readings of the minute that begins at an instant; nothing is read beyond `end_ms`."""
        if from_ms >= self._to_ms:
            self._to_ms = min(from_ms + self._minutes * MINUTE_MS, end_ms)
            self._rows, self._place = list(self._series.between(self._name, from_ms, self._to_ms)), 0
            self._minutes = min(2 * self._minutes, CHUNK_MINUTES)
        while self._place < len(self._rows) and self._rows[self._place].mono_ms < from_ms + MINUTE_MS:
            self._place += 1
            yield self._rows[self._place - 1]


def _too_many(most: int) -> BadInput:
    found = f"more than {most} readings lie so near the level that each has to be looked at"
    return BadInput(
        "period", found, "a shorter one", "Choose a shorter period, or a level that is passed less often."
    )


def _merged(streams: list[Iterator[Reading]]) -> Iterator[Reading]:
    if len(streams) == 1:
        return streams[0]
    return heapq.merge(*streams, key=lambda item: (item.mono_ms, item.channel))
