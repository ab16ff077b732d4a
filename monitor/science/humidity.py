"""Humidity of air: saturation, dew and frost point, wet bulb, absolute humidity, humidity ratio, surfaces.

Relative humidity is over water at every temperature, below 0 degC too: so makers of sensors and
the WMO (Guide No. 8) state it. Air saturated over ice has therefore less than 100 %RH.
Vapour and air are taken as ideal gases. Against real ones (CoolProp, 85 to 101 kPa) there is 0.3 to
0.6 % too little water up to 45 degC and 1.3 % too little at 90 degC and 100 %RH; dew points are off by
0.02 K at most up to 45 degC and 0.08 K to 90 degC, wet bulbs by 0.03 and 0.06 K (own comparison).

Each function takes a number or anything numpy takes for an array, element by element; arrays broadcast
against each other. Numbers give a float, anything else an array of the broadcast shape. NaN gives NaN.
Saturation is Hyland and Wexler 1983 throughout, see `vapour`, where the inverses stand too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, overload

from monitor.science import vapour
from monitor.science.elementwise import either, within

if TYPE_CHECKING:
    from monitor.science.elementwise import Array, ArrayLike

VAPOUR_GAS_J_KGK = 461.52
"""Gas constant of water vapour, J/(kg K): 8.314462618 J/(mol K) by 18.0153 g/mol (computed)."""
TRIPLE_POINT_C = 0.01


@overload
def saturation_vapour_pressure_pa(temp_c: float, *, over: Literal["water", "ice"] = "water") -> float: ...
@overload
def saturation_vapour_pressure_pa(temp_c: ArrayLike, *, over: Literal["water", "ice"] = "water") -> Array: ...
def saturation_vapour_pressure_pa(temp_c: ArrayLike, *, over: Literal["water", "ice"] = "water") -> float | Array:
    """Give the pressure of vapour in balance with water or ice.

    Args:
        temp_c: temperature, degC; -40 to 100 over water (below 0: supercooled, extrapolated),
            -40 to 0.01 over ice.
        over: "water" or "ice".

    Returns:
        Pressure in Pa.

    Raises:
        ValueError: a temperature out of range, or `over` is neither.

    Source: Hyland and Wexler 1983, ASHRAE Fundamentals 2017 ch. 1 eqs. 5 and 6 (cited).
    """
    if over not in ("water", "ice"):
        raise ValueError(f"over is {over!r}; it must be 'water' or 'ice'")
    maths, (temp,) = either(temp_c)
    high_c = TRIPLE_POINT_C if over == "ice" else vapour.HIGHEST_C
    within(f"temperature over {over}", "degC", temp, vapour.LOWEST_C, high_c)
    curve = vapour.ICE if over == "ice" else vapour.WATER
    pressure: float | Array = maths.exp(curve.log_pa(maths, temp))
    return pressure


@overload
def dew_point_c(temp_c: float, rh_pct: float) -> float: ...
@overload
def dew_point_c(temp_c: ArrayLike, rh_pct: ArrayLike) -> Array: ...
def dew_point_c(temp_c: ArrayLike, rh_pct: ArrayLike) -> float | Array:
    """Give the temperature at which the air's vapour would condense as water, below 0 degC too.

    Args:
        temp_c: air temperature, degC; -40 to 100.
        rh_pct: relative humidity over water, %RH; above 0 (see below) to 100.

    Returns:
        Dew point over water, degC; -100 to temp_c. Below 0 degC see also `frost_point_c`.

    Raises:
        ValueError: air out of range, or so dry that its dew point lies below -100 degC; at 20 degC
            that is below 0.00016 %RH. Nothing at all (0 %RH) has no dew point.

    Equation: p_water(dew point) = rh/100 p_water(temp), solved by Newton to rounding.
    """
    maths, (temp, rh) = either(temp_c, rh_pct)
    vapour.check_air(temp, rh)
    dew: float | Array = vapour.saturated_at_c(vapour.WATER, maths, temp, rh)
    return dew


@overload
def frost_point_c(temp_c: float, rh_pct: float) -> float: ...
@overload
def frost_point_c(temp_c: ArrayLike, rh_pct: ArrayLike) -> Array: ...
def frost_point_c(temp_c: ArrayLike, rh_pct: ArrayLike) -> float | Array:
    """Give the temperature at which the air's vapour would settle as frost.

    Args:
        temp_c: air temperature, degC; -40 to 100.
        rh_pct: relative humidity over water, %RH; above 0 to 100.

    Returns:
        Frost point, degC; -100 to 0.01. It lies above the dew point, and above the air
        where the air holds more than ice does (-10 degC and 100 %RH: -8.9 degC).

    Raises:
        ValueError: air out of range or too dry as for `dew_point_c`, or its vapour is above that of ice at
            0.01 degC: then there is no frost, and the dew point is what to ask for.

    Equation: p_ice(frost point) = rh/100 p_water(temp), solved by Newton to rounding.
    """
    maths, (temp, rh) = either(temp_c, rh_pct)
    vapour.check_air(temp, rh)
    most_pa = saturation_vapour_pressure_pa(TRIPLE_POINT_C, over="ice")
    there_pa = vapour.pressure_of_vapour_pa(maths, temp, rh)
    found = vapour.first_where(there_pa > most_pa, there_pa)
    if found:
        raise ValueError(
            f"vapour pressure is {found[0]:g} Pa; for frost it must lie from 0 to {most_pa:g} Pa. "
            "This vapour settles as water: ask for the dew point"
        )
    frost: float | Array = vapour.saturated_at_c(vapour.ICE, maths, temp, rh)
    return frost


@overload
def wet_bulb_c(temp_c: float, rh_pct: float, *, pressure_pa: float = 101325.0) -> float: ...
@overload
def wet_bulb_c(temp_c: ArrayLike, rh_pct: ArrayLike, *, pressure_pa: ArrayLike = 101325.0) -> Array: ...
def wet_bulb_c(temp_c: ArrayLike, rh_pct: ArrayLike, *, pressure_pa: ArrayLike = 101325.0) -> float | Array:
    """Give the thermodynamic wet-bulb temperature: how cold evaporating water makes itself in this air.

    Args:
        temp_c: air temperature, degC; -40 to 100.
        rh_pct: relative humidity over water, %RH; 0 to 100.
        pressure_pa: pressure of the air, Pa; 50 000 to 120 000.

    Returns:
        Wet bulb, degC, over water also below 0 degC, so that dew point <= wet bulb <= air always,
        and all three are equal at 100 %RH.

    Raises:
        ValueError: an argument out of range, or vapour at or above the pressure of the air.

    Equation: ASHRAE Fundamentals 2017 ch. 1 eq. 33 (cited), solved by Newton to rounding.
    """
    maths, (temp, rh, pressure) = either(temp_c, rh_pct, pressure_pa)
    vapour.check_air(temp, rh)
    vapour_pa = vapour.pressure_of_vapour_pa(maths, temp, rh)
    vapour.check_pressure(vapour_pa, pressure)
    wet: float | Array = vapour.wet_bulb_of_c(maths, temp, vapour_pa, pressure)
    return wet


@overload
def absolute_humidity_g_m3(temp_c: float, rh_pct: float) -> float: ...
@overload
def absolute_humidity_g_m3(temp_c: ArrayLike, rh_pct: ArrayLike) -> Array: ...
def absolute_humidity_g_m3(temp_c: ArrayLike, rh_pct: ArrayLike) -> float | Array:
    """Give the grams of water vapour in a cubic metre of air.

    Args:
        temp_c: air temperature, degC; -40 to 100.
        rh_pct: relative humidity over water, %RH; 0 to 100.

    Returns:
        Absolute humidity, g/m3.

    Raises:
        ValueError: an argument out of range.

    Equation: e / (R_v T), ideal gas, with R_v = 461.52 J/(kg K) (computed).
    """
    maths, (temp, rh) = either(temp_c, rh_pct)
    vapour.check_air(temp, rh)
    vapour_pa = vapour.pressure_of_vapour_pa(maths, temp, rh)
    density: float | Array = 1000.0 * vapour_pa / (VAPOUR_GAS_J_KGK * (temp + vapour.ZERO_C_K))
    return density


@overload
def humidity_ratio_g_kg(temp_c: float, rh_pct: float, *, pressure_pa: float = 101325.0) -> float: ...
@overload
def humidity_ratio_g_kg(temp_c: ArrayLike, rh_pct: ArrayLike, *, pressure_pa: ArrayLike = 101325.0) -> Array: ...
def humidity_ratio_g_kg(temp_c: ArrayLike, rh_pct: ArrayLike, *, pressure_pa: ArrayLike = 101325.0) -> float | Array:
    """Give the grams of water vapour that go with a kilogram of dry air.

    Args:
        temp_c: air temperature, degC; -40 to 100.
        rh_pct: relative humidity over water, %RH; 0 to 100.
        pressure_pa: pressure of the air, Pa; 50 000 to 120 000.

    Returns:
        Humidity ratio, g/kg.

    Raises:
        ValueError: an argument out of range, or vapour at or above the pressure of the air.

    Equation: 621.945 e / (p - e), ASHRAE Fundamentals 2017 ch. 1 eq. 20 (cited).
    """
    maths, (temp, rh, pressure) = either(temp_c, rh_pct, pressure_pa)
    vapour.check_air(temp, rh)
    vapour_pa = vapour.pressure_of_vapour_pa(maths, temp, rh)
    vapour.check_pressure(vapour_pa, pressure)
    ratio: float | Array = 1000.0 * vapour.RATIO_OF_MASSES * vapour_pa / (pressure - vapour_pa)
    return ratio


@overload
def rh_at_temperature_pct(air_temp_c: float, air_rh_pct: float, surface_temp_c: float) -> float: ...
@overload
def rh_at_temperature_pct(air_temp_c: ArrayLike, air_rh_pct: ArrayLike, surface_temp_c: ArrayLike) -> Array: ...
def rh_at_temperature_pct(air_temp_c: ArrayLike, air_rh_pct: ArrayLike, surface_temp_c: ArrayLike) -> float | Array:
    """Give the relative humidity that the air's vapour has at the temperature of a surface.

    It holds where the vapour at the surface is that of the air: not under a membrane, and not where the
    surface itself gives or takes water faster than air brings it.

    Args:
        air_temp_c: temperature where the humidity was measured, degC; -40 to 100.
        air_rh_pct: relative humidity measured there, over water, %RH; 0 to 100.
        surface_temp_c: temperature of the surface, degC; -40 to 100.

    Returns:
        Relative humidity over water, %RH. It is not held at 100: above 100 the surface is colder than
        the dew point, and water condenses on it.

    Raises:
        ValueError: an argument out of range.

    Equation: rh p_water(air) / p_water(surface).
    """
    maths, (air, rh, surface) = either(air_temp_c, air_rh_pct, surface_temp_c)
    vapour.check_air(air, rh)
    within("surface temperature", "degC", surface, vapour.LOWEST_C, vapour.HIGHEST_C)
    at_surface: float | Array = rh * maths.exp(vapour.WATER.log_pa(maths, air) - vapour.WATER.log_pa(maths, surface))
    return at_surface
