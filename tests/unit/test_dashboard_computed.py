"""Computed values on pages: the figure, what stands beside it, warnings, and what is said where nothing is known."""

from __future__ import annotations

import pytest

from dashboard.figure import Figure, figure
from dashboard.pages import Pages
from dashboard.sentences import sentence
from dashboard.warned import warned
from dashboard.words import reading, shown
from monitor.bench.readings import Quality
from monitor.bench.ticking import Fold
from monitor.link.view import View
from tests.support import tents
from tests.support.folds import asked
from tests.support.tent_view import view, work
from tests.support.tents import AIR_C, AIR_RH, REVERSE_C, climate, damp, levels, read

MARGIN = damp("near", quantity="dew_point_margin", side="low", levels=levels(3.0), deadband=0.5)
TOLD = "Computed: the air of tent at reverse's temperature."


def cooled(reverse_c: float | None = 18.0, rh: float = 75.0) -> Fold:
    fold = work(damp(), MARGIN)
    climate(fold, 1000, 8000, 20.0, rh, reverse_c)
    return fold


def told(shown: View) -> Figure:
    made = figure(shown, shown["steps"][0])
    assert made is not None
    return made


def test_the_humidity_at_the_canvas_is_the_figure_that_matters() -> None:
    one = told(view(cooled()))
    assert (one.label, one.low, one.high, one.symbol) == (
        "humidity at the canvas, computed at reverse",
        "85",
        "85",
        "%",
    )
    assert one.note == TOLD
    assert (one.judged, one.colour) == ("outside what you set", "out")
    assert one.beside == [
        "margin to the dew point 2.6 °C (set 3 at least)", "air 20 °C", "relative humidity 75 %", "surface 18 °C",
    ]  # fmt: skip
    assert one.rule_words == "85 %; at most 78 %"


def test_without_the_reverse_it_is_not_known_and_not_called_inside_or_outside() -> None:
    here = view(cooled(None))
    one = told(here)
    assert (one.low, one.gap, one.judged, one.note) == ("", "not known", "", TOLD)
    assert one.beside[0] == "margin to the dew point not known (set 3 at least)"
    html = Pages().part("bench_figure", figure=one, step=here["steps"][0])
    assert '<span class="gap">not known</span>' in html


def test_a_warning_says_from_what_its_value_is_computed() -> None:
    canvas, margin = warned(view(cooled()), {})
    assert canvas.sentence == f"Humidity at the canvas 85 %: over 78 for Two boats drying. {TOLD}"
    assert margin.sentence == (
        "Margin to the dew point 2.6 °C: under 3 for Two boats drying. Computed: reverse less the dew point of tent."
    )
    assert canvas.short == "Humidity at the canvas 85 %, over 78"
    fold = cooled()
    climate(fold, 8500, 12_000, 20.0, 75.0, None)
    assert warned(view(fold), {})[0].short == "Humidity at the canvas, now not known, over 78"


def test_a_bound_is_called_a_bound() -> None:
    fold = work(damp())
    for now in range(1000, 8001, 500):
        for channel, value in ((REVERSE_C, 18.0), (AIR_C, 20.0), (AIR_RH, 100.0)):
            fold.feed(read(now, channel, value, Quality.CLIPPED if channel == AIR_RH else Quality.GOOD))
    here = view(fold)
    assert reading(here["steps"][0]["computed"][0]) == "beyond 113 %"
    assert told(here).note.endswith("It is a bound: the humidity is beyond the end of the probe's scale.")


def test_a_stage_that_judges_nothing_computed_shows_what_is_measured() -> None:
    fold = cooled()
    fold.feed(asked(8100, "stage_asked", step="s1", stage="rest"))
    one = told(view(fold))
    assert (one.label, one.note) == ("surface temperature, measured", "")


def test_one_surface_in_two_airs_is_told_as_two_things() -> None:
    roles = {**tents.ROLES, "room": ("air_temperature",)}
    both = [damp(quantity="painting_minus_air", side="low", levels=levels(-1.0), on_delay_ms=0, key=key, role=key)
            for key in ("room", "tent")]  # fmt: skip
    fold = work(*both, roles=roles, bindings=[*tents.BOUND, tents.bound("room", tents.ROOM_C)])
    for now in (1000, 2000):
        for channel, value in ((REVERSE_C, 18.0), (tents.ROOM_C, 20.0), (AIR_C, 22.0)):
            fold.feed(read(now, channel, value))
    fold.pass_time(2500)
    assert sorted(one.sentence for one in warned(view(fold), {})) == [
        "Painting minus air -2.0 °C: under -1 for Two boats drying. Computed: reverse less the air of room.",
        "Painting minus air -4.0 °C: under -1 for Two boats drying. Computed: reverse less the air of tent.",
    ]


@pytest.mark.parametrize(
    ("value", "says"), [("2.60", "margin to the dew point (reverse) 2.6 °C"), (None, "(reverse) not known")]
)
def test_day_book_rows_of_computed_values_are_told(value: str | None, says: str) -> None:
    body = {"step": "s1", "limit": "near", "channel": "reverse.dew_point_margin", "quantity": "dew_point_margin",
            "side": "low", "at": "3", "value": value, "priority": "high", "source": "project", "grade": "proposal",
            "locator": ""}  # fmt: skip
    written = sentence({"kind": "alarm_raised", "body": body})
    assert says in written
    assert written.endswith("set: at least 3.0 °C (our proposal).")


def test_no_minus_nothing() -> None:
    assert [shown(v, "painting_minus_air") for v in (-0.04, -2.05, 0.0)] == ["0.0 °C", "-2.1 °C", "0.0 °C"]
