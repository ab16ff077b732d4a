"""A file of recorded readings through the fold: what would this limit have said?"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from statistics import median

from monitor.bench.derived import inputs_of
from monitor.bench.quantities import channel_name, split_channel
from monitor.bench.readings import Reading
from monitor.bench.replay_sheets import of_one, served
from monitor.bench.replayed import Replayed
from monitor.bench.replaying import Course, replay
from monitor.bench.sheets import Limit, Sheet
from monitor.bench.state import STALE_INTERVALS
from monitor.errors import BadInput
from monitor.probes import readings_csv

Series = dict[str, list[Reading]]


class InMemory:
    """Readings held by channel.

    Args:
        series: of each channel, in order.
        stale_after_ms: how long a reading speaks; three of the channel's median intervals without it.
    """

    def __init__(self, series: Series, stale_after_ms: int | None = None) -> None:
        self._series = series
        self.stale_after_ms: Mapping[str, int] = {
            name: stale_after_ms or STALE_INTERVALS * _median_interval(rows) for name, rows in series.items()
        }
        instants = [rows[end].mono_ms for rows in series.values() for end in (0, -1)]
        self.from_ms = min(instants)
        self.last_ms: int | None = max(instants)

    def readings(self, channels: Collection[str]) -> Iterator[Reading]:
        """Give the readings of these channels in order of instant and channel."""
        return iter(sorted((r for c in channels for r in self._series[c]), key=lambda r: (r.mono_ms, r.channel)))

    def played(self, course: Course) -> Iterator[Reading]:
        """Give all readings in that order."""
        del course
        return self.readings(self._series)


def read_series(path: Path) -> Series:
    """Read a readings file whole, by channel; its UTC serves as the monotonic scale."""
    series: Series = {}
    for row in readings_csv.read(path):
        name = channel_name(row.probe, row.quantity)
        series.setdefault(name, []).append(Reading(row.at_ms, name, row.value, row.quality))
    return series


def by_limit(path: Path, probe: str, limit: Limit, stale_after_ms: int | None = None) -> Replayed:
    """Replay a file against one limit.

    Raises:
        BadInput: the file cannot be read, or has no such probe and quantity.
    """
    series = read_series(path)
    wanted = channel_name(probe, limit.quantity)
    if wanted not in series:
        raise BadInput(str(path), f"no readings of {wanted}", ", ".join(series) or "readings", "Name one of these.")
    result = replay(InMemory({wanted: series[wanted]}, stale_after_ms), of_one(limit))
    result.readings = _with_value(series)
    return result


def by_sheet(path: Path, sheet: Sheet, stale_after_ms: int | None = None) -> Replayed:
    """Replay a file against every limit of a working sheet; each probe serves every role it can.

    Where several could give the air of something computed, one of its role's own name comes first.

    Raises:
        BadInput: the file cannot be read, or serves no role of the sheet.
    """
    every = read_series(path)
    used = {q for limit in sheet.limits.values() for q in inputs_of(limit.quantity)}
    series = {name: rows for name, rows in every.items() if split_channel(name)[1] in used}
    whole = served(sheet, series)
    if not whole.limits:
        found = "not all that one limit of sheet {} needs" if series else "nothing sheet {} has limits for"
        raise BadInput(str(path), found.format(sheet.key), ", ".join(sorted(used)), "Choose another.")
    result = replay(InMemory(series, stale_after_ms), whole)
    result.readings = _with_value(every)
    result.not_judged = [key for key in sheet.limits if key not in whole.limits]
    return result


def _with_value(series: Series) -> int:
    return sum(r.value is not None for rows in series.values() for r in rows)


def _median_interval(rows: list[Reading]) -> int:
    return round(median([late.mono_ms - early.mono_ms for early, late in pairwise(rows)] or [1000]))
