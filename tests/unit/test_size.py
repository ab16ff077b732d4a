"""Water in the size, its softening, and what a held canvas does: ranges, shapes, NaN, order of the steps."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.figures import Grade
from monitor.science import canvas, size
from monitor.science.size import CanvasBehaviour, Held, SizeState, canvas_behaviour, moisture_content_pct, size_state

TEMPS_C, RH_PCT = st.floats(15, 40), st.floats(5, 95)
STRESS_WORDS = ("MPa", "N/m", "N/cm", "stress")


@given(TEMPS_C, RH_PCT, RH_PCT)
def test_glue_holds_more_water_in_damper_air(temp_c: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert moisture_content_pct(temp_c, low) <= moisture_content_pct(temp_c, high) + 1e-12


@given(TEMPS_C, TEMPS_C, RH_PCT)
def test_warmer_glue_holds_no_more(one: float, other: float, rh_pct: float) -> None:
    cool, warm = sorted((one, other))
    assert moisture_content_pct(warm, rh_pct) <= moisture_content_pct(cool, rh_pct) + 1e-12


@given(st.floats(15, 25), RH_PCT)
def test_below_the_table_the_cooler_isotherm_stands_as_it_is(temp_c: float, rh_pct: float) -> None:
    assert moisture_content_pct(temp_c, rh_pct) == moisture_content_pct(25.0, rh_pct)


def test_what_that_may_leave_out_is_as_small_as_is_said() -> None:
    """On along the line from 40 to 25 degC: at 15 degC 0.2 to 1.1 up to 80 %RH, 2.5 at 90, 5.7 at 95."""
    rh = np.array([5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95], dtype=float)
    more = (moisture_content_pct(25.0, rh) - moisture_content_pct(40.0, rh)) * 10 / 15
    assert more[:9].min() > 0.2
    assert more[:9].max() < 1.1
    assert more[9:].round(1).tolist() == [2.5, 5.7]


@given(st.lists(st.tuples(TEMPS_C, RH_PCT), min_size=1, max_size=10))
def test_an_array_gives_what_its_numbers_give(states: list[tuple[float, float]]) -> None:
    temps, humidities = np.array(states).T
    singly = [moisture_content_pct(temp, rh) for temp, rh in states]
    assert moisture_content_pct(temps, humidities) == pytest.approx(singly, abs=1e-12)


def test_shapes_broadcast_and_what_is_not_a_number_stays_so() -> None:
    assert moisture_content_pct(np.full((2, 1), 20.0), np.full(3, 50.0)).shape == (2, 3)
    assert moisture_content_pct([20.0, 30.0], 50.0).shape == (2,)
    assert math.isnan(moisture_content_pct(math.nan, 50.0))
    assert math.isnan(moisture_content_pct(30.0, math.nan))
    assert np.isnan(moisture_content_pct([math.nan, 20.0], 50.0)).tolist() == [True, False]
    assert size_state(math.nan) is SizeState.NOT_KNOWN
    assert {canvas_behaviour(math.nan, held) for held in Held} == {CanvasBehaviour.NOT_KNOWN}


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: moisture_content_pct(14.9, 50.0), r"temperature of the size is 14\.9 degC; .* from 15 to 40 degC"),
        (lambda: moisture_content_pct([20.0, 41.0], 50.0), r"temperature of the size is 41 degC"),
        (lambda: moisture_content_pct(20.0, 4.0), r"relative humidity at the size is 4 %RH; .* from 5 to 95 %RH"),
        (lambda: moisture_content_pct(20.0, [50.0, 96.0]), r"relative humidity at the size is 96 %RH"),
        (lambda: size_state(100.5), r"relative humidity at the size is 100\.5 %RH; .* from 0 to 100 %RH"),
        (lambda: canvas_behaviour(-1), r"relative humidity at the canvas is -1 %RH; .* from 0 to 100 %RH"),
    ],
)  # fmt: skip
def test_what_lies_outside_is_refused_by_name_value_and_range(call, words: str) -> None:  # noqa: ANN001
    with pytest.raises(ValueError, match=words):
        call()


def test_the_size_softens_in_its_band() -> None:
    states = [size_state(rh) for rh in (0, 74.9, 75, 85, 85.1, 100)]
    assert [state.name for state in states] == ["STIFF", "STIFF", "SOFTENING", "SOFTENING", "SOFT", "SOFT"]
    assert len({state.words for state in SizeState}) == len(SizeState)


@pytest.mark.parametrize(
    ("held", "expected"),
    [
        (
            Held.SIZED,
            {0: "TIGHT", 35: "TIGHT", 35.1: "SLACKENS", 77.9: "SLACKENS", 78: "TURNS", 84.9: "TURNS", 85: "SHRINKS"},
        ),
        (
            Held.SUSPECTED_SHRINKER,
            {35: "TIGHT", 35.1: "SHRINKER_SLACKENS", 77.9: "SHRINKER_SLACKENS", 78: "SHRINKER_SHRINKS"},
        ),
        (
            Held.WAX_RESIN_LINED,
            {0: "WAX_RESIN_QUIET", 59.9: "WAX_RESIN_QUIET", 60: "WAX_RESIN_SHRINKS", 90: "WAX_RESIN_SHRINKS"},
        ),
    ],
)
def test_the_steps_of_a_held_canvas(held: Held, expected: dict[float, str]) -> None:
    assert {rh: canvas_behaviour(rh, held).name for rh in expected} == expected
    assert {canvas_behaviour(rh, held) for rh in (90.1, 100)} == {CanvasBehaviour.EXTREME}


def test_every_behaviour_can_be_met_and_says_on_what_grounds() -> None:
    met = {canvas_behaviour(rh, held) for held in Held for rh in np.arange(0, 100.1, 0.5)}
    assert met == set(CanvasBehaviour) - {CanvasBehaviour.NOT_KNOWN}
    assert all(one.sources for one in met)
    assert len({one.words for one in CanvasBehaviour}) == len(CanvasBehaviour)
    assert CanvasBehaviour.WAX_RESIN_SHRINKS.sources == (
        "andersen-2013-report",
        "andersen-2014",
        "young-ackroyd-2001",
    )


def test_no_stress_and_no_promise_is_told() -> None:
    told = [one.words for one in (*CanvasBehaviour, *SizeState)]
    assert not [words for words in told for word in (*STRESS_WORDS, "safe") if word in words]
    units = {figure.unit for figure in (*canvas.FIGURES.values(), *size.FIGURES.values())}
    assert units == {"%RH", "g/100 g", "degC"}


def test_what_is_recalled_or_computed_is_called_so() -> None:
    weak = {name: figure.grade for name, figure in size.FIGURES.items() if figure.grade is not Grade.PUBLISHED}
    assert weak == {
        "size.hysteresis": Grade.RECALLED, "size.softening": Grade.COMPUTED, "size.gel-melting": Grade.RECALLED,
    }  # fmt: skip


def test_single_numbers_need_no_numpy() -> None:
    code = (
        "import sys\n"
        "from monitor.science.size import canvas_behaviour, moisture_content_pct, size_state\n"
        "moisture_content_pct(20, 55), size_state(55), canvas_behaviour(55)\n"
        "print('numpy' in sys.modules)"
    )
    done = subprocess.run((sys.executable, "-c", code), capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
