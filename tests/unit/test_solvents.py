"""The film of a solvent: its balance of heat, its limits, its order, and what it refuses."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.figures import Figure, Grade
from monitor.science import humidity, solvents
from monitor.science.solvent_data import TABLE_C, VAPOUR_PRESSURE_KEYS, SolventData
from monitor.science.solvents import film_dew_margin_c, film_range_c, film_temperature_c, vapour_pressure_pa
from tests.support.solvents import catalogue, listed

KEYS = tuple(catalogue().solvents)
WATER = SolventData(
    # Steam tables would do as well: over water, at the temperatures of the table and as the project computes it.
    "water", 25.2, 45.4, 44.0, tuple(humidity.saturation_vapour_pressure_pa(float(t)) for t in TABLE_C),
)  # fmt: skip
AIRS = st.floats(-5.0, 40.0)
SOME = st.sampled_from(KEYS)


@given(SOME, AIRS, st.floats(60_000, 110_000), st.floats(0, 5), st.floats(0.5, 1.0), st.floats(0, 0.9))
def test_the_heat_that_comes_equals_the_heat_that_goes(
    key: str, air_c: float, pressure_pa: float, heat: float, exponent: float, share: float
) -> None:
    """Checked with figures worked out here, in W/m2 for a film that gets 10 W/(m2 K) from the air in front of it."""
    data = listed(key)
    vapour_pa = share * vapour_pressure_pa(data, air_c)
    film_c = film_temperature_c(
        data, air_c, pressure_pa=pressure_pa, vapour_pa=vapour_pa, other_heat=heat, exponent=exponent
    )
    convection = 10.0 * (air_c - film_c)
    lewis = solvents.AIR_DIFFUSIVITY_MM2_S / data.diffusivity_25c_mm2_s
    moles_per_s = 10.0 / (solvents.AIR_HEAT_J_MOLK * lewis**exponent)
    moles_per_s *= math.log((pressure_pa - vapour_pa) / (pressure_pa - vapour_pressure_pa(data, film_c)))
    enthalpy = data.vaporisation_20c_kj_mol + (film_c - 20) / 40 * (
        data.vaporisation_20c_kj_mol - data.vaporisation_m20c_kj_mol
    )
    assert moles_per_s * 1000 * enthalpy == pytest.approx((1 + heat) * convection, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("air_c", [5.0, 20.0, 35.0])
@pytest.mark.parametrize("rh_pct", [0.0, 30.0, 60.0, 90.0])
def test_water_comes_to_its_thermodynamic_wet_bulb(air_c: float, rh_pct: float) -> None:
    """With a vapour that spreads as fast as heat (Lewis number 1) the two are one, but for reckoning by masses."""
    vapour_pa = humidity.saturation_vapour_pressure_pa(air_c) * rh_pct / 100
    like = replace(WATER, diffusivity_25c_mm2_s=solvents.AIR_DIFFUSIVITY_MM2_S)
    expected = humidity.wet_bulb_c(air_c, rh_pct)
    assert film_temperature_c(like, air_c, vapour_pa=vapour_pa) == pytest.approx(expected, abs=0.15)
    real = film_temperature_c(WATER, air_c, vapour_pa=vapour_pa)
    assert expected - 0.1 * (air_c - expected) - 0.05 < real <= expected + 0.15  # its vapour spreads a little faster


def test_faster_solvents_make_it_colder() -> None:
    order = ["acetone", "ethyl-acetate", "heptane", "toluene", "butyl-acetate", "xylene", "nonane", "decane"]
    films = [film_temperature_c(listed(key), 20.0) for key in order]
    assert films == sorted(films)
    assert films[0] < -10 < 5 < films[3] < 12  # acetone freezes water; toluene takes some ten kelvins off
    assert 18.5 < films[-1] < 20


def test_what_gives_no_vapour_cools_nothing() -> None:
    still = SolventData("oil", 5.0, 90.0, 88.0, tuple(1e-9 * (i + 1) for i in range(len(TABLE_C))))
    assert film_temperature_c(still, 20.0) == pytest.approx(20.0, abs=1e-6)


@given(SOME, st.floats(-4.0, 39.0), st.floats(0.1, 1.0))
def test_warmer_air_makes_a_warmer_film_and_a_greater_difference(key: str, air_c: float, step: float) -> None:
    data = listed(key)
    below, above = (film_temperature_c(data, t) for t in (air_c, air_c + step))
    assert below < above < below + step
    assert below <= air_c


@given(SOME, AIRS)
def test_everything_left_out_would_make_it_warmer(key: str, air_c: float) -> None:
    data = listed(key)
    coldest = film_temperature_c(data, air_c)
    vapour_pa = 0.5 * vapour_pressure_pa(data, coldest)
    assert film_temperature_c(data, air_c, vapour_pa=vapour_pa) > coldest
    assert film_temperature_c(data, air_c, other_heat=1.0) > coldest
    resin = replace(data, vapour_pressures_pa=tuple(0.5 * p for p in data.vapour_pressures_pa))
    assert film_temperature_c(resin, air_c) > coldest
    low, high = film_range_c(data, air_c)
    assert low < coldest < high < air_c


def test_vapour_that_the_air_is_full_of_cools_nothing() -> None:
    acetone = listed("acetone")
    full_pa = vapour_pressure_pa(acetone, 20.0)
    assert film_temperature_c(acetone, 20.0, vapour_pa=full_pa) == pytest.approx(20.0, abs=1e-6)


@given(SOME, st.lists(AIRS, min_size=1, max_size=5), st.sampled_from([0.0, 3.0]))
def test_arrays_give_what_numbers_give(key: str, airs_c: list[float], heat: float) -> None:
    data = listed(key)
    films = film_temperature_c(data, np.array(airs_c)[:, None], pressure_pa=[101325.0, 80000.0], other_heat=heat)
    assert films.shape == (len(airs_c), 2)
    assert films[:, 0] == pytest.approx([film_temperature_c(data, t, other_heat=heat) for t in airs_c], abs=1e-9)
    assert (films[:, 1] <= films[:, 0]).all()  # thin air: more of it is vapour


def test_nothing_is_known_of_nan() -> None:
    acetone = listed("acetone")
    assert math.isnan(film_temperature_c(acetone, math.nan))
    assert math.isnan(film_temperature_c(acetone, 20.0, vapour_pa=math.nan))
    assert math.isnan(film_temperature_c(acetone, 20.0, other_heat=math.nan))
    films = film_temperature_c(acetone, [20.0, math.nan])
    assert np.isnan(films).tolist() == [False, True]
    assert math.isnan(vapour_pressure_pa(acetone, math.nan))
    assert np.isnan(film_dew_margin_c(acetone, [20.0, 20.0], [50.0, math.nan])).tolist() == [False, True]


def test_the_margin_is_the_film_less_the_dew_point() -> None:
    toluene = listed("toluene")
    margin = film_dew_margin_c(toluene, 20.0, 50.0)
    assert margin == film_temperature_c(toluene, 20.0) - humidity.dew_point_c(20.0, 50.0)
    many = film_dew_margin_c(toluene, [20.0, 20.0], [30.0, 70.0])
    assert many[0] > 5 > 0 > -4 > many[1]


@given(SOME, st.floats(-40.0, 40.0))
def test_between_the_points_of_the_table_the_pressure_is_that_of_its_curve(key: str, temp_c: float) -> None:
    """Against a parabola in 1/T through the three nearest points, an interpolation of higher order."""
    data = listed(key)
    middle = min(max(round((temp_c + 40) / 10), 1), len(TABLE_C) - 2)
    x = [1 / (TABLE_C[i] + 273.15) for i in (middle - 1, middle, middle + 1)]
    curve = np.polynomial.Polynomial.fit(x, np.log(data.vapour_pressures_pa[middle - 1 : middle + 2]), 2)
    expected = math.exp(curve(1 / (temp_c + 273.15)))
    off = 0.005 if key == "alpha-pinene" else 0.003  # what `SolventData.log_pa` says of itself
    assert vapour_pressure_pa(data, temp_c) == pytest.approx(expected, rel=off)


@pytest.mark.parametrize("index", range(len(TABLE_C)))
def test_at_the_points_of_the_table_it_is_the_table(index: int) -> None:
    data = listed("ethanol")
    assert vapour_pressure_pa(data, float(TABLE_C[index])) == pytest.approx(
        data.vapour_pressures_pa[index], rel=1e-12
    )


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"air_temp_c": 41.0}, "air temperature is 41 degC"),
        ({"air_temp_c": [20.0, -41.0]}, "air temperature is -41 degC"),
        ({"pressure_pa": 40e3}, "pressure is 40000 Pa"),
        ({"vapour_pa": -1.0}, "vapour of the solvent in the air is -1 Pa"),
        ({"vapour_pa": 30e3}, "more than the liquid gives at the air's temperature, is 30000 Pa"),
        ({"vapour_pa": [0.0, 30e3]}, "more than the liquid gives at the air's temperature, is 30000 Pa"),
        ({"other_heat": -0.1}, "heat from elsewhere is -0.1"),
        ({"exponent": 0.4}, "exponent of the Lewis number is 0.4"),
        ({"air_temp_c": -36.0}, "film of acetone would be colder than -40 degC, where its data end; the air is -36"),
        ({"air_temp_c": [20.0, -36.0]}, "would be colder than -40 degC"),
    ],
)
def test_what_does_not_hold_is_refused(asked: dict[str, object], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        film_temperature_c(listed("acetone"), **{"air_temp_c": 20.0, **asked})  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"temperature of acetone is 40\.1 degC"):
        vapour_pressure_pa(listed("acetone"), 40.1)


def test_data_that_cannot_be_are_refused() -> None:
    good = listed("acetone")
    with pytest.raises(ValueError, match="acetone: diffusivity_25c_mm2_s is 0"):
        replace(good, diffusivity_25c_mm2_s=0)
    with pytest.raises(ValueError, match="acetone: vaporisation_20c_kj_mol is nan"):
        replace(good, vaporisation_20c_kj_mol=math.nan)
    with pytest.raises(ValueError, match="acetone: 2 vapour pressures"):
        replace(good, vapour_pressures_pa=(1.0, 2.0))
    with pytest.raises(ValueError, match="they must be above 0 and rise"):
        replace(good, vapour_pressures_pa=good.vapour_pressures_pa[::-1])
    figures = {**catalogue().solvents["acetone"].figures}
    figures[VAPOUR_PRESSURE_KEYS[0]] = Figure(None, "Pa", "own-test", Grade.OWN_TEST)
    with pytest.raises(ValueError, match="acetone: vapour_pressure_m40c_pa has no value"):
        SolventData.from_figures("acetone", figures)
