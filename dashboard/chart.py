"""The chart of Look back, as the chart library's plain specification.

One strip a quantity on a common time axis; readings in ink over a wash from lowest to highest,
gaps left open; limits as lines labelled at their end; steps as hairlines with their name.
Times are UTC ms; the page moves them to the browser's time before drawing.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Any

from dashboard.past import Bucket, PastStep
from dashboard.words import set_value
from monitor.bench.quantities import QUANTITIES, split_channel

_DASHES = ("solid", "dot", "dash", "dashdot")
_STRIP_PX = 260
_GAP = 0.07
_NAME_ROWS_PX = (24, 44)  # names of steps stand above the strips, in turn on two rows

LIGHTS: dict[str, dict[str, str]] = {
    "day": {"ink": "#23272B", "soft": "#5B6168", "line": "#CFC9BC", "wash": "rgba(29,75,115,0.22)",
            "out": "#A3270F", "paper": "#F3F0E9"},
    "dim": {"ink": "#D9D5CB", "soft": "#9A978F", "line": "#3A3E42", "wash": "rgba(127,176,216,0.28)",
            "out": "#F0836B", "paper": "#17191B"},
}  # fmt: skip


@dataclass(frozen=True)
class Drawn:
    """One channel's stretch of readings."""

    channel: str
    buckets: list[Bucket]


def spec(drawn: list[Drawn], steps: list[PastStep], from_ms: int, to_ms: int, light: str) -> dict[str, Any]:
    """Build data and layout for the channels over a period."""
    colours = LIGHTS[light]
    quantities = list(dict.fromkeys(split_channel(d.channel)[1] for d in drawn))
    layout = _layout(quantities, from_ms, to_ms, colours)
    data: list[dict[str, Any]] = []
    for index, quantity in enumerate(quantities):
        axis = _axis(index)
        here = [d for d in drawn if split_channel(d.channel)[1] == quantity]
        for rank, one in enumerate(here):
            data += _traces(one, axis, _DASHES[rank % len(_DASHES)], colours)
            _name_at_end(layout, one, axis, colours)
        _limits(layout, [d.channel for d in here], steps, axis, (from_ms, to_ms), colours)
    _steps(layout, steps, (from_ms, to_ms), colours)
    return {"data": data, "layout": layout}


def _axis(index: int) -> str:
    return "y" if index == 0 else f"y{index + 1}"


def _layout(quantities: list[str], from_ms: int, to_ms: int, colours: dict[str, str]) -> dict[str, Any]:
    count = max(1, len(quantities))
    height = (1 - _GAP * (count - 1)) / count
    layout: dict[str, Any] = {
        "paper_bgcolor": "rgba(0,0,0,0)", "plot_bgcolor": "rgba(0,0,0,0)", "showlegend": False,
        "height": 114 + _STRIP_PX * count, "margin": {"l": 64, "r": 112, "t": 68, "b": 46},
        "font": {"family": "system-ui, sans-serif", "size": 15, "color": colours["soft"]},
        "hovermode": "x", "dragmode": False, "shapes": [], "annotations": [],
        "hoverlabel": {"bgcolor": colours["paper"], "font": {"color": colours["ink"], "size": 15}},
        "xaxis": {"type": "date", "range": [from_ms, to_ms], "showgrid": False, "linecolor": colours["line"],
                  "tickcolor": colours["line"], "ticks": "outside", "fixedrange": True, "anchor": _axis(count - 1)},
    }  # fmt: skip
    for index, quantity in enumerate(quantities):
        top = 1 - index * (height + _GAP)
        known = QUANTITIES[quantity]
        layout["yaxis" + ("" if index == 0 else str(index + 1))] = {
            "domain": [max(0.0, round(top - height, 4)), round(top, 4)], "gridcolor": colours["line"], "gridwidth": 1,
            "zeroline": False, "fixedrange": True, "nticks": 6, "ticksuffix": f" {known.symbol}",
        }  # fmt: skip
        layout["annotations"].append(_text(known.words, 0, round(top, 4), colours["ink"], yshift=4, yanchor="bottom"))
    return layout


