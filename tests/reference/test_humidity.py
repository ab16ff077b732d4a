"""Humidity against printed values, other implementations, and a year of measured air.

Sources and grades: README-humidity.md; the files in tests/.data: README-fetched.md.
"""

from __future__ import annotations

from types import ModuleType
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from CoolProp import CoolProp

from monitor.science import humidity
from monitor.science.humidity import (
    absolute_humidity_g_m3,
    dew_point_c,
    frost_point_c,
    humidity_ratio_g_kg,
    rh_at_temperature_pct,
    saturation_vapour_pressure_pa,
    wet_bulb_c,
)
from tests.support import fetched
from tests.support.reference import rows

if TYPE_CHECKING:
    from monitor.science.elementwise import Array

STATES = [{key: float(value) for key, value in row.items()} for row in rows("humidity_states")]
KELVIN = 273.15


@pytest.mark.parametrize("row", rows("humidity_saturation"), ids=lambda r: f"{r['source'][:7]} {r['t_c']}")
def test_saturation_pressure_against_tables_and_other_formulations(row: dict[str, Any]) -> None:
    found = saturation_vapour_pressure_pa(float(row["t_c"]), over=row["phase"])
    assert found == pytest.approx(float(row["pa"]), rel=float(row["tolerance_pct"]) / 100)


