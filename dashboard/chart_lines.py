"""From buckets of readings to what is drawn: the line, the wash, and where a limit was passed."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from dashboard.past import Bucket


@dataclass(frozen=True)
class Drawn:
    """One channel's stretch of readings."""

    channel: str
    buckets: list[Bucket]


def line_of(buckets: list[Bucket]) -> tuple[list[int], list[float | None]]:
    """Join the first value of each bucket; a gap or a hole between buckets breaks the line after the last value."""
    x: list[int] = []
    y: list[float | None] = []
    for index, (b, broken) in enumerate(zip(buckets, _breaks(buckets), strict=True)):
        points: list[tuple[int, float | None]] = [(b.from_ms, b.first)]
        if broken or index == len(buckets) - 1:
            points.append((b.to_ms, b.last))
        if broken:
            points.append((b.to_ms, None))
        for at_ms, value in points if b.n else points[:1]:
            x.append(at_ms)
            y.append(value)
    return x, y


def _breaks(buckets: list[Bucket]) -> list[bool]:
    """Tell for each bucket whether the line ends with it: gaps in it, or a hole of over three usual distances."""
    apart = sorted(b.from_ms - a.from_ms for a, b in itertools.pairwise(buckets))
    usual = max(apart[len(apart) // 2] if apart else 0, 1000)
    holes = [b.n == 0 or b.from_ms - a.to_ms > 3 * usual for a, b in itertools.pairwise(buckets)]
    return [bool(b.gaps) or hole for b, hole in zip(buckets, [*holes, False], strict=False)]


def wash_of(buckets: list[Bucket]) -> tuple[list[int | None], list[float | None]]:
    """Draw a polygon from lowest to highest for each stretch without a gap."""
    x: list[int | None] = []
    y: list[float | None] = []
    stretch: list[Bucket] = []
    for index, (b, broken) in enumerate(zip(buckets, _breaks(buckets), strict=True)):
        if b.n and b.low is not None:
            stretch.append(b)
        if broken or not b.n or index == len(buckets) - 1:
            if any(s.high != s.low for s in stretch):
                at = [*(s.from_ms for s in stretch), stretch[-1].to_ms]
                ends = [*stretch, stretch[-1]]
                x += [*at, *at[::-1], None]
                y += [*(s.high for s in ends), *(s.low for s in ends[::-1]), None]
            stretch = []
    return x, y


def over(buckets: list[Bucket], side: str, at: float, within: tuple[int, int]) -> list[tuple[int, int]]:
    """Give the stretches in which a level was passed, neighbours joined, inside `within` (UTC ms)."""
    found: list[tuple[int, int]] = []
    for index, b in enumerate(buckets):
        extreme = b.high if side == "high" else b.low
        if extreme is None or not (extreme > at if side == "high" else extreme < at):
            continue
        follows = index + 1 < len(buckets) and buckets[index + 1].n and not b.gaps
        a, z = max(b.from_ms, within[0]), min(buckets[index + 1].from_ms if follows else b.to_ms, within[1])
        if found and a <= found[-1][1]:
            found[-1] = (found[-1][0], max(z, found[-1][1]))
        elif z > a:
            found.append((a, z))
    return found