def _text(text: str, x: float, y: float, colour: str, **more: Any) -> dict[str, Any]:  # noqa: ANN401
    plain = {"text": text, "x": x, "y": y, "xref": "paper", "yref": "paper", "xanchor": "left", "showarrow": False,
             "font": {"color": colour, "size": 15}}  # fmt: skip
    return {**plain, **more}


def _traces(one: Drawn, axis: str, dash: str, colours: dict[str, str]) -> list[dict[str, Any]]:
    probe, quantity = split_channel(one.channel)
    known = QUANTITIES[quantity]
    line_x, line_y = _line(one.buckets)
    wash_x, wash_y = _wash(one.buckets)
    wash = {
        "type": "scatter", "x": wash_x, "y": wash_y, "yaxis": axis, "mode": "lines", "fill": "toself",
        "line": {"width": 0}, "fillcolor": colours["wash"], "hoverinfo": "skip",
        "name": f"{probe}, lowest to highest",
    }  # fmt: skip
    line = {
        "type": "scatter", "x": line_x, "y": line_y, "yaxis": axis, "mode": "lines", "connectgaps": False,
        "line": {"color": colours["ink"], "width": 1.5, "dash": dash, "shape": "linear"}, "name": probe,
        "hovertemplate": f"{probe} %{{y:.1f}} {known.symbol}<extra></extra>",
    }  # fmt: skip
    return [wash, line]


def _line(buckets: list[Bucket]) -> tuple[list[int], list[float | None]]:
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


def _wash(buckets: list[Bucket]) -> tuple[list[int | None], list[float | None]]:
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


def _name_at_end(layout: dict[str, Any], one: Drawn, axis: str, colours: dict[str, str]) -> None:
    last = next((b.last for b in reversed(one.buckets) if b.last is not None), None)
    if last is not None:
        name = split_channel(one.channel)[0]
        layout["annotations"].append(_text(name, 1, last, colours["ink"], yref=axis, xshift=6))


def _limits(
    layout: dict[str, Any], channels: list[str], steps: list[PastStep], axis: str, period: tuple[int, int],
    colours: dict[str, str],
) -> None:  # fmt: skip
    labelled: set[tuple[str, float]] = set()
    for step in steps:
        x0, x1 = max(period[0], step.from_ms), min(period[1], step.to_ms or period[1])
        for limit in step.limits:
            if limit.channel not in channels or x0 >= x1:
                continue
            line = {"type": "line", "x0": x0, "x1": x1, "y0": limit.at, "y1": limit.at, "xref": "x", "yref": axis,
                    "line": {"color": colours["out"], "width": 1}}  # fmt: skip
            if line not in layout["shapes"]:
                layout["shapes"].append(line)
            if (limit.side, limit.at) not in labelled:
                labelled.add((limit.side, limit.at))
                words = f"{set_value(limit.at)} {'at most' if limit.side == 'high' else 'at least'}"
                layout["annotations"].append(
                    _text(words, x1, limit.at, colours["out"], xref="x", yref=axis, xanchor="right",
                          yanchor="bottom" if limit.side == "high" else "top")
                )  # fmt: skip


def _steps(layout: dict[str, Any], steps: list[PastStep], period: tuple[int, int], colours: dict[str, str]) -> None:
    for row, step in enumerate(s for s in steps if s.painting is not None):
        for at_ms in (step.from_ms, step.to_ms):
            if at_ms is not None and period[0] <= at_ms <= period[1]:
                layout["shapes"].append(
                    {"type": "line", "x0": at_ms, "x1": at_ms, "y0": 0, "y1": 1, "xref": "x", "yref": "paper",
                     "line": {"color": colours["soft"], "width": 1, "dash": "dot"}}
                )  # fmt: skip
        if step.from_ms <= period[1] and (step.to_ms is None or step.to_ms >= period[0]):
            x = max(step.from_ms, period[0])
            late = x > period[0] + 0.7 * (period[1] - period[0])
            layout["annotations"].append(
                _text(f"{step.painting}: {step.title}", x, 1, colours["soft"], xref="x", yanchor="bottom",
                      xanchor="right" if late else "left", yshift=_NAME_ROWS_PX[row % 2])
            )  # fmt: skip
