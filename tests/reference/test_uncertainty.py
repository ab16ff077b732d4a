"""Uncertainty and guard bands against worked examples; sources and grades: README-uncertainty.md."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.science.humidity import dew_point_c, rh_at_temperature_pct
from monitor.science.uncertainty import (
    Budget,
    Share,
    dew_point_budget,
    judge,
    normal_standard,
    probability_inside,
    rectangular_standard,
    surface_humidity_budget,
)
from tests.support.reference import rows


@pytest.mark.parametrize("row", rows("guard_band_examples"), ids=lambda row: f"{row['value']} in {row['high']}")
def test_guard_band_examples(row: dict[str, str]) -> None:
    value, standard = float(row["value"]), float(row["standard"])
    low, high = (float(row[side]) if row[side] else None for side in ("low", "high"))
    found = probability_inside(value, standard, low=low, high=high)
    assert found == pytest.approx(float(row["probability"]), abs=5.1e-5)
    assert judge(value, low=low, high=high) == row["simple"]
    assert judge(value, low=low, high=high, guard=2 * standard) == row["guarded"]


def test_a_guard_band_as_wide_as_u_leaves_few_wrong_acceptances() -> None:
    # ILAC-G8:09/2019 (cited): below 2.5 % at the guarded limit, 50 % at the bare one.
    assert 1 - probability_inside(65 - 2 * 0.5, 0.5, high=65) < 0.025
    assert probability_inside(65, 0.5, high=65) == 0.5


def test_end_gauge_of_the_gum() -> None:
    # JCGM 100:2008 annex H.1, recalled; the root-sum-square computed: 31.67, printed 32 nm; U = 2.92 u = 93 nm.
    gauge = Budget(0.0, tuple(Share(str(n), 1.0, u) for n, u in enumerate((25.0, 9.7, 2.9, 16.6))))
    assert gauge.standard == pytest.approx(31.67, abs=0.01)
    assert gauge.expanded(2.92) == pytest.approx(93, abs=0.6)


def test_dew_point_of_22_degrees_and_50_percent() -> None:
    # Computed by another implementation, two million draws: README-uncertainty.md.
    found = dew_point_budget(22, 50, temp_u_k=rectangular_standard(0.2), rh_u_pct=rectangular_standard(1.8))
    assert found.value == pytest.approx(11.09, abs=0.03)
    assert {share.input: share.sensitivity for share in found.shares} == pytest.approx(
        {"air_temperature": 0.919, "relative_humidity": 0.302}, abs=0.001
    )
    assert found.standard == pytest.approx(0.331, abs=0.001)
    assert found.expanded() == pytest.approx(0.66, abs=0.005)
    assert 3 / found.expanded() == pytest.approx(4.5, abs=0.05)  # how many U a margin of 3 K is


# At 22 degC over a surface of 15 degC, errors evenly spread within +-0.2 K, the humidity's and +-0.5 K.
# By how much the dew point's budget may fall short of the draws grows as air gets drier.
@pytest.mark.parametrize(
    ("rh_pct", "half_pct", "short_pct"), [(5, 1.8, 3), (10, 1.8, 1), (30, 1.8, 0.5), (50, 3, 0.5), (97, 3, 0.5)]
)
def test_budgets_agree_with_monte_carlo(rh_pct: float, half_pct: float, short_pct: float) -> None:
    rng, count = np.random.default_rng(1977), 400_000
    temp = 22 + rng.uniform(-0.2, 0.2, count)
    rh = rh_pct + rng.uniform(-half_pct, half_pct, count)
    surface = 15 + rng.uniform(-0.5, 0.5, count)
    temp_u, rh_u, surface_u = (rectangular_standard(half) for half in (0.2, half_pct, 0.5))
    dew = dew_point_budget(22, rh_pct, temp_u_k=temp_u, rh_u_pct=rh_u).standard
    assert dew == pytest.approx(float(np.std(dew_point_c(temp, rh))), rel=short_pct / 100)
    at_surface = surface_humidity_budget(
        22, rh_pct, 15, air_temp_u_k=temp_u, air_rh_u_pct=rh_u, surface_u_k=surface_u
    ).standard
    assert at_surface == pytest.approx(float(np.std(rh_at_temperature_pct(temp, rh, surface))), rel=0.005)


def test_a_rectangular_error_spreads_as_its_formula_says() -> None:
    draws = np.random.default_rng(1977).uniform(-1.8, 1.8, 400_000)
    assert rectangular_standard(1.8) == pytest.approx(float(np.std(draws)), rel=0.003)
    assert normal_standard(3.6) == 1.8
