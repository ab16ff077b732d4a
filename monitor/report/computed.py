"""What a step computed from several probes, out of its stored readings by the fold's own rules."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, pairwise
from typing import TYPE_CHECKING

from monitor.bench.computed_series import Value, computed_series
from monitor.bench.derived import Source
from monitor.bench.quantities import split_channel
from monitor.bench.readings import Reading
from monitor.bench.state import STALE_INTERVALS
from monitor.report.selection import Selection

if TYPE_CHECKING:
    from monitor.store.store import Store


@dataclass(frozen=True)
class Bucket:
    """A stretch of a computed channel for a chart; low and high are None where nothing was known."""

    from_ms: int
    to_ms: int
    low: float | None
    high: float | None
    gaps: int


def computed_values(store: Store, source: Source, selection: Selection) -> Iterator[Value]:
    """Give the values of a computed channel over a selection; their instants are UTC ms."""
    intervals = {c.channel: c.interval_ms for c in store.channels()}
    stale = {name: STALE_INTERVALS * intervals[name] for name in source.inputs}
    read = [_readings(store, name, selection) for name in source.inputs]
    merged = heapq.merge(*read, key=lambda reading: (reading.mono_ms, reading.channel))
    return computed_series(split_channel(source.channel)[1], stale, merged)


def _readings(store: Store, name: str, selection: Selection) -> Iterator[Reading]:
    for row in store.readings(name, selection.from_ms, selection.to_ms):
        yield Reading(row.at_ms, name, row.value, row.quality)


def as_readings(values: Iterable[Value], side: str) -> Iterator[tuple[int, float | None]]:
    """Give instants and values for a limit on one side: a bound that tells it nothing is a gap."""
    for one in values:
        yield one.mono_ms, None if one.at_least is (side == "low") else one.value


def buckets_of(values: Iterable[Value], from_ms: int, to_ms: int, most: int) -> list[Bucket]:
    """Gather values into at most `most` stretches, each from its lowest to its highest."""
    width = max(1, -(-(to_ms - from_ms) // most))
    found: list[Bucket] = []
    for one, following in pairwise(chain(values, [Value(to_ms, None)])):
        start = from_ms + (one.mono_ms - from_ms) // width * width
        known = () if one.value is None else (one.value,)
        same = bool(found) and found[-1].from_ms == start
        last = found.pop() if same else Bucket(start, min(start + width, following.mono_ms), None, None, 0)
        span = [*(v for v in (last.low, last.high) if v is not None), *known]
        found.append(
            Bucket(start, max(last.to_ms, min(start + width, following.mono_ms)), min(span, default=None),
                   max(span, default=None), last.gaps + (one.value is None))
        )  # fmt: skip
    return found
