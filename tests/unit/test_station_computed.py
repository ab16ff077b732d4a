"""What the view tells of computed values: the number, from what, what was set, and when it is not known."""

from __future__ import annotations

from typing import Any

import pytest

from monitor.bench.readings import Quality
from monitor.station.words import figure
from tests.support import tents
from tests.support.folds import OFFSET_MS, asked, limit
from tests.support.tent_view import step, view, work
from tests.support.tents import AIR_C, AIR_RH, AT_CANVAS, REVERSE_C, climate, damp, levels, read

MARGIN = damp("near", quantity="dew_point_margin", side="low", levels=levels(3.0), deadband=0.5)
TOLD = "computed: the air of tent at reverse's temperature"


def test_a_computed_value_stands_beside_its_limit_and_says_from_what() -> None:
    fold = work(damp(), MARGIN)
    climate(fold, 1000, 3000, 20.0, 75.0, 18.0)
    here = step(fold)
    canvas, margin = here["computed"]
    assert canvas == {
        "channel": AT_CANVAS, "quantity": "humidity_at_canvas", "words": "humidity at the canvas", "symbol": "%",
        "unit": "%RH", "value": 85.0, "at_ms": 3000 + OFFSET_MS, "quality": "good", "told": TOLD, "limits": ["damp"],
    }  # fmt: skip
    assert (margin["value"], margin["told"]) == (2.6, "computed: reverse less the dew point of tent")
    assert [x["channels"] for x in here["limits"]] == [[AT_CANVAS], ["reverse.dew_point_margin"]]
    assert here["say"]["facts"][-2:] == [
        ["humidity at the canvas", f"85 %; {TOLD}"],
        ["margin to the dew point", "2.6 °C; computed: reverse less the dew point of tent"],
    ]


def test_a_standing_warning_names_painting_place_value_and_what_it_is_computed_from() -> None:
    fold = work(damp(), MARGIN)
    climate(fold, 1000, 8000, 20.0, 75.0, 18.0)
    said = {w["limit"]: w["sentence"] for w in view(fold)["warnings"]}
    assert said == {
        "damp": f"Two boats drying, north: humidity at the canvas at reverse is 85 % ({TOLD}); you set at most 78 %.",
        "near": "Two boats drying, north: margin to the dew point at reverse is 2.6 °C "
        "(computed: reverse less the dew point of tent); you set at least 3 °C.",
    }
    assert step(fold)["say"]["sentence"] == "Wait: humidity at the canvas 85 %, 78 % at most."


@pytest.mark.parametrize("lost", [AIR_C, AIR_RH, REVERSE_C])
@pytest.mark.parametrize("silent", [True, False])
def test_with_an_input_lost_it_is_not_known_and_no_old_number_is_shown(lost: str, silent: bool) -> None:
    fold = work(damp())
    climate(fold, 1000, 8000, 20.0, 75.0, 18.0)
    for now in range(8500, 20_000, 500):
        for channel, value in ((REVERSE_C, 18.0), (AIR_C, 20.0), (AIR_RH, 75.0)):
            if channel != lost or not silent:
                fold.feed(read(now, channel, None if channel == lost else value))
    (computed,) = step(fold)["computed"]
    assert (computed["value"], computed["quality"]) == (None, "not known")
    (warning,) = view(fold)["warnings"]
    assert warning["sentence"] == (
        "Two boats drying, north: humidity at the canvas at reverse was last outside what you set "
        "(you set at most 78 %); now it is not known."
    )
    assert (warning["words"], warning["held_back"]) == ("held back: its probe gives no reading", True)
    assert ["humidity at the canvas", f"not known; {TOLD}"] in step(fold)["say"]["facts"]


def test_before_any_reading_and_with_an_input_out_of_use_it_is_not_known() -> None:
    wet = limit("wet", role="tent", quantity="relative_humidity", levels=levels(95.0))
    fold = work(damp(), wet)
    assert step(fold)["computed"][0]["value"] is None
    climate(fold, 1000, 3000, 20.0, 75.0, 18.0)
    assert step(fold)["computed"][0]["value"] == 85.0
    key: dict[str, Any] = {"step": "s1", "limit": "wet", "channel": AIR_RH}
    fold.feed(asked(3100, "out_of_service_asked", **key, reason="at the maker's"))
    assert step(fold)["computed"][0]["value"] is None


def test_a_bound_is_called_a_bound() -> None:
    fold = work(damp())
    for now in range(1000, 8001, 500):
        for channel, value in ((REVERSE_C, 18.0), (AIR_C, 20.0), (AIR_RH, 100.0)):
            fold.feed(read(now, channel, value, Quality.CLIPPED if channel == AIR_RH else Quality.GOOD))
    (computed,) = step(fold)["computed"]
    assert (computed["value"], computed["quality"]) == (113.3, "clipped")
    assert "humidity at the canvas at reverse is at least 113 %" in view(fold)["warnings"][0]["sentence"]


def test_a_stage_that_does_not_judge_it_does_not_list_it() -> None:
    fold = work(damp())
    climate(fold, 1000, 3000, 20.0, 75.0, 18.0)
    fold.feed(asked(3100, "stage_asked", step="s1", stage="rest"))
    assert [word for word, _ in step(fold)["say"]["facts"]] == ["tent", "reverse"]
    assert step(fold)["limits"][0]["off"]


def test_several_probes_on_the_surface_are_told_apart() -> None:
    fold = work(damp(), bindings=[*tents.BOUND, tents.bound("reverse", tents.EDGE_C)])
    facts = [word for word, _ in step(fold)["say"]["facts"]]
    assert facts[-2:] == ["humidity at the canvas at reverse", "humidity at the canvas at edge"]


def test_small_differences_are_written_with_one_decimal_and_never_as_minus_nothing() -> None:
    assert [figure("painting_minus_air", v) for v in (-2.0, -0.04, 0.3)] == ["-2.0 °C", "0.0 °C", "0.3 °C"]
    assert figure("humidity_at_canvas", 84.97) == "85 %"
