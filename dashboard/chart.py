"""The chart of Look back, as the chart library's plain specification.

One strip a quantity on a common time axis; readings in ink over a wash from lowest to highest,
gaps left open; limits as hairlines labelled at their end, vermilion only where they were passed;
passes as washes with their place. Times are UTC ms; the page moves them to the browser's time
and writes the time axis before drawing.
"""

from __future__ import annotations

from typing import Any

from dashboard.chart_lines import Drawn, line_of, over, wash_of
from dashboard.past import Pass, PastLimit, PastStep
from dashboard.words import set_value
from monitor.bench.quantities import QUANTITIES, split_channel

__all__ = ["Drawn", "spec"]

_DASHES = ("solid", "dot", "dash", "dashdot")
_STRIP_PX = 220
_GAP = 0.13
_ROW_PX = 22  # place numbers stand right above their strip, its name above them
_NAME_ROWS_PX = (46, 66)  # names of steps stand above the strips, in turn on two rows
_HAIR = 0.8

LIGHTS: dict[str, dict[str, str]] = {
    "day": {"ink": "#23272B", "soft": "#5B6168", "line": "#CFC9BC", "wash": "rgba(29,75,115,0.16)",
            "pass": "rgba(35,39,43,0.07)", "out": "#A3270F", "paper": "#FBFAF6", "ground": "rgba(243,240,233,0.8)"},
    "dim": {"ink": "#D9D5CB", "soft": "#9A978F", "line": "#3A3E42", "wash": "rgba(127,176,216,0.22)",
            "pass": "rgba(217,213,203,0.09)", "out": "#F0836B", "paper": "#1F2225", "ground": "rgba(23,25,27,0.8)"},
}  # fmt: skip

Period = tuple[int, int]
Shape = dict[str, Any]


def spec(drawn: list[Drawn], steps: list[PastStep], passes: list[Pass], period: Period, light: str) -> dict[str, Any]:
    """Build data and layout for the channels over a period."""
    colours = LIGHTS[light]
    quantities = list(dict.fromkeys(split_channel(d.channel)[1] for d in drawn))
    layout = _layout(quantities, period, colours)
    data: list[dict[str, Any]] = []
    for index, quantity in enumerate(quantities):
        axis = _axis(index)
        here = [d for d in drawn if split_channel(d.channel)[1] == quantity]
        _passes(layout, passes, here, axis, period, colours)
        for rank, one in enumerate(here):
            data += _traces(one, axis, _DASHES[rank % len(_DASHES)], colours)
            _name_at_end(layout, one, axis, colours)
        _limits(layout, here, steps, axis, period, colours)
    _steps(layout, steps, period, colours)
    return {"data": data, "layout": layout}


def _axis(index: int) -> str:
    return "y" if index == 0 else f"y{index + 1}"


def _layout(quantities: list[str], period: Period, colours: dict[str, str]) -> dict[str, Any]:
    count = max(1, len(quantities))
    height = (1 - _GAP * (count - 1)) / count
    layout: dict[str, Any] = {
        "paper_bgcolor": "rgba(0,0,0,0)", "plot_bgcolor": "rgba(0,0,0,0)", "showlegend": False,
        "height": 146 + _STRIP_PX * count, "margin": {"l": 40, "r": 96, "t": 96, "b": 50},
        "font": {"family": "system-ui, sans-serif", "size": 16, "color": colours["soft"]},
        "hovermode": "closest", "dragmode": False, "shapes": [], "annotations": [],
        "hoverlabel": {"bgcolor": colours["paper"], "bordercolor": colours["line"],
                       "font": {"color": colours["ink"], "size": 16}},
        "xaxis": {"type": "date", "range": list(period), "showgrid": False, "showline": False, "ticks": "outside",
                  "ticklen": 7, "tickwidth": _HAIR, "tickcolor": colours["soft"], "fixedrange": True,
                  "hoverformat": "%H:%M:%S", "anchor": _axis(count - 1)},
    }  # fmt: skip
    for index, quantity in enumerate(quantities):
        top = 1 - index * (height + _GAP)
        known = QUANTITIES[quantity]
        layout["yaxis" + ("" if index == 0 else str(index + 1))] = {
            "domain": [max(0.0, round(top - height, 4)), round(top, 4)], "gridcolor": colours["line"],
            "gridwidth": _HAIR, "zeroline": False, "showline": False, "fixedrange": True, "nticks": 5,
        }  # fmt: skip
        name = f"{known.words}, {known.symbol}"
        shift = _ROW_PX if quantity == "tool_temperature" else 4
        layout["annotations"].append(_text(name, 0, round(top, 4), colours["ink"], yshift=shift, yanchor="bottom"))
    return layout


def _text(text: str, x: float, y: float, colour: str, **more: Any) -> dict[str, Any]:  # noqa: ANN401
    plain = {"text": text, "x": x, "y": y, "xref": "paper", "yref": "paper", "xanchor": "left", "showarrow": False,
             "font": {"color": colour, "size": 16}}  # fmt: skip
    return {**plain, **more}


