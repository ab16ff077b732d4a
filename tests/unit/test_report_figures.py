"""Figures as SVG: well-formed, nothing lost, gaps open, the same bytes twice."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.report.figures_svg.chart import LEFT, RIGHT, TITLE, Chart, draw_chart
from monitor.report.figures_svg.rule import Rule, draw_rule_head, draw_rule_row, rule_ends
from monitor.report.figures_svg.scale import Scale, round_ends, ticks, time_ticks
from monitor.report.figures_svg.seam import SHAPES, draw_seam
from monitor.report.figures_svg.strip import Curve, LimitLine, Span, Strip, runs, value_range
from monitor.report.figures_svg.svg import OUT, PAPER, Drawing

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "</text><script>alert(1)</script> & \" ' \x01 \u202e #set page() \U0001f58c"


@dataclass(frozen=True)
class B:
    """A bucket of an envelope."""

    from_ms: int
    to_ms: int
    low: float | None
    high: float | None
    gaps: int = 0


def level(at_ms: int, value: float, spread: float = 0.0) -> B:
    return B(at_ms, at_ms + 999, value - spread, value + spread)


def chart_of(buckets: list[B], limits: list[LimitLine] | None = None, title: str = "tool temperature, °C") -> Chart:
    strip = Strip(title, [Curve("spatula", buckets)], limits or [])
    return Chart(buckets[0].from_ms, buckets[-1].to_ms, [strip], "a chart")


def envelopes(drawn: str) -> list[list[tuple[float, float]]]:
    """Give the corner points of every piece of curve."""
    found = []
    for path in ElementTree.fromstring(drawn).iter(f"{SVG}path"):
        if path.get("class") == "envelope":
            found.append([(float(x), float(y)) for x, y in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", path.attrib["d"])])
    return found


def test_one_reading_that_jumps_out_reaches_its_height_on_paper() -> None:
    buckets = [level(i * 1000, 70.0) for i in range(1200)]
    buckets[777] = B(777_000, 777_999, 70.0, 91.3)
    chart = chart_of(buckets)
    drawn = draw_chart(chart)
    low, high, _ = value_range(chart.strips[0])
    up = Scale(low, high, TITLE + 90, TITLE)
    assert min(y for piece in envelopes(drawn) for _, y in piece) == pytest.approx(up(91.3), abs=0.01)


@given(st.lists(st.tuples(st.floats(-40, 200), st.floats(0, 30)), min_size=2, max_size=60))
def test_every_bucket_is_drawn_from_its_low_to_its_high(values: list[tuple[float, float]]) -> None:
    buckets = [B(i * 1000, i * 1000 + 999, low, low + more) for i, (low, more) in enumerate(values)]
    chart = chart_of(buckets)
    low, high, _ = value_range(chart.strips[0])
    up, time = Scale(low, high, TITLE + 90, TITLE), Scale(0, buckets[-1].to_ms, LEFT, chart.width - RIGHT)
    points = {(x, y) for piece in envelopes(draw_chart(chart)) for x, y in piece}
    for bucket in buckets:
        x = time((bucket.from_ms + bucket.to_ms) / 2)
        here = [y for at, y in points if abs(at - x) < 0.011]
        assert bucket.low is not None
        assert bucket.high is not None
        assert max(here) == pytest.approx(up(bucket.low), abs=0.011)
        assert min(here) == pytest.approx(up(bucket.high), abs=0.011)


def test_a_gap_stays_open_and_says_so() -> None:
    buckets = [level(i * 1000, 70.0) for i in range(300)]
    buckets[100:180] = [B(i * 1000, i * 1000 + 999, None, None, gaps=5) for i in range(100, 180)]
    drawn = draw_chart(chart_of(buckets))
    before, after = envelopes(drawn)
    assert max(x for x, _ in before) < min(x for x, _ in after)
    assert "no reading" in drawn


def test_nothing_stored_is_a_gap_too() -> None:
    buckets = [level(i * 1000, 70.0) for i in [*range(100), *range(160, 300)]]
    assert [len(run) for run in runs(buckets)] == [100, 140]


def test_a_bucket_with_some_gaps_keeps_its_values_and_opens_the_curve() -> None:
    buckets: list[B] = [level(i * 1000, 70.0, 1.0) for i in range(10)]
    buckets[4] = B(4000, 4999, 69.0, 88.0, gaps=2)
    pieces = runs(buckets)
    assert [len(run) for run in pieces] == [5, 5]
    assert pieces[0][-1].high == 88.0


def test_no_curve_lies_on_the_edge_of_its_field() -> None:
    low, high, _ = value_range(chart_of([level(0, 60.0), level(1000, 90.0)]).strips[0])
    assert low < 60.0
    assert high > 90.0


def test_a_lone_bucket_between_gaps_is_still_seen() -> None:
    gap = [B(i * 1000, i * 1000 + 999, None, None, gaps=1) for i in range(10)]
    gap[5] = B(5000, 5999, 60.0, 90.0)
    (piece,) = envelopes(draw_chart(chart_of(gap)))
    low, high, _ = value_range(chart_of(gap).strips[0])
    up = Scale(low, high, TITLE + 90, TITLE)
    assert [min(y for _, y in piece), max(y for _, y in piece)] == pytest.approx([up(90.0), up(60.0)], abs=0.01)


def test_limits_are_lines_labelled_in_words_that_do_not_overlap() -> None:
    limits = [LimitLine(80.0, "80 at most", False), LimitLine(80.5, "80.5 at most", True)]
    root = ElementTree.fromstring(draw_chart(chart_of([level(0, 20.0), level(1000, 90.0)], limits)))
    at = [float(t.attrib["y"]) for t in root.iter(f"{SVG}text") if t.text and t.text.endswith("at most")]
    assert len(at) == 2
    assert all(abs(a - b) >= 8 for a, b in pairwise(at))


def test_a_bar_beyond_a_level_lies_on_it_for_its_own_time_and_is_told_from_the_line_without_colour() -> None:
    limits = [LimitLine(60.0, "60 at most", False), LimitLine(65.0, "65 at most", True)]
    spans = [Span(100_000, 800_000, at=60.0), Span(300_000, 500_000, at=65.0)]
    strip = Strip("t", [Curve("room", [level(0, 50.0), level(1_000_000, 70.0)])], limits, outside=spans)
    root = ElementTree.fromstring(draw_chart(Chart(0, 1_000_000, [strip], "a chart")))
    low, high, _ = value_range(strip)
    up, time = Scale(low, high, TITLE + 90, TITLE), Scale(0, 1_000_000, LEFT, 500 - RIGHT)
    bars = [r for r in root.iter(f"{SVG}rect") if r.get("stroke")]
    assert {r.get("fill") for r in bars} == {PAPER}
    for bar, span in zip(bars, spans, strict=True):
        x, y, wide, tall = (float(bar.attrib[k]) for k in ("x", "y", "width", "height"))
        assert (x, x + wide) == pytest.approx((time(span.from_ms), time(span.to_ms)), abs=0.02)
        assert y + tall / 2 == pytest.approx(up(span.at or 0), abs=0.02)
        hatches = [s for s in root.iter(f"{SVG}line") if s.get("stroke") == OUT and float(s.attrib["x1"]) >= x - 0.01]
        assert len(hatches) > 10


def test_contacts_are_washed_and_numbered_and_no_label_covers_another() -> None:
    spans = [Span(i * 2000, i * 2000 + 1500, str(i + 1)) for i in range(200)]
    strip = Strip("t", [Curve("spatula", [level(0, 20), level(400_000, 21)])], contacts=spans)
    root = ElementTree.fromstring(draw_chart(Chart(0, 400_000, [strip], "a chart")))
    washes = [r for r in root.iter(f"{SVG}rect") if r.get("fill") == "#E4DFD3"]
    labels = [float(t.attrib["x"]) for t in root.iter(f"{SVG}text") if t.get("font-size") == "7"]
    assert len(washes) == 200
    assert len(labels) > 10
    assert all(b - a >= 4 for a, b in pairwise(labels))


def test_two_short_contacts_close_together_are_both_numbered_where_the_numbers_fit() -> None:
    strip = Strip("t", [Curve("spatula", [level(0, 20), level(412_000, 21)])],
                  contacts=[Span(100_000, 101_000, "10"), Span(108_000, 109_000, "11")])  # fmt: skip
    root = ElementTree.fromstring(draw_chart(Chart(0, 412_000, [strip], "a chart")))
    assert [t.text for t in root.iter(f"{SVG}text") if t.get("font-size") == "7"] == ["10", "11"]


def test_empty_strip_is_drawn_as_an_empty_field() -> None:
    drawn = draw_chart(Chart(0, 60_000, [Strip("tool temperature, °C", [Curve("spatula", [])])], "a chart"))
    assert envelopes(drawn) == []


def test_words_stay_words() -> None:
    drawn = draw_chart(chart_of([level(0, 1.0), level(1000, 2.0)], title=HOSTILE))
    root = ElementTree.fromstring(drawn)
    assert root.find(f".//{SVG}script") is None
    assert HOSTILE.replace("\x01", "\ufffd") in [t.text for t in root.iter(f"{SVG}text")]


def test_the_same_chart_is_the_same_bytes() -> None:
    buckets = [level(i * 1000, 70 + i % 7) for i in range(500)]
    assert draw_chart(chart_of(buckets)) == draw_chart(chart_of(list(buckets)))


@given(st.floats(-1e4, 1e4), st.floats(0, 1e4))
def test_round_ends_hold_the_range(low: float, span: float) -> None:
    start, end, step = round_ends(low, low + span)
    slack = step * 1e-6
    assert start <= low + slack
    assert end >= low + span - slack
    marks = ticks(start, end, step)
    assert 2 <= len(marks) <= 14
    assert marks[-1] == pytest.approx(end)


@given(st.integers(0, 2_000_000_000_000), st.integers(1, 10**11))
def test_time_ticks_are_few_whole_and_inside(from_ms: int, span_ms: int) -> None:
    marks, step = time_ticks(from_ms, from_ms + span_ms)
    assert len(marks) <= 9
    assert all(from_ms <= mark <= from_ms + span_ms and mark % step == 0 for mark in marks)


def test_each_verdict_has_a_shape_of_its_own() -> None:
    shapes = set()
    for verdict in SHAPES:
        root = ElementTree.fromstring(draw_seam({1: verdict}, 1))
        shapes.add(tuple((e.tag, e.get("d"), e.get("r"), e.text) for e in root.iter() if e.tag != f"{SVG}title"))
    assert len(shapes) == len(SHAPES)


def test_the_seam_numbers_every_place_and_wraps() -> None:
    root = ElementTree.fromstring(draw_seam({}, 60))
    assert [t.text for t in root.iter(f"{SVG}text")] == [str(n) for n in range(1, 61)]
    assert all(0 <= float(t.attrib["x"]) <= 500 for t in root.iter(f"{SVG}text"))


def test_a_verdict_of_a_later_version_is_drawn_as_not_known() -> None:
    assert draw_seam({1: "something else"}, 1).count("?") == 1


def test_the_rule_shows_frame_band_and_bar() -> None:
    low, high = rule_ends([58.0, 62.0, 66.0, 65.0, 75.0])
    assert low < 58
    assert high > 75
    drawn = draw_rule_row(Rule(low, high, 65, 75, (58.0, 62.0, 66.0)))
    assert "estimate 58 to 66, most likely 62" in drawn
    head = ElementTree.fromstring(draw_rule_head(Rule(low, high, 65, 75)))
    assert {"65 at least", "75 at most"} <= {t.text for t in head.iter(f"{SVG}text")}


@pytest.mark.parametrize(("least", "most"), [(70.0, 76.0), (21.0, 22.0), (78.0, 79.0), (40.0, 60.0)])
def test_both_limits_over_a_rule_can_be_read(least: float, most: float) -> None:
    root = ElementTree.fromstring(draw_rule_head(Rule(20, 80, least, most)))
    told = {t.text: float(t.attrib["x"]) for t in root.iter(f"{SVG}text") if t.text and " at " in t.text}
    assert told[f"{least:g} at least"] < told[f"{most:g} at most"]
    assert told[f"{most:g} at most"] + 3.25 * len(f"{most:g} at most") <= 128.01


def test_figures_of_a_rule_stay_inside_its_picture() -> None:
    root = ElementTree.fromstring(draw_rule_head(Rule(20, 80)))
    told = {t.text: t.get("text-anchor") for t in root.iter(f"{SVG}text")}
    assert told == {"20": "start", "40": "middle", "60": "middle", "80": "end"}


def test_a_rule_without_figures_of_the_film_has_no_frame() -> None:
    root = ElementTree.fromstring(draw_rule_row(Rule(40, 80, None, None, (50, 55, 60))))
    assert len(list(root.iter(f"{SVG}rect"))) == 1


def test_coordinates_are_short() -> None:
    on = Drawing(10, 10, "lines")
    on.line(1 / 3, -0.0001, 2, 3)
    assert 'x1="0.33" y1="0"' in on.write()
