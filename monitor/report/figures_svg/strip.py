"""One strip of a chart: a quantity against time, with its limits, washes and open gaps."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Protocol

from monitor.report.figures_svg.scale import Scale, round_ends, ticks
from monitor.report.figures_svg.svg import INK, LINE, OUT, PAPER, SOFT, WASH, Drawing

GAP_INTERVALS = 3
STEM_PT = 0.75
ROOM = 0.02
BAR_PT = 2.0
DIGIT_PT, LABEL_GAP_PT = 3.5, 0.7
"""Width of a contact's number, a sign, and what stays free between two of them."""
LABEL_PT = 8.0
SPREAD = "#A7ADB3"
"""Wash between lowest and highest; its edge is inked, so a steady curve reads as one line."""


class Bucket(Protocol):
    """A stretch of readings, as the store's envelope gives it; low and high are None in a gap."""

    @property
    def from_ms(self) -> int:
        """Give its start, UTC ms."""
        ...

    @property
    def to_ms(self) -> int:
        """Give its end, UTC ms."""
        ...

    @property
    def low(self) -> float | None:
        """Give the lowest value."""
        ...

    @property
    def high(self) -> float | None:
        """Give the highest value."""
        ...

    @property
    def gaps(self) -> int:
        """Count readings without a value."""
        ...


@dataclass(frozen=True)
class LimitLine:
    """A limit drawn across a strip: where, its words ("85 at most"), and how strongly."""

    at: float
    words: str
    strong: bool


@dataclass(frozen=True)
class Span:
    """A stretch of time with a short word: a contact's place, or a time outside a limit."""

    from_ms: int
    to_ms: int
    words: str = ""
    at: float | None = None


@dataclass(frozen=True)
class Curve:
    """The envelope of one channel; a strip's second curve is drawn paler than its first."""

    words: str
    buckets: Sequence[Bucket]


@dataclass(frozen=True)
class Strip:
    """What one strip shows.

    Attributes:
        title: the quantity in words with its unit.
        curves: at least one; all in the same unit.
        limits: lines labelled at their right end.
        contacts: stretches washed through the strip's height, numbered at its top.
        outside: stretches in which readings lay beyond a level, as an outlined bar on its line.
        height: of the plotted field, points.
        values: range to be shown where it is not that of the curves and limits.
    """

    title: str
    curves: Sequence[Curve]
    limits: Sequence[LimitLine] = ()
    contacts: Sequence[Span] = ()
    outside: Sequence[Span] = ()
    height: float = 90
    values: tuple[float, float] | None = None


def runs(buckets: Iterable[Bucket]) -> list[list[Bucket]]:
    """Split an envelope where something is missing: at gap buckets and where nothing was stored."""
    some = list(buckets)
    steps = [b.from_ms - a.from_ms for a, b in itertools.pairwise(some)]
    longest = GAP_INTERVALS * median(steps) if steps else 0
    found: list[list[Bucket]] = [[]]
    for bucket in some:
        last = found[-1][-1] if found[-1] else None
        if last is not None and bucket.from_ms - max(last.to_ms, last.from_ms) > longest:
            found.append([])
        if bucket.low is None or bucket.high is None:
            found.append([])
            continue
        found[-1].append(bucket)
        if bucket.gaps:
            found.append([])
    return [run for run in found if run]


def value_range(strip: Strip) -> tuple[float, float, float]:
    """Give the strip's round ends and tick distance; every value and limit lies inside."""
    if strip.values is not None:
        return round_ends(*strip.values)
    seen = [v for c in strip.curves for b in c.buckets for v in (b.low, b.high) if v is not None]
    seen += [limit.at for limit in strip.limits]
    if not seen:
        return round_ends(0, 100)
    # a little room, so that no curve lies hidden on the edge of its field
    room = ROOM * (max(seen) - min(seen))
    return round_ends(min(seen) - room, max(seen) + room)