@pytest.mark.parametrize("row", rows("humidity_printed"), ids=lambda r: f"{r['quantity']} {r['t_c']} {r['rh_pct']}")
def test_printed_answers(row: dict[str, str]) -> None:
    found = getattr(humidity, row["quantity"])(float(row["t_c"]), float(row["rh_pct"]))
    assert found == pytest.approx(float(row["printed"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", STATES, ids=lambda r: f"{r['t_C']:g} {r['RH_pct']:g}")
def test_states_as_four_others_compute_them(row: dict[str, float]) -> None:
    t, rh, p = row["t_C"], row["RH_pct"], row["P_Pa"]
    dew, wet = dew_point_c(t, rh), wet_bulb_c(t, rh, pressure_pa=p)
    dense, ratio = absolute_humidity_g_m3(t, rh), humidity_ratio_g_kg(t, rh, pressure_pa=p)
    assert saturation_vapour_pressure_pa(t) == pytest.approx(row["es_psychrolib_Pa"], rel=5e-4)
    assert saturation_vapour_pressure_pa(t) == pytest.approx(row["es_coolprop_Pa"], rel=5e-4)
    assert dew == pytest.approx(row["Td_psychrolib_C"], abs=0.001)
    assert dew == pytest.approx(row["Td_coolprop_C"], abs=0.03)
    if t <= 45:  # beyond, Magnus itself is off by 0.1 degC
        assert dew == pytest.approx(row["Td_wmo_magnus_C"], abs=0.03)
        assert dew == pytest.approx(row["Td_metpy_C"], abs=0.06)
    assert dense == pytest.approx(row["AH_psychrolib_gm3"], rel=5e-4)
    assert dense == pytest.approx(row["AH_coolprop_gm3"], rel=7e-3)
    assert ratio == pytest.approx(row["W_psychrolib_gkg"], rel=5e-4)
    assert ratio == pytest.approx(row["W_coolprop_gkg"], rel=7e-3)
    assert wet == pytest.approx(row["Twb_psychrolib_C"], abs=0.001)
    assert wet == pytest.approx(row["Twb_coolprop_C"], abs=0.02)


def test_dew_and_frost_point_part_below_zero() -> None:
    # README-humidity.md: frost point of PsychroLib and CoolProp; dew point of MetPy and Magnus, 0.04 degC lower.
    assert frost_point_c(15, 30) == pytest.approx(-2.14, abs=0.005)
    assert dew_point_c(15, 30) == pytest.approx(-2.424, abs=0.001)
    assert dew_point_c(15, 30) == pytest.approx(-2.46, abs=0.04)


def test_over_supercooled_water_against_sonntag() -> None:
    # Sonntag 1990, Z. Meteorol. 70, 340; the constants are recalled, and agree with IAPWS within 0.04 % above 0 degC.
    t = np.linspace(-40, 100, 1401)
    k = t + KELVIN
    sonntag_pa = 100 * np.exp(
        -6096.9385 / k + 16.635794 - 2.711193e-2 * k + 1.673952e-5 * k**2 + 2.433502 * np.log(k)
    )
    off_pct = 100 * np.abs(saturation_vapour_pressure_pa(t) / sonntag_pa - 1)
    assert np.max(off_pct) < 0.0895
    assert np.max(off_pct[t >= -20]) < 0.0345
    assert np.max(off_pct[t >= 0]) < 0.0249


def test_saturation_pressure_against_iapws_by_coolprop() -> None:
    t = np.linspace(0.01, 100, 101)
    iapws_pa = CoolProp.PropsSI("P", "T", t + KELVIN, "Q", 0, "Water")
    assert saturation_vapour_pressure_pa(t) == pytest.approx(iapws_pa, rel=5e-4)


@pytest.fixture(scope="module")
def air() -> tuple[Array, Array, Array]:
    """Give 1 to 90 degC, 5 to 100 %RH, two pressures, as columns."""
    grid = np.meshgrid([*range(1, 46, 4), 60, 75, 90], [5, 10, 30, 50, 70, 90, 100], [85000, 101325])
    t, rh, p = (axis.ravel().astype(float) for axis in grid)
    return t, rh, p


def test_against_real_gas_by_coolprop(air: tuple[Array, Array, Array]) -> None:
    t, rh, p = air
    inputs = ("T", t + KELVIN, "R", rh / 100, "P", p)
    ratio, volume, dew, wet = (CoolProp.HAPropsSI(key, *inputs) for key in ("W", "Vda", "D", "B"))
    cool = t <= 45
    for found, real in (
        (humidity_ratio_g_kg(t, rh, pressure_pa=p), 1000 * ratio),
        (absolute_humidity_g_m3(t, rh), 1000 * ratio / volume),
    ):
        off_pct = 100 * (found / real - 1)
        assert -0.7 < np.min(off_pct[cool]) < np.max(off_pct[cool]) < -0.2
        assert -1.4 < np.min(off_pct[~cool]) < np.max(off_pct[~cool]) < -0.2
    for found, real, close_c, hot_c in (
        (dew_point_c(t, rh), dew - KELVIN, 0.02, 0.08),
        (wet_bulb_c(t, rh, pressure_pa=p), wet - KELVIN, 0.03, 0.06),
    ):
        over_water = real > 0.01  # below, CoolProp takes ice
        off_c = np.abs(found - real)
        assert np.max(off_c[over_water & cool]) < close_c
        assert np.max(off_c[over_water & ~cool]) < hot_c


def test_against_psychrolib(air: tuple[Array, Array, Array]) -> None:
    library: ModuleType = fetched.psychrolib()
    for t, rh, p in zip(*(axis.tolist() for axis in air), strict=True):
        ratio = library.GetHumRatioFromRelHum(t, rh / 100, p)
        dew, wet = library.GetTDewPointFromRelHum(t, rh / 100), library.GetTWetBulbFromRelHum(t, rh / 100, p)
        assert saturation_vapour_pressure_pa(t) == pytest.approx(library.GetSatVapPres(t), rel=1e-12)
        assert humidity_ratio_g_kg(t, rh, pressure_pa=p) == pytest.approx(1000 * ratio, rel=1e-9)
        by_volume = 1000 * ratio / library.GetMoistAirVolume(t, ratio, p)
        assert absolute_humidity_g_m3(t, rh) == pytest.approx(by_volume, rel=5e-5)
        assert (dew_point_c if dew > 0.01 else frost_point_c)(t, rh) == pytest.approx(dew, abs=1e-6)
        if wet >= 0.01:  # below, PsychroLib's bulb is iced
            assert wet_bulb_c(t, rh, pressure_pa=p) == pytest.approx(wet, abs=0.001)


def test_over_ice_against_psychrolib() -> None:
    library = fetched.psychrolib()
    for t in range(-40, 1, 5):
        found = saturation_vapour_pressure_pa(t, over="ice")
        assert found == pytest.approx(library.GetSatVapPres(float(t)), rel=1e-12)
        wet_air = (t, 100 * library.GetSatVapPres(float(t - 8)) / saturation_vapour_pressure_pa(t))
        assert frost_point_c(*wet_air) == pytest.approx(t - 8, abs=1e-9)


@pytest.fixture(scope="module")
def measured() -> dict[str, Array]:
    """Give a year's hours at three airports: temperature and dew point measured in degF, humidity printed."""
    table = fetched.weather()
    columns = {key: np.array([float(row[key]) for row in table]) for key in ("temp", "dewp", "humid")}
    t, dew, rh = (columns["temp"] - 32) / 1.8, (columns["dewp"] - 32) / 1.8, columns["humid"]
    off_pct = rh_at_temperature_pct(dew, 100, t) - rh
    return {"t": t, "dew": dew, "rh": rh, "off_pct": off_pct}


def test_measured_humidity_follows_from_measured_dew_point(measured: dict[str, Array]) -> None:
    off = measured["off_pct"]
    assert off.size == 26_114
    agree = np.abs(off) <= 1  # the others disagree with themselves, whatever the formula (1447 by Magnus)
    assert int(np.sum(~agree)) == pytest.approx(1461, abs=15)
    low, median, high = np.quantile(off[agree], [0.25, 0.5, 0.75])
    # Found: -0.0306, -0.0151, 0.0017 %RH; 90 % of the rows lie from -0.039 to 0.027.
    assert -0.035 < low < median < high < 0.005
    assert -0.045 < np.quantile(off[agree], 0.05) < np.quantile(off[agree], 0.95) < 0.03


def test_measured_humidity_below_zero_is_over_water(measured: dict[str, Array]) -> None:
    cold = measured["dew"] < 0
    assert int(np.sum(cold)) == 9074
    assert abs(np.median(measured["off_pct"][cold])) < 0.035
    iced = 100 * np.array([saturation_vapour_pressure_pa(dew, over="ice") for dew in measured["dew"][cold]])
    off = iced / saturation_vapour_pressure_pa(measured["t"][cold]) - measured["rh"][cold]
    assert np.median(off) < -2.5


def test_dew_point_of_measured_humidity_is_the_measured_one(measured: dict[str, Array]) -> None:
    off_c = dew_point_c(measured["t"], measured["rh"]) - measured["dew"]
    agree = np.abs(measured["off_pct"]) <= 1
    low, median, high = np.quantile(off_c[agree], [0.25, 0.5, 0.75])
    # Found: -0.0003, 0.0033, 0.0083 degC; 90 % of the rows lie from -0.007 to 0.014.
    assert -0.001 < low < median < high < 0.01
    assert -0.01 < np.quantile(off_c[agree], 0.05) < np.quantile(off_c[agree], 0.95) < 0.02
