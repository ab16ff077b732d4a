"""How long and how far readings lay beyond each limit, whether or not a warning was given."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import chain, pairwise
from typing import TYPE_CHECKING

from monitor.bench.sheets import SIDES
from monitor.report.computed import as_readings, computed_values
from monitor.report.limits import InForce
from monitor.report.selection import Selection

if TYPE_CHECKING:
    from monitor.store.store import Store

STALE_INTERVALS = 3
SPELLS = 400
"""Stretches that paper can show apart along a chart."""


@dataclass(frozen=True)
class Excursion:
    """What a channel did beyond one level.

    Attributes:
        channel, limit: which channel, and which level of which limit.
        outside_ms: the time beyond it, all stretches together.
        furthest, furthest_ms: in the quantity's unit, and when, UTC ms.
        spells: the stretches beyond it, UTC ms, those close together joined.
    """

    channel: str
    limit: InForce
    outside_ms: int
    furthest: float
    furthest_ms: int
    spells: tuple[tuple[int, int], ...]


@dataclass
class _Sum:
    """What has been summed for one level so far; its memory is bounded by how close spells are joined."""

    limit: InForce
    join_ms: int
    total_ms: int = 0
    furthest: tuple[float, int] | None = None
    spells: list[tuple[int, int]] = field(default_factory=list)

    def take(self, value: float, at_ms: int, to_ms: int) -> None:
        """Count a reading that holds from `at_ms` to `to_ms`, if it lies beyond."""
        side = self.limit.limit.side
        held = self.limit.held(at_ms, to_ms) if _beyond(value, self.limit.at, side) else []
        for begin, end in held:
            self.total_ms += end - begin
            if self.spells and begin - self.spells[-1][1] <= self.join_ms:
                self.spells[-1] = (self.spells[-1][0], end)
            else:
                self.spells.append((begin, end))
        if held and (self.furthest is None or _beyond(value, self.furthest[0], side)):
            self.furthest = (value, at_ms)


def read_excursions(store: Store, selection: Selection, limits: list[InForce]) -> list[Excursion]:
    """List what lay beyond a limit; readings are taken once for each channel and side that has any limit."""
    intervals = {c.channel: c.interval_ms for c in store.channels()}
    join_ms = (selection.to_ms - selection.from_ms) // SPELLS
    found: list[Excursion] = []
    for channel in selection.channels:
        over = [one for one in limits if one.judges(channel)]
        if over:
            rows = ((r.at_ms, r.value) for r in store.readings(channel, selection.from_ms, selection.to_ms))
            found += excursions(channel, rows, over, intervals[channel], selection.to_ms, join_ms)
    for source in dict.fromkeys(source for one in limits for source in one.computed):
        interval_ms = min(intervals[name] for name in source.inputs)
        for side in SIDES:
            over = [one for one in limits if source in one.sources and one.limit.side == side]
            if over:
                made = as_readings(computed_values(store, source, selection), side)
                found += excursions(source.channel, made, over, interval_ms, selection.to_ms, join_ms)
    return found


def excursions(
    channel: str, readings: Iterable[tuple[int, float | None]], limits: list[InForce], interval_ms: int, to_ms: int,
    join_ms: int = 0,
) -> list[Excursion]:  # fmt: skip
    """Sum the time beyond each limit.

    A reading holds until the next one, at most three intervals, and not beyond the end; equal
    to a limit is not beyond it; a gap holds nothing; time counts only while the limit is in force.
    Stretches no farther apart than `join_ms` are given as one, which changes no sum.
    """
    longest = STALE_INTERVALS * interval_ms
    sums = [_Sum(one, join_ms) for one in limits]
    for (at_ms, value), (next_ms, _) in pairwise(chain(readings, [(to_ms, None)])):
        if value is None:
            continue
        for one in sums:
            one.take(value, at_ms, min(next_ms, at_ms + longest))
    return [
        Excursion(channel, one.limit, one.total_ms, *one.furthest, tuple(one.spells))
        for one in sums
        if one.furthest is not None
    ]


def _beyond(value: float, at: float, side: str) -> bool:
    return value > at if side == "high" else value < at