def draw_strip(on: Drawing, strip: Strip, time: Scale, top: float) -> None:
    """Draw one strip with its upper edge at `top`; the time axis belongs to the chart."""
    low, high, step = value_range(strip)
    up = Scale(low, high, top + strip.height, top)
    for tick in ticks(low, high, step):
        on.line(time.at_low, up(tick), time.at_high, up(tick), LINE, 0.35)
        on.text(time.at_low - 4, up(tick) + 2.4, f"{tick:g}", 7.5, SOFT, "end")
    _contacts(on, strip, time, top)
    for index, curve in reversed(list(enumerate(strip.curves))):
        _curve(on, curve, time, up, SOFT if index else INK)
    _limits(on, strip, time, up)


def _contacts(on: Drawing, strip: Strip, time: Scale, top: float) -> None:
    free_from = time.at_low
    for span in strip.contacts:
        x1, x2 = time(span.from_ms), time(span.to_ms)
        on.rect(x1, top, max(x2 - x1, 0.6), strip.height, WASH)
        middle, half = (x1 + x2) / 2, DIGIT_PT / 2 * len(span.words) + LABEL_GAP_PT / 2
        if middle - half >= free_from:
            on.text(middle, top - 2, span.words, 7, SOFT, "middle")
            free_from = middle + half


def _curve(on: Drawing, curve: Curve, time: Scale, up: Scale, ink: str) -> None:
    pieces = runs(curve.buckets)
    for run in pieces:
        above = [(time(_middle(b)), up(b.high)) for b in run if b.high is not None]
        below = [(time(_middle(b)), up(b.low)) for b in run if b.low is not None]
        if len(above) == 1:
            # a lone bucket between gaps still shows: a stem from its low to its high
            above, below = [(above[0][0] - STEM_PT / 2, above[0][1])], [(below[0][0] + STEM_PT / 2, below[0][1])]
        on.path([*above, *reversed(below)], ink, 0.6, SPREAD, closed=True, name="envelope")
    for before, after in itertools.pairwise(pieces):
        _gap(on, time(_middle(before[-1])), time(_middle(after[0])), up.at_low)


def _middle(bucket: Bucket) -> float:
    return (bucket.from_ms + bucket.to_ms) / 2


def _gap(on: Drawing, x1: float, x2: float, bottom: float) -> None:
    # the curve stays open; a bracket at the foot says that this is no reading, not a flat one
    on.path([(x1, bottom - 3), (x1, bottom), (x2, bottom), (x2, bottom - 3)], SOFT, 0.7)
    if x2 - x1 > 34:
        on.text((x1 + x2) / 2, bottom - 3, "no reading", 6.5, SOFT, "middle")


def _limits(on: Drawing, strip: Strip, time: Scale, up: Scale) -> None:
    right = time.at_high
    for limit, label in _labelled(strip, up):
        y = up(limit.at)
        on.line(time.at_low, y, right, y, INK, 0.8, "" if limit.strong else "4 2.5")
        on.line(right, y, right + 3, label, SOFT, 0.5)
        on.text(right + 4.5, label + 2.4, limit.words, 7.5)
    for span in strip.outside:
        if span.at is not None:
            x1, x2 = time(span.from_ms), time(span.to_ms)
            _bar(on, x1, max(x2, x1 + BAR_PT), up(span.at))


def _bar(on: Drawing, x1: float, x2: float, y: float) -> None:
    """Draw a bar that differs from the line it lies on by its shape: grey print keeps no colour."""
    on.rect(x1, y - BAR_PT, x2 - x1, 2 * BAR_PT, PAPER, OUT, 0.8)
    stroke = x1 + 2 * BAR_PT
    while stroke < x2:
        on.line(stroke - 2 * BAR_PT, y + BAR_PT, stroke, y - BAR_PT, OUT, 0.5)
        stroke += 2 * BAR_PT


def _labelled(strip: Strip, up: Scale) -> list[tuple[LimitLine, float]]:
    """Give each limit the height of its label: its own, or as near to it as the next label allows."""
    limits = sorted(strip.limits, key=lambda one: -one.at)
    wanted = [up(one.at) for one in limits]
    for _ in range(len(wanted) ** 2):
        for i in range(len(wanted) - 1):
            lacking = LABEL_PT - (wanted[i + 1] - wanted[i])
            if lacking > 1e-6:
                wanted[i] -= lacking / 2
                wanted[i + 1] += lacking / 2
    return list(zip(limits, wanted, strict=True))
