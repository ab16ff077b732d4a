"""A chart: strips over one another on one time axis; never two quantities in one field."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo

from monitor.report.figures_svg.scale import Scale, time_ticks
from monitor.report.figures_svg.strip import Span, Strip, draw_strip
from monitor.report.figures_svg.svg import INK, LINE, SOFT, Drawing

LEFT, RIGHT = 26.0, 62.0
TITLE, BETWEEN, FOOT = 19.0, 6.0, 9.0


@dataclass(frozen=True)
class Chart:
    """Strips over a period.

    Attributes:
        from_ms, to_ms: the period, UTC ms.
        strips: from top to bottom.
        stages: instants with a word, drawn as upright hairlines through all strips.
        says: what the chart shows, in words.
        width: points.
        zone: in which the axis is written.
    """

    from_ms: int
    to_ms: int
    strips: Sequence[Strip]
    says: str
    stages: Sequence[Span] = ()
    width: float = 500
    zone: tzinfo = UTC


def draw_chart(chart: Chart) -> str:
    """Draw a chart as SVG text."""
    height = FOOT + sum(TITLE + strip.height + BETWEEN for strip in chart.strips)
    on = Drawing(chart.width, height, chart.says)
    time = Scale(chart.from_ms, chart.to_ms, LEFT, chart.width - RIGHT)
    marks, step = time_ticks(chart.from_ms, chart.to_ms)
    top = 0.0
    for strip in chart.strips:
        top += TITLE
        for mark in marks:
            on.line(time(mark), top, time(mark), top + strip.height, LINE, 0.35)
        on.text(0, top - 11, strip.title, 8, INK, weight="600")
        draw_strip(on, strip, time, top)
        _stages(on, chart, time, top, strip.height)
        top += strip.height + BETWEEN
    for mark in marks:
        on.text(time(mark), top + 4, _label(mark, step, chart.zone), 7.5, SOFT, "middle")
    return on.write()


def _stages(on: Drawing, chart: Chart, time: Scale, top: float, height: float) -> None:
    for stage in chart.stages:
        on.line(time(stage.from_ms), top - 8, time(stage.from_ms), top + height, SOFT, 0.7, "1 2")


def _label(at_ms: int, step_ms: int, zone: tzinfo) -> str:
    stamp = datetime.fromtimestamp(at_ms / 1000, zone)
    if step_ms >= 86_400_000:
        return f"{stamp.day} {stamp:%b}"
    return f"{stamp:%H:%M:%S}" if step_ms < 60_000 else f"{stamp:%H:%M}"
