"""The one figure of the Bench: band or number, its colour, its note and where it is measured."""

from __future__ import annotations

import pytest

from dashboard.figure import figure
from dashboard.warned import warned
from tests.support import fake_scene


def test_an_estimate_is_a_band_and_a_measured_value_one_number() -> None:
    view = fake_scene.view()
    step = view["steps"][1]
    band = figure(view, step)
    assert band is not None
    assert (band.low, band.likely, band.high, band.label) == ("63", "66", "69", "at the adhesive, estimated")
    assert band.note == "Not yet tried on a mock-up: a band, and no verdict."
    step["estimates"] = []
    step["estimate_note"] = ""
    measured = figure(view, step)
    assert measured is not None
    assert (measured.low, measured.high, measured.likely) == ("78", "78", "")
    assert measured.label == "tool, measured at the shank"
    assert measured.rule.wash is None


def test_a_figure_outside_what_was_set_says_so() -> None:
    view = fake_scene.view()
    step = view["steps"][1]
    step["estimates"] = []
    view["probes"][1]["channels"][0]["value"] = 85.0
    at_the_limit = figure(view, step)
    view["probes"][1]["channels"][0]["value"] = 85.1
    beyond = figure(view, step)
    step["limits"][0]["off"] = True
    off = figure(view, step)
    assert [f.judged for f in (at_the_limit, beyond, off) if f] == ["", "outside what you set", ""]


def test_figure_and_warning_strip_of_one_severity_have_one_colour() -> None:
    view = fake_scene.view()
    step = view["steps"][1]
    step["estimates"] = []
    view["probes"][1]["channels"][0]["value"] = 88.0
    for priority, colour in (("high", "out"), ("medium", "near"), ("low", "near")):
        step["limits"][0]["levels"][0]["priority"] = priority
        told = figure(view, step)
        assert told is not None
        assert told.colour == colour
        assert warned(fake_scene.view(warnings=[fake_scene.warning(priority=priority)]), {})[0].colour == colour


def test_the_note_on_a_band_stands_with_a_band_only_and_a_lost_estimate_says_so() -> None:
    view = fake_scene.view()
    step = view["steps"][1]
    told = figure(view, step)
    assert told is not None
    assert "a band, and no verdict" in told.note
    step["estimates"] = []
    told = figure(view, step)
    assert told is not None
    assert told.note == ""
    step["estimate_note"] = "No estimate for this contact: readings of the tool or the room were missing."
    told = figure(view, step)
    assert told is not None
    assert told.note.startswith("No estimate for this contact")


def test_an_estimate_that_was_not_tried_is_never_judged() -> None:
    view = fake_scene.view()
    for band in view["steps"][1]["estimates"]:
        band.update({"p05": 90.0, "p50": 95.0, "p95": 99.0})
    told = figure(view, view["steps"][1])
    assert told is not None
    assert (told.judged, told.colour) == ("", "")


@pytest.mark.parametrize(
    ("touches", "label"),
    [
        ("clamped to the outside of the shank, above the sole", "tool, measured at the shank"),
        ("on the tool's housing", "tool, measured at the housing"),
        ("with a clip", "tool, measured (with a clip)"),
        ("not said", "tool, measured"),
    ],
)
def test_a_tool_s_figure_says_where_it_is_measured(touches: str, label: str) -> None:
    view = fake_scene.view()
    step = view["steps"][1]
    step["estimates"] = []
    step["bindings"][0]["touches"] = touches
    told = figure(view, step)
    assert told is not None
    assert told.label == label
