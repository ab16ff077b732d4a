"""The rule with the frame: geometry in per cent, so that text keeps its size.

The template turns it into SVG; nothing is decided here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from dashboard.words import set_value, whole
from monitor.link.view import LimitView

_MARGIN = 10.0  # least distance kept between a limit or value and the end of the rule, in its unit
_LABEL = 29.0  # per cent a label may need on the narrowest screen, kept free beside the frame


@dataclass(frozen=True)
class Label:
    """A word at `x` per cent; `anchor` is SVG's text-anchor."""

    x: float
    anchor: str
    text: str


@dataclass(frozen=True)
class Frame:
    """The stretch inside what was set, per cent; `left` and `right` tell which ends are limits."""

    x: float
    width: float
    left: bool
    right: bool


@dataclass(frozen=True)
class Rule:
    """A scale with its frame, further levels, and what is measured or estimated.

    Attributes:
        ticks: tick labels.
        frame: inside what was set, or None without limits.
        labels: the limits in words, above the frame.
        further: x of levels beyond the frame.
        wash: x and width of the estimate's band, or None.
        bar: x of the measured or most likely value, or None in a gap.
    """

    ticks: tuple[Label, ...]
    frame: Frame | None
    labels: tuple[Label, ...]
    further: tuple[Label, ...]
    wash: tuple[float, float] | None
    bar: float | None


def rule(limits: list[LimitView], low: float | None, likely: float | None, high: float | None) -> Rule:
    """Lay out the rule for one quantity: its limits, and a band or (all three equal) one value."""
    lows = sorted((v["at"] for x in limits if x["side"] == "low" for v in x["levels"]), reverse=True)
    highs = sorted(v["at"] for x in limits if x["side"] == "high" for v in x["levels"])
    held = [v for v in (low, likely, high) if v is not None]
    start, end = _domain([*lows, *highs, *held], lows[0] if lows else None, highs[0] if highs else None)

    def at(value: float) -> float:
        return _at(value, start, end)

    frame = None
    if lows or highs:
        x0, x1 = at(lows[0] if lows else start), at(highs[0] if highs else end)
        frame = Frame(min(x0, x1), round(abs(x1 - x0), 2), bool(lows), bool(highs))
    band = low is not None and high is not None and high > low
    return Rule(
        ticks=tuple(Label(at(t), "middle", whole(t)) for t in _ticks(start, end)),
        frame=frame,
        labels=_limit_labels(lows, highs, at),
        further=tuple(Label(at(v), "middle", set_value(v)) for v in (*lows[1:], *highs[1:])),
        wash=(at(low), round(at(high) - at(low), 2)) if band and low is not None and high is not None else None,
        bar=None if likely is None else at(likely),
    )


def _at(value: float, start: float, end: float) -> float:
    return round(2 + 96 * (value - start) / (end - start), 2)


def _limit_labels(lows: list[float], highs: list[float], at: Callable[[float], float]) -> tuple[Label, ...]:
    """End one label at the frame's left edge and begin the other at its right, so that they never meet."""
    labels = []
    if lows:
        labels.append(Label(at(lows[0]), "end", f"{set_value(lows[0])} at least"))
    if highs:
        labels.append(Label(at(highs[0]), "start", f"{set_value(highs[0])} at most"))
    return tuple(labels)


def _domain(values: list[float], low: float | None, high: float | None) -> tuple[float, float]:
    """Give the ends of the scale, on tens, so that it moves seldom; beside the frame there is room for its labels."""
    if not values:
        return 0.0, 100.0
    start = float(math.floor((min(values) - _MARGIN) / 10) * 10)
    end = max(float(math.ceil((max(values) + _MARGIN) / 10) * 10), start + 40)
    while True:
        if low is not None and _at(low, start, end) < 2 + _LABEL:
            start -= 10
        elif high is not None and _at(high, start, end) > 98 - _LABEL:
            end += 10
        else:
            return start, end


def _ticks(start: float, end: float) -> list[float]:
    stride = next(s for s in (10, 20, 50, 100, 200, 500, 1000, 10_000, 100_000) if (end - start) / s <= 7)
    first = math.ceil(start / stride) * stride
    return [float(v) for v in range(first, int(end) + 1, stride) if start <= v <= end]
