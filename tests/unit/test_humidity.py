"""What holds for humidity whatever the numbers: order, inverses, shapes, and what is refused."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from monitor.science.humidity import (
    absolute_humidity_g_m3,
    dew_point_c,
    frost_point_c,
    humidity_ratio_g_kg,
    rh_at_temperature_pct,
    saturation_vapour_pressure_pa,
    wet_bulb_c,
)

temperatures = st.floats(-40, 100)
humidities = st.floats(0.03, 100)
pressures = st.floats(50_000, 120_000)

OF_AIR: dict[str, Callable[..., Any]] = {
    "dew": dew_point_c,
    "wet": wet_bulb_c,
    "absolute": absolute_humidity_g_m3,
    "ratio": humidity_ratio_g_kg,
}


def vapour_pa(temp_c: float, rh_pct: float) -> float:
    return rh_pct / 100 * saturation_vapour_pressure_pa(temp_c)


@given(temperatures, humidities, pressures)
def test_dew_point_wet_bulb_and_air_stand_in_order(temp_c: float, rh_pct: float, pressure_pa: float) -> None:
    assume(vapour_pa(temp_c, rh_pct) < 0.999 * pressure_pa)
    dew, wet = dew_point_c(temp_c, rh_pct), wet_bulb_c(temp_c, rh_pct, pressure_pa=pressure_pa)
    assert -100 <= dew <= wet + 1e-9
    assert wet <= temp_c + 1e-9
    if rh_pct < 99:
        assert dew < wet < temp_c


@given(temperatures, pressures)
def test_all_three_meet_where_air_is_full(temp_c: float, pressure_pa: float) -> None:
    assume(vapour_pa(temp_c, 100) < 0.999 * pressure_pa)
    assert dew_point_c(temp_c, 100) == pytest.approx(temp_c, abs=1e-9)
    assert wet_bulb_c(temp_c, 100, pressure_pa=pressure_pa) == pytest.approx(temp_c, abs=1e-9)


@given(temperatures, humidities)
def test_humidity_comes_back_from_its_dew_point(temp_c: float, rh_pct: float) -> None:
    dew = dew_point_c(temp_c, rh_pct)
    assume(dew >= -40)
    assert rh_at_temperature_pct(dew, 100, temp_c) == pytest.approx(rh_pct, abs=1e-6)


@given(st.floats(-40, 0.01), st.floats(0, 60))
def test_vapour_comes_back_from_its_frost_point(frost_c: float, warmer_k: float) -> None:
    temp_c = frost_c + warmer_k
    rh_pct = 100 * saturation_vapour_pressure_pa(frost_c, over="ice") / saturation_vapour_pressure_pa(temp_c)
    assume(rh_pct <= 100 and vapour_pa(temp_c, rh_pct) < saturation_vapour_pressure_pa(0.01, over="ice"))
    assert frost_point_c(temp_c, rh_pct) == pytest.approx(frost_c, abs=1e-9)
    assert frost_c >= dew_point_c(temp_c, rh_pct) - 1e-3  # the two curves meet at 0.01 degC to 0.01 %


@given(temperatures, humidities, pressures)
def test_wet_bulb_fulfils_ashraes_balance(temp_c: float, rh_pct: float, pressure_pa: float) -> None:
    # ASHRAE Fundamentals 2017 ch. 1 eq. 33, as printed, solved for the humidity ratio.
    assume(vapour_pa(temp_c, rh_pct) < 0.9 * pressure_pa)
    wet = wet_bulb_c(temp_c, rh_pct, pressure_pa=pressure_pa)
    assume(wet >= -40)  # the humidity ratio's own range; dry air of -40 degC has a colder wet bulb
    full = humidity_ratio_g_kg(wet, 100, pressure_pa=pressure_pa) / 1000
    given_off = (2501 - 2.326 * wet) * full - 1.006 * (temp_c - wet)
    ratio = 1000 * given_off / (2501 + 1.86 * temp_c - 4.186 * wet)
    assert humidity_ratio_g_kg(temp_c, rh_pct, pressure_pa=pressure_pa) == pytest.approx(ratio, rel=1e-6, abs=1e-9)


@given(temperatures, st.floats(0.03, 99), st.floats(0.001, 1))
def test_more_humidity_is_more_of_everything(temp_c: float, rh_pct: float, more_pct: float) -> None:
    assume(vapour_pa(temp_c, rh_pct + more_pct) < 101_000)
    for name, of_air in OF_AIR.items():
        assert of_air(temp_c, rh_pct + more_pct) > of_air(temp_c, rh_pct), name


@given(st.floats(-40, 99), st.floats(0.001, 1), st.sampled_from(["water", "ice"]))
def test_warmer_air_holds_more(temp_c: float, warmer_k: float, over: Any) -> None:
    assume(over == "water" or temp_c + warmer_k <= 0.01)
    colder, warmer = (saturation_vapour_pressure_pa(t, over=over) for t in (temp_c, temp_c + warmer_k))
    assert warmer > colder


@given(temperatures, humidities, temperatures)
def test_a_surface_colder_than_the_dew_point_is_above_100(temp_c: float, rh_pct: float, surface_c: float) -> None:
    dew = dew_point_c(temp_c, rh_pct)
    assume(abs(surface_c - dew) > 1e-6)
    assert (rh_at_temperature_pct(temp_c, rh_pct, surface_c) > 100) == (surface_c < dew)
    assert rh_at_temperature_pct(temp_c, rh_pct, temp_c) == pytest.approx(rh_pct, rel=1e-12)


def test_results_reach_down_to_minus_100() -> None:
    # The driest air that is taken at each temperature has a dew point of -100 degC.
    for temp_c in (-40, 20, 100):
        with pytest.raises(ValueError, match="must lie from") as refused:
            dew_point_c(temp_c, 0)
        least = float(str(refused.value).split("must lie from ")[1].split()[0])
        assert dew_point_c(temp_c, 1.01 * least) == pytest.approx(-100, abs=0.2)
        with pytest.raises(ValueError, match="must lie from"):
            dew_point_c(temp_c, 0.98 * least)


def test_dry_air_has_no_vapour_and_a_wet_bulb() -> None:
    assert absolute_humidity_g_m3(20, 0) == humidity_ratio_g_kg(20, 0) == 0
    assert rh_at_temperature_pct(20, 0, 10) == 0
    assert 5 < wet_bulb_c(20, 0) < 7


FUNCTIONS: dict[str, tuple[Callable[..., Any], tuple[float, ...]]] = {
    "saturation": (saturation_vapour_pressure_pa, (20.0,)),
    "over ice": (lambda t: saturation_vapour_pressure_pa(t, over="ice"), (-20.0,)),
    "dew": (dew_point_c, (20.0, 50.0)),
    "frost": (frost_point_c, (15.0, 30.0)),
    "wet": (lambda t, rh, p: wet_bulb_c(t, rh, pressure_pa=p), (20.0, 50.0, 95_000.0)),
    "absolute": (absolute_humidity_g_m3, (20.0, 50.0)),
    "ratio": (lambda t, rh, p: humidity_ratio_g_kg(t, rh, pressure_pa=p), (20.0, 50.0, 95_000.0)),
    "surface": (rh_at_temperature_pct, (20.0, 50.0, 15.0)),
}


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_number_and_an_array_of_it_give_the_same(name: str) -> None:
    function, point = FUNCTIONS[name]
    number = function(*point)
    assert type(number) is float
    for of in (np.array, list, lambda x: np.array([x]), lambda x: [int(y) for y in x]):
        series = function(*(of([value, value - 0.0]) for value in point))
        assert series == pytest.approx(np.full(np.shape(series), number), rel=1e-12)
    assert function(*(int(value) for value in point)) == number


@pytest.mark.parametrize("name", FUNCTIONS)
def test_arrays_broadcast_against_numbers_and_each_other(name: str) -> None:
    function, point = FUNCTIONS[name]
    columns = [np.full((3, 1) if n % 2 else 4, value) for n, value in enumerate(point)]
    shape = (3, 4) if len(point) > 1 else (4,)
    assert function(*columns).shape == shape
    assert function(columns[0], *point[1:]) == pytest.approx(np.full(4, function(*point)), rel=1e-12)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_nan_in_is_nan_out_in_its_place_alone(name: str) -> None:
    function, point = FUNCTIONS[name]
    for n, value in enumerate(point):
        assert math.isnan(function(*point[:n], math.nan, *point[n + 1 :]))
        series = function(*point[:n], [value, math.nan], *point[n + 1 :])
        assert np.isnan(series).tolist() == [False, True]
        assert series[0] == pytest.approx(function(*point), rel=1e-12)
    assert math.isnan(function(*([math.nan] * len(point))))


AIR = [
    ((-41, 50), "air temperature is -41 degC; it must lie from -40 to 100 degC"),
    ((100.5, 50), "air temperature is 100.5 degC; it must lie from -40 to 100 degC"),
    ((100.0000001, 50), "air temperature is 100.0000001 degC; it must lie from -40 to 100 degC"),
    ((math.inf, 50), "air temperature is inf degC; it must lie from -40 to 100 degC"),
    ((20, -1), "relative humidity is -1 %RH; it must lie from 0 to 100 %RH"),
    ((20, 100.1), "relative humidity is 100.1 %RH; it must lie from 0 to 100 %RH"),
]


@pytest.mark.parametrize(("air", "said"), AIR)
@pytest.mark.parametrize("name", ["dew", "frost", "wet", "absolute", "ratio", "surface"])
def test_air_out_of_range_is_refused(name: str, air: tuple[float, float], said: str) -> None:
    function, point = FUNCTIONS[name]
    with pytest.raises(ValueError, match=f"^{said}$"):
        function(*air, *point[2:])
    with pytest.raises(ValueError, match=f"^{said}$"):
        function([20.0, air[0]], [50.0 if name != "frost" else 20.0, air[1]], *point[2:])


OTHERS: list[tuple[Callable[[], object], str]] = [
    (lambda: saturation_vapour_pressure_pa(-41), "temperature over water is -41 degC; it must lie from -40 to 100"),
    (lambda: saturation_vapour_pressure_pa(1, over="ice"), "temperature over ice is 1 degC; .* -40 to 0.01 degC"),
    (lambda: saturation_vapour_pressure_pa(1, over="oil"), "over is 'oil'; it must be 'water' or 'ice'"),  # type: ignore[call-overload]
    (lambda: dew_point_c(20, 0), "relative humidity is 0 %RH; at 20 degC it must lie from 0.000156 to 100 %RH"),
    (lambda: dew_point_c([10, 20], [[5], [0]]), "relative humidity is 0 %RH; at 10 degC it must lie from 0.000297"),
    (lambda: frost_point_c(-40, 0.001), "relative humidity is 0.001 %RH; at -40 degC it must lie from 0.00738"),
    (lambda: frost_point_c(20, 60), "vapour pressure is 1403.28 Pa; for frost it must lie from 0 to 611.657 Pa"),
    (lambda: frost_point_c(1, 100), "vapour pressure is 657.0.. Pa; for frost it must lie from 0 to 611.657 Pa"),
    (lambda: frost_point_c(20, [1, 60]), "ask for the dew point"),
    (lambda: wet_bulb_c(100, 100), "vapour pressure is 101419 Pa; .* from 0 to below the pressure, 101325 Pa"),
    (lambda: wet_bulb_c(90, 100, pressure_pa=saturation_vapour_pressure_pa(90)), "below the pressure, 70180"),
    (lambda: humidity_ratio_g_kg([20, 90], 100, pressure_pa=[7e4, 6e4]), "vapour pressure is 70180 Pa; .* 60000 Pa"),
    (lambda: wet_bulb_c(20, 50, pressure_pa=1013), "pressure is 1013 Pa; it must lie from 50000 to 120000 Pa"),
    (lambda: rh_at_temperature_pct(20, 50, 101), "surface temperature is 101 degC; it must lie from -40 to 100 degC"),
]  # fmt: skip


@pytest.mark.parametrize(("call", "said"), OTHERS, ids=lambda x: x[:40] if isinstance(x, str) else "")
def test_what_has_no_answer_is_refused_with_quantity_value_and_range(call: Callable[[], object], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()


def test_numbers_load_no_numpy() -> None:
    text = (
        "import sys; from monitor.science import humidity as h\n"
        "h.dew_point_c(20, 50); h.wet_bulb_c(20, 50); h.frost_point_c(15, 30); h.rh_at_temperature_pct(20, 50, 10)\n"
        "assert 'numpy' not in sys.modules"
    )
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