def _traces(one: Drawn, axis: str, dash: str, colours: dict[str, str]) -> list[dict[str, Any]]:
    probe, quantity = split_channel(one.channel)
    known = QUANTITIES[quantity]
    line_x, line_y = line_of(one.buckets)
    wash_x, wash_y = wash_of(one.buckets)
    wash = {
        "type": "scatter", "x": wash_x, "y": wash_y, "yaxis": axis, "mode": "lines", "fill": "toself",
        "line": {"width": 0}, "fillcolor": colours["wash"], "hoverinfo": "skip",
        "name": f"{probe}, lowest to highest",
    }  # fmt: skip
    line = {
        "type": "scatter", "x": line_x, "y": line_y, "yaxis": axis, "mode": "lines", "connectgaps": False,
        "line": {"color": colours["ink"], "width": 1.8, "dash": dash, "shape": "linear"}, "name": probe,
        "hovertemplate": f"{probe} %{{y:.1f}} {known.symbol}, %{{x}}<extra></extra>",
    }  # fmt: skip
    return [wash, line]


def _name_at_end(layout: dict[str, Any], one: Drawn, axis: str, colours: dict[str, str]) -> None:
    last = next((b.last for b in reversed(one.buckets) if b.last is not None), None)
    if last is not None:
        name = split_channel(one.channel)[0]
        layout["annotations"].append(_text(name, 1, last, colours["ink"], yref=axis, xshift=6))


def _line(x: tuple[float, float], y: tuple[float, float], axis: str, colour: str, width: float, **more: str) -> Shape:
    return {"type": "line", "x0": x[0], "x1": x[1], "y0": y[0], "y1": y[1], "xref": "x", "yref": axis,
            "line": {"color": colour, "width": width, **more}}  # fmt: skip


def _limits(
    layout: dict[str, Any], here: list[Drawn], steps: list[PastStep], axis: str, period: Period,
    colours: dict[str, str],
) -> None:  # fmt: skip
    """Draw each limit for as long as it was in force; its passed stretches above it in vermilion."""
    labelled: set[tuple[str, float]] = set()
    buckets = {d.channel: d.buckets for d in here}
    for step in steps:
        x0, x1 = max(period[0], step.from_ms), min(period[1], step.to_ms or period[1])
        for limit in step.limits:
            if limit.channel not in buckets or x0 >= x1:
                continue
            line = _line((x0, x1), (limit.at, limit.at), axis, colours["ink"], _HAIR)
            if line not in layout["shapes"]:
                layout["shapes"].append(line)
                for a, b in over(buckets[limit.channel], limit.side, limit.at, (x0, x1)):
                    layout["shapes"].append(_line((a, b), (limit.at, limit.at), axis, colours["out"], 2.5))
            if (limit.side, limit.at) not in labelled:
                labelled.add((limit.side, limit.at))
                layout["annotations"].append(_limit_label(limit, x1, axis, colours))


def _limit_label(limit: PastLimit, x1: int, axis: str, colours: dict[str, str]) -> dict[str, Any]:
    words = f"{set_value(limit.at)} {'at most' if limit.side == 'high' else 'at least'}"
    anchor = "bottom" if limit.side == "high" else "top"
    return _text(words, x1, limit.at, colours["soft"], xref="x", yref=axis, xanchor="right", yanchor=anchor,
                 bgcolor=colours["ground"], borderpad=0)  # fmt: skip


def _passes(
    layout: dict[str, Any], passes: list[Pass], here: list[Drawn], axis: str, period: Period, colours: dict[str, str]
) -> None:
    """Lay a wash behind the tool's curve for each pass, with the number of its place."""
    for one in passes:
        if f"{one.probe}.tool_temperature" not in {d.channel for d in here}:
            continue
        x0, x1 = max(one.from_ms, period[0]), min(one.to_ms or period[1], period[1])
        layout["shapes"].append(
            {"type": "rect", "x0": x0, "x1": x1, "y0": 0, "y1": 1, "xref": "x", "yref": f"{axis} domain",
             "fillcolor": colours["pass"], "line": {"width": 0}, "layer": "below"}
        )  # fmt: skip
        layout["annotations"].append(
            _text(str(one.place), (x0 + x1) / 2, 1, colours["soft"], xref="x", yref=f"{axis} domain",
                  xanchor="center", yanchor="bottom")
        )  # fmt: skip


def _steps(layout: dict[str, Any], steps: list[PastStep], period: Period, colours: dict[str, str]) -> None:
    for row, step in enumerate(s for s in steps if s.painting is not None):
        for at_ms in (step.from_ms, step.to_ms):
            if at_ms is not None and period[0] <= at_ms <= period[1]:
                layout["shapes"].append(_line((at_ms, at_ms), (0, 1), "paper", colours["soft"], _HAIR))
        if step.from_ms <= period[1] and (step.to_ms is None or step.to_ms >= period[0]):
            x = max(step.from_ms, period[0])
            late = x > period[0] + 0.7 * (period[1] - period[0])
            layout["annotations"].append(
                _text(f"{step.painting}: {step.title}", x, 1, colours["soft"], xref="x", yanchor="bottom",
                      xanchor="right" if late else "left", yshift=_NAME_ROWS_PX[row % 2])
            )  # fmt: skip
