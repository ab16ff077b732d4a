"""How long and how far readings lay beyond each limit, whether or not a warning was given."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain, pairwise
from typing import TYPE_CHECKING

from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.report.limits import InForce
from monitor.report.selection import Selection
from monitor.report.words import When, figure, seconds

if TYPE_CHECKING:
    from monitor.store.store import Store

STALE_INTERVALS = 3


@dataclass(frozen=True)
class Excursion:
    """What a channel did beyond one level; `furthest` in the quantity's unit, at `furthest_ms`."""

    channel: str
    limit: InForce
    outside_ms: int
    furthest: float
    furthest_ms: int


def excursion_sentences(found: list[Excursion], when: When) -> list[str]:
    """Say what lay outside: one sentence for each channel and side, its levels in order."""
    groups: dict[tuple[str, str], list[Excursion]] = {}
    for one in found:
        groups.setdefault((one.channel, one.limit.limit.side), []).append(one)
    return [_sentence(channel, side, some, when) for (channel, side), some in groups.items()]


def _sentence(channel: str, side: str, some: list[Excursion], when: When) -> str:
    probe, quantity = split_channel(channel)
    known = QUANTITIES[quantity]
    beyond, end = ("above", "highest") if side == "high" else ("below", "lowest")
    far = max(some, key=lambda one: one.furthest if side == "high" else -one.furthest)
    lasted = {one.limit.at: seconds(one.outside_ms) for one in some}
    mildest_first = sorted(lasted, reverse=side == "low")
    listed = ", ".join(f"{beyond} {figure(at, known.symbol)} for {lasted[at]}" for at in mildest_first)
    return (
        f"In all: {known.words} ({probe}) {listed}; {end} {figure(far.furthest, known.symbol)} at "
        f"{when.time(far.furthest_ms)}."
    )


def read_excursions(store: Store, selection: Selection, limits: list[InForce]) -> list[Excursion]:
    """List what lay beyond a limit; readings are taken once for each channel that has any limit."""
    intervals = {c.channel: c.interval_ms for c in store.channels()}
    found: list[Excursion] = []
    for channel in selection.channels:
        over = [one for one in limits if one.limit.quantity == split_channel(channel)[1]]
        if over:
            rows = ((r.at_ms, r.value) for r in store.readings(channel, selection.from_ms, selection.to_ms))
            found += excursions(channel, rows, over, intervals[channel], selection.to_ms)
    return found


def excursions(
    channel: str, readings: Iterable[tuple[int, float | None]], limits: list[InForce], interval_ms: int, to_ms: int
) -> list[Excursion]:
    """Sum the time beyond each limit.

    A reading holds until the next one, at most three intervals, and not beyond the end; equal
    to a limit is not beyond it; a gap holds nothing; time counts only while the limit is in force.
    """
    longest = STALE_INTERVALS * interval_ms
    totals = [0 for _ in limits]
    furthest: list[tuple[float, int] | None] = [None for _ in limits]
    for (at_ms, value), (next_ms, _) in pairwise(chain(readings, [(to_ms, None)])):
        for index, one in enumerate(limits):
            if value is None or not _beyond(value, one.at, one.limit.side):
                continue
            held_ms = one.held_ms(at_ms, min(next_ms, at_ms + longest))
            if held_ms == 0:
                continue
            totals[index] += held_ms
            best = furthest[index]
            if best is None or _beyond(value, best[0], one.limit.side):
                furthest[index] = (value, at_ms)
    return [
        Excursion(channel, one, total, far[0], far[1])
        for one, total, far in zip(limits, totals, furthest, strict=True)
        if far is not None
    ]


def _beyond(value: float, at: float, side: str) -> bool:
    return value > at if side == "high" else value < at
