"""Uncertainty and comparison with limits: derivatives, order of verdicts, shapes, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from monitor.science.humidity import dew_point_c, rh_at_temperature_pct
from monitor.science.uncertainty import (
    Budget,
    Share,
    dew_point_budget,
    dew_point_margin_budget,
    judge,
    judge_side,
    normal_standard,
    probability_inside,
    rectangular_standard,
    surface_humidity_budget,
)

temperatures = st.floats(-30, 90)
humidities = st.floats(1, 99)
spreads = st.floats(0, 5)
numbers = st.floats(-1e3, 1e3)


def slope(function: Callable[..., float], point: list[float], n: int) -> float:
    """Give the derivative by the n-th argument from a difference of second order."""
    step = 1e-3
    up, down = list(point), list(point)
    up[n], down[n] = point[n] + step, point[n] - step
    return (function(*up) - function(*down)) / (2 * step)


@given(temperatures, humidities)
def test_sensitivities_of_the_dew_point_are_its_slopes(temp_c: float, rh_pct: float) -> None:
    found = dew_point_budget(temp_c, rh_pct, temp_u_k=0.1, rh_u_pct=1.0)
    assert found.value == dew_point_c(temp_c, rh_pct)
    for n, share in enumerate(found.shares):
        assert share.sensitivity == pytest.approx(slope(dew_point_c, [temp_c, rh_pct], n), rel=1e-4)


@given(temperatures, humidities, temperatures)
def test_sensitivities_of_humidity_at_a_surface_are_its_slopes(air_c: float, rh_pct: float, surface_c: float) -> None:
    point = [air_c, rh_pct, surface_c]
    found = surface_humidity_budget(*point, air_temp_u_k=0.1, air_rh_u_pct=1.0, surface_u_k=0.2)
    assert found.value == rh_at_temperature_pct(*point)
    assert [share.input for share in found.shares] == ["air_temperature", "relative_humidity", "surface_temperature"]
    for n, share in enumerate(found.shares):
        assert share.sensitivity == pytest.approx(slope(rh_at_temperature_pct, point, n), rel=1e-5)


@given(temperatures, humidities, temperatures, spreads, spreads, spreads)
def test_a_margin_has_the_uncertainty_of_dew_point_and_surface(
    temp_c: float, rh_pct: float, surface_c: float, temp_u: float, rh_u: float, surface_u: float
) -> None:
    dew = dew_point_budget(temp_c, rh_pct, temp_u_k=temp_u, rh_u_pct=rh_u)
    margin = dew_point_margin_budget(temp_c, rh_pct, surface_c, temp_u_k=temp_u, rh_u_pct=rh_u, surface_u_k=surface_u)
    assert margin.value == pytest.approx(surface_c - dew_point_c(temp_c, rh_pct))
    assert margin.standard == pytest.approx(math.hypot(float(dew.standard), surface_u), abs=1e-12)
    warmer = dew_point_margin_budget(
        temp_c + 0.01, rh_pct, surface_c, temp_u_k=temp_u, rh_u_pct=rh_u, surface_u_k=surface_u
    )
    assert warmer.value < margin.value
    assert margin.shares[0].sensitivity < 0 < margin.shares[2].sensitivity


@given(st.lists(st.tuples(numbers, spreads), min_size=1, max_size=5), st.floats(0.1, 4))
def test_shares_add_by_their_squares(inputs: list[tuple[float, float]], k: float) -> None:
    found = Budget(0.0, tuple(Share("x", sensitivity, u) for sensitivity, u in inputs))
    assert found.standard == pytest.approx(math.hypot(*(s * u for s, u in inputs)), abs=1e-12)
    assert found.expanded(k) == pytest.approx(k * float(found.standard))
    assert all(share.amount >= 0 for share in found.shares)
    assert found.standard >= max(share.amount for share in found.shares) - 1e-9


@pytest.mark.parametrize(
    ("value", "guard", "verdict"),
    [
        (64.9, 0, "inside"), (65, 0, "inside"), (65.1, 0, "outside"),
        (63, 2, "inside"), (63.1, 2, "between"), (65, 2, "between"), (66.9, 2, "between"), (67, 2, "outside"),
        (math.nan, 2, "not known"), (-math.inf, 2, "inside"), (math.inf, 2, "outside"),
    ],
)  # fmt: skip
def test_verdict_on_either_side_of_a_limit(value: float, guard: float, verdict: str) -> None:
    assert judge_side(value, 65, "high", guard=guard) == verdict
    assert judge_side(-value, -65, "low", guard=guard) == verdict


ORDER = ["inside", "between", "outside"]


@given(numbers, numbers, st.floats(0, 50), st.floats(0, 100))
def test_further_out_is_never_judged_further_in(value: float, limit: float, guard: float, further: float) -> None:
    at = ORDER.index(judge_side(value, limit, "high", guard=guard))
    assert ORDER.index(judge_side(value + further, limit, "high", guard=guard)) >= at
    wider = judge_side(value, limit, "high", guard=guard + further)
    assert wider in (ORDER[at], "between")


@given(numbers, numbers, st.floats(0, 100), st.floats(0, 60))
def test_the_worst_side_counts(value: float, low: float, width: float, guard: float) -> None:
    sides = [judge_side(value, low, "low", guard=guard), judge_side(value, low + width, "high", guard=guard)]
    assert judge(value, low=low, high=low + width, guard=guard) == max(sides, key=ORDER.index)
    assert judge(value, low=low, guard=guard) == sides[0]
    assert judge(value, high=low + width, guard=guard) == sides[1]


def test_nothing_measured_is_not_known() -> None:
    assert judge(math.nan, low=40, high=60, guard=1) == "not known"
    assert math.isnan(probability_inside(math.nan, 1, low=40))


@given(numbers, st.floats(0.01, 50), numbers, st.floats(0, 100))
def test_probabilities_of_the_three_parts_make_one(value: float, u: float, low: float, width: float) -> None:
    high = low + width
    below, above = probability_inside(value, u, high=low), probability_inside(value, u, low=high)
    inside = probability_inside(value, u, low=low, high=high)
    assert below + inside + above == pytest.approx(1, abs=1e-12)
    assert 0 <= inside <= 1


def test_small_probabilities_keep_their_digits() -> None:
    # The tail of a normal distribution beyond 10: 7.619853e-24.
    assert probability_inside(10, 1, high=0) == pytest.approx(7.619853e-24, rel=1e-6)
    assert probability_inside(0, 1, low=10, high=20) == pytest.approx(7.619853e-24, rel=1e-6)


def test_arrays_are_budgeted_element_by_element() -> None:
    temps, rhs = np.array([18.0, 22.0, math.nan]), np.array([[40.0], [60.0]])
    found = dew_point_margin_budget(temps, rhs, 15, temp_u_k=0.1, rh_u_pct=[[1.0], [1.5]], surface_u_k=0.3)
    assert np.shape(found.value) == np.shape(found.standard) == (2, 3)
    one = dew_point_margin_budget(22, 60, 15, temp_u_k=0.1, rh_u_pct=1.5, surface_u_k=0.3)
    assert type(one.value) is type(one.standard) is float
    assert found.value[1, 1] == pytest.approx(one.value)
    assert found.expanded()[1, 1] == pytest.approx(one.expanded())
    assert np.isnan(found.standard).tolist() == [[False, False, True]] * 2
    surface = surface_humidity_budget([20.0, 20.0], 50, [15, 20], air_temp_u_k=0.1, air_rh_u_pct=1, surface_u_k=0.1)
    assert surface.shares[1].sensitivity[1] == pytest.approx(1)
    assert rectangular_standard([3.0, 0.0]).tolist() == [pytest.approx(math.sqrt(3)), 0]


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: rectangular_standard(-1), "half width is -1; it must be 0 or above"),
    (lambda: rectangular_standard([1.0, -2.0]), "half width is -2; it must be 0 or above"),
    (lambda: normal_standard(-0.5), "expanded uncertainty is -0.5; it must be 0 or above"),
    (lambda: normal_standard(0.5, k=0), "coverage factor k is 0; it must be above 0"),
    (lambda: Budget(0, (Share("x", 1, 1),)).expanded(-2), "coverage factor k is -2; it must be above 0"),
    (lambda: Share("mass", 1, -1), "standard uncertainty of mass is -1; it must be 0 or above"),
    (lambda: dew_point_budget(20, 50, temp_u_k=-1, rh_u_pct=1), "standard uncertainty of air_temperature is -1; it"),
    (lambda: dew_point_budget(20, 0, temp_u_k=1, rh_u_pct=1), "relative humidity is 0 %RH; at 20 degC it must"),
    (lambda: judge(50), "no limit is given; give low, high or both"),
    (lambda: judge(50, low=60, high=40), "low limit is 60; it must not be above the high one, 40"),
    (lambda: judge(50, high=60, guard=-1), "limit is 60 and guard band -1; a number, and one of 0 or above"),
    (lambda: judge(50, high=math.nan), "limit is nan and guard band 0; a number"),
    (lambda: judge_side(50, 60, "top"), "side is 'top'; it must be 'low' or 'high'"),  # type: ignore[arg-type]
    (lambda: probability_inside(50, 0, high=60), "standard uncertainty is 0; it must be above 0"),
    (lambda: probability_inside(50, 1), "no limit is given"),
]


@pytest.mark.parametrize(("call", "said"), REFUSED, ids=lambda x: x[:40] if isinstance(x, str) else "")
def test_what_makes_no_sense_is_refused(call: Callable[[], object], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()


@given(numbers, st.floats(0.1, 10), numbers)
def test_what_is_inside_with_a_guard_band_is_probably_inside(value: float, u: float, high: float) -> None:
    verdict = judge(value, high=high, guard=2 * u)
    probability = probability_inside(value, u, high=high)
    assume(abs(abs(value - high) - 2 * u) > 1e-9)
    if verdict == "inside":
        assert probability > 0.977
    elif verdict == "outside":
        assert probability < 0.023
    else:
        assert 0.022 < probability < 0.978
