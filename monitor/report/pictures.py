"""The report's pictures, made from the store: the chart, the seam and the rules of the table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.report.computed import buckets_of, computed_values
from monitor.report.excursions import Excursion
from monitor.report.figures_svg.chart import Chart, draw_chart
from monitor.report.figures_svg.rule import Rule, draw_rule_head, draw_rule_row, rule_ends
from monitor.report.figures_svg.seam import draw_seam
from monitor.report.figures_svg.strip import Curve, LimitLine, Span, Strip
from monitor.report.limits import InForce, drawn_quantities
from monitor.report.passes import PassRow, last_verdicts
from monitor.report.record import StepRecord
from monitor.report.selection import Selection
from monitor.report.words import When

if TYPE_CHECKING:
    from monitor.store.store import Store

POINTS = 1800
AT_CANVAS = "humidity_at_canvas"
"""Of what is computed it is drawn: the one figure that a humidification is judged by."""
FIRST_HEIGHT, NEXT_HEIGHT = 74.0, 54.0


def chart_svg(
    store: Store, record: StepRecord, selection: Selection, limits: list[InForce], beyond: list[Excursion], when: When
) -> str:
    """Draw the chart of a step: one strip for each quantity shown."""
    drawn = drawn_quantities(selection)
    curves = {quantity: _curves(store, quantity, selection) for quantity in drawn}
    canvas = _computed_curves(store, selection, limits)
    if canvas:
        drawn, curves[AT_CANVAS] = [AT_CANVAS, *drawn], canvas
    strips = [
        _strip(quantity, curves[quantity], index, record, selection, limits, beyond)
        for index, quantity in enumerate(drawn)
    ]
    said = "; ".join(_said(strip) for strip in strips) or "no channel was bound"
    period = when.stretch(selection.from_ms, selection.to_ms)
    return draw_chart(Chart(selection.from_ms, selection.to_ms, strips, f"{period}: {said}", zone=when.zone))


def _curves(store: Store, quantity: str, selection: Selection) -> list[Curve]:
    channels = [c for c in selection.channels if split_channel(c)[1] == quantity]
    return [
        Curve(split_channel(c)[0], store.envelope(c, selection.from_ms, selection.to_ms, POINTS)) for c in channels
    ]


def _computed_curves(store: Store, selection: Selection, limits: list[InForce]) -> list[Curve]:
    made = dict.fromkeys(s for one in limits for s in one.computed if split_channel(s.channel)[1] == AT_CANVAS)
    ends = selection.from_ms, selection.to_ms
    return [
        Curve(split_channel(s.channel)[0], buckets_of(computed_values(store, s, selection), *ends, POINTS // 2))
        for s in made
    ]


def _strip(
    quantity: str, curves: list[Curve], index: int, record: StepRecord, selection: Selection, limits: list[InForce],
    beyond: list[Excursion],
) -> Strip:  # fmt: skip
    known = QUANTITIES[quantity]
    probes = ", ".join(curve.words for curve in curves) + (", computed" if known.derived else "")
    over = [
        Span(begin, end, at=one.limit.at)
        for one in beyond
        if one.limit.limit.quantity == quantity
        for begin, end in one.spells
    ]
    return Strip(
        title=f"{known.words}, {known.symbol} ({probes})",
        curves=curves,
        limits=_lines([one for one in limits if one.limit.quantity == quantity]),
        contacts=_contacts(record, selection) if quantity == "tool_temperature" else (),
        outside=list(dict.fromkeys(over)),
        height=NEXT_HEIGHT if index else FIRST_HEIGHT,
    )


def _lines(limits: list[InForce]) -> list[LimitLine]:
    """Draw each value once, firmly where it is the last level of any limit."""
    firm = {one.words for one in limits if one.level == len(one.limit.levels) - 1}
    return [LimitLine(at, words, words in firm) for words, at in {one.words: one.at for one in limits}.items()]


def _contacts(record: StepRecord, selection: Selection) -> list[Span]:
    return [
        Span(c.from_ms, c.to_ms if c.to_ms is not None else selection.to_ms, str(c.place))
        for c in record.contacts
        if c.from_ms is not None
    ]


def _said(strip: Strip) -> str:
    seen = [v for curve in strip.curves for b in curve.buckets for v in (b.low, b.high) if v is not None]
    span = f"from {min(seen):.1f} to {max(seen):.1f}" if seen else "no reading"
    return f"{strip.title}: {span}" + "".join(f", limit {limit.words}" for limit in strip.limits)


def seam_svg(record: StepRecord, rows: list[PassRow]) -> str:
    """Draw the seam of a step's side."""
    verdicts = last_verdicts(rows)
    return draw_seam(verdicts, max(record.places, len(verdicts)))


def rules_svg(sandwich: dict[str, Any] | None, rows: list[PassRow]) -> tuple[str, list[str]]:
    """Draw the head and one rule for each pass; empty texts where nothing is estimated."""
    bands = [row.band for row in rows if row.band is not None]
    if not bands:
        return "", ["" for _ in rows]
    least, most = degrees_of(sandwich, "min_c"), degrees_of(sandwich, "max_c")
    low, high = rule_ends([v for band in bands for v in band] + [v for v in (least, most) if v is not None])
    frame = Rule(low, high, least, most)
    return draw_rule_head(frame), [
        "" if row.band is None else draw_rule_row(Rule(low, high, least, most, row.band)) for row in rows
    ]


def degrees_of(sandwich: dict[str, Any] | None, key: str) -> float | None:
    """Give a temperature of a sandwich, degC, or None where none is set."""
    value = (sandwich or {}).get(key)
    return None if value is None else float(value)
