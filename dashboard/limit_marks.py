"""A limit asked about, drawn on the chart that is there: its level, and washes where it would have warned."""

from __future__ import annotations

from typing import Any

from dashboard.chart import LIGHTS
from monitor.bench.quantities import split_channel
from monitor.bench.sheets import Limit

Shape = dict[str, Any]
_WASH = {"day": "rgba(163,39,15,0.12)", "dim": "rgba(240,131,107,0.18)"}


def marks(
    limit: Limit, channel: str, drawn: list[str], rows: list[dict[str, Any]], period: tuple[int, int], light: str
) -> list[Shape]:
    """Give the chart's shapes; none where the channel is not drawn.

    Args:
        rows: warnings and their ends in order, `at_ms` and `event` each; a last one without an end lasts on.
    """
    if channel not in drawn:
        return []
    quantities = list(dict.fromkeys(split_channel(name)[1] for name in drawn))
    place = quantities.index(limit.quantity)
    axis = "y" if place == 0 else f"y{place + 1}"
    at = limit.levels[0].at
    level = {
        "type": "line", "x0": period[0], "x1": period[1], "y0": at, "y1": at, "xref": "x", "yref": axis,
        "line": {"color": LIGHTS[light]["out"], "width": 1.6, "dash": "dash"},
    }  # fmt: skip
    return [level, *(_wash(begin, end, axis, light) for begin, end in stretches(rows, period[1]))]


def stretches(rows: list[dict[str, Any]], to_ms: int) -> list[tuple[int, int]]:
    """Give from when to when it would have warned."""
    found: list[tuple[int, int]] = []
    began: int | None = None
    for row in rows:
        if row["event"] == "raise":
            began = row["at_ms"] if began is None else began
        elif began is not None:
            found.append((began, row["at_ms"]))
            began = None
    return found if began is None else [*found, (began, to_ms)]


def _wash(begin: int, end: int, axis: str, light: str) -> Shape:
    return {
        "type": "rect", "x0": begin, "x1": end, "y0": 0, "y1": 1, "xref": "x", "yref": f"{axis} domain",
        "fillcolor": _WASH[light], "line": {"width": 0}, "layer": "below",
    }  # fmt: skip
