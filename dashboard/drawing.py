"""The rule with the frame, and the seam: geometry in per cent, so that text keeps its size.

The templates turn these into SVG; nothing is decided here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from dashboard.words import set_value, whole
from monitor.link.view import LimitView, PlacesView, PlaceView

_MARGIN = 10.0  # least distance kept between a limit or value and the end of the rule, in its unit


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
    start, end = _domain([*lows, *highs, *held])

    def at(value: float) -> float:
        return round(2 + 96 * (value - start) / (end - start), 2)

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


def _limit_labels(lows: list[float], highs: list[float], at: Callable[[float], float]) -> tuple[Label, ...]:
    labels = []
    if lows:
        x = at(lows[0])
        labels.append(Label(x, "end" if x > 30 else "start", f"{set_value(lows[0])} at least"))
    if highs:
        x = at(highs[0])
        labels.append(Label(x, "start" if x < 70 else "end", f"{set_value(highs[0])} at most"))
    return tuple(labels)


def _domain(values: list[float]) -> tuple[float, float]:
    """Give the ends of the scale, on tens, so that it moves seldom."""
    if not values:
        return 0.0, 100.0
    start = math.floor((min(values) - _MARGIN) / 10) * 10
    end = math.ceil((max(values) + _MARGIN) / 10) * 10
    return float(start), float(max(end, start + 40))


def _ticks(start: float, end: float) -> list[float]:
    stride = next(s for s in (10, 20, 50, 100, 200, 500, 1000, 10_000, 100_000) if (end - start) / s <= 7)
    first = math.ceil(start / stride) * stride
    return [float(v) for v in range(first, int(end) + 1, stride) if start <= v <= end]


SHAPES = {
    None: "empty",
    "reached": "reached",
    "not reached": "missed",
    "not known": "unknown",
    "over the limit set": "over",
}


@dataclass(frozen=True)
class Spot:
    """One place of the seam: its number, the shape drawn and what is said of it."""

    number: int
    shape: str
    words: str
    here: bool


def seam(places: PlacesView) -> list[Spot]:
    """Lay out the places of the side in hand, one spot each."""
    return [_spot(place, place["place"] == places["here"], places["in_contact"]) for place in places["places"]]


def _spot(place: PlaceView, here: bool, in_contact: bool) -> Spot:
    verdict = place["verdict"]
    said = verdict or ("not yet judged" if place["passes"] else "not yet")
    if place["reason"]:
        said += f", {place['reason']}"
    if here:
        said = ("here, in contact" if in_contact else "here next") + ("" if verdict is None else f"; before: {said}")
    return Spot(place["place"], SHAPES.get(verdict, "unknown"), f"place {place['place']}: {said}", here)


def tally(places: PlacesView) -> str:
    """Count the verdicts in words, for instance `5 reached · 1 not reached`."""
    counts: dict[str, int] = {}
    for place in places["places"]:
        if place["verdict"]:
            counts[place["verdict"]] = counts.get(place["verdict"], 0) + 1
    return " · ".join(f"{counts[v]} {v}" for v in SHAPES if v and v in counts)
