"""Platinum resistance thermometer of 100 ohm (Pt100): resistance, temperature and tolerance.

Callendar-Van Dusen equation with the constants of IEC 60751, read in four texts that quote it:
R = R0 (1 + A t + B t^2) from 0 degC up, and R0 (1 + A t + B t^2 + C (t - 100) t^3) below.
One circulating copy has C = -4.2735e-12; that belongs to an older curve.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, TypeAlias, overload

from monitor.figures import Figure, Grade
from monitor.science.elementwise import Maths, either, within

if TYPE_CHECKING:
    from monitor.science.elementwise import Array, ArrayLike

    Value: TypeAlias = float | Array

R0_OHM, A, B, C = 100.0, 3.9083e-3, -5.775e-7, -4.183e-12
LOW_C, HIGH_C = -200.0, 850.0
TOLERANCES = {"AA": (0.1, 0.0017), "A": (0.15, 0.002), "B": (0.3, 0.005)}
"""Class: tolerance at 0 degC in K, and what each degC without its sign adds."""

_CURVE = ("iec-60751", Grade.CITED, "Callendar-Van Dusen equation", f"{LOW_C:g} to {HIGH_C:g} degC")
_CLASSES = ("iec-60751", Grade.CITED, "tolerance classes")
FIGURES = {
    "resistance.pt100.r0": Figure(R0_OHM, "ohm", *_CURVE),
    "resistance.pt100.a": Figure(A, "1/K", *_CURVE),
    "resistance.pt100.b": Figure(B, "1/K2", *_CURVE),
    "resistance.pt100.c": Figure(C, "1/K4", "iec-60751", Grade.CITED, _CURVE[2], "below 0 degC only"),
    **{f"resistance.class-{name}.fixed": Figure(row[0], "K", *_CLASSES) for name, row in TOLERANCES.items()},
    **{f"resistance.class-{name}.slope": Figure(row[1], "K/K", *_CLASSES) for name, row in TOLERANCES.items()},
}

_STEPS = 5
"""Newton steps; the quadratic's first guess is 2.5 degC off at worst, at -200 degC."""
_SLACK_OHM = 0.005
"""What rounding to a table's 0.01 ohm may add at the ends: -200 degC is printed as 18.52 ohm."""


@overload
def resistance_ohm(temp_c: float) -> float: ...
@overload
def resistance_ohm(temp_c: ArrayLike) -> Array: ...
def resistance_ohm(temp_c: ArrayLike) -> Value:
    """Give a Pt100's resistance by the Callendar-Van Dusen equation (see the module).

    Args:
        temp_c: temperature in degC, a number or an array of any shape; -200 to 850.

    Returns:
        Resistance in ohm, of the same shape; NaN where the temperature is NaN.

    Raises:
        ValueError: a temperature lies outside the range.
    """
    maths, (temp,) = either(temp_c)
    within("temperature of the Pt100", "degC", temp, LOW_C, HIGH_C)
    return _resistance_and_slope(maths, temp)[0]


@overload
def temperature_c(resistance_ohm: float) -> float: ...
@overload
def temperature_c(resistance_ohm: ArrayLike) -> Array: ...
def temperature_c(resistance_ohm: ArrayLike) -> Value:
    """Give the temperature of a Pt100 from its resistance, leads not included.

    The quadratic of the upper branch is solved for a first guess, which Newton's method brings onto
    the equation of the branch it lies in (better than 1e-6 degC).

    Args:
        resistance_ohm: resistance in ohm, a number or an array of any shape; 18.52 to 390.48,
            which is -200 to 850 degC.

    Returns:
        Temperature in degC, of the same shape; NaN where the resistance is NaN. A resistance rounded to
        0.01 ohm may lie by up to 0.02 degC beyond either end.

    Raises:
        ValueError: a resistance lies outside the range.
    """
    maths, (measured,) = either(resistance_ohm)
    within("resistance of the Pt100", "ohm", measured, *_range_ohm())
    temp = ((A**2 - 4 * B * (1 - measured / R0_OHM)) ** 0.5 - A) / (2 * B)
    for _ in range(_STEPS):
        value, slope = _resistance_and_slope(maths, temp)
        temp = temp - (value - measured) / slope
    found: Value = temp
    return found


@overload
def tolerance_c(class_: str, temp_c: float) -> float: ...
@overload
def tolerance_c(class_: str, temp_c: ArrayLike) -> Array: ...
def tolerance_c(class_: str, temp_c: ArrayLike) -> Value:
    """Give what a Pt100 of a class may be off by, either way: a fixed part and a share of the temperature.

    Source: IEC 60751, cited. The standard grants a class over less than the curve's range, by how
    the element is made (about -50 to 250 degC for AA, -100 to 450 for A, wire-wound; recalled, not
    read), so that is not refused here: look it up for the element.

    Args:
        class_: "AA", "A" or "B".
        temp_c: temperature in degC, a number or an array of any shape; -200 to 850.

    Returns:
        Tolerance in K, above 0, of the same shape; NaN where the temperature is NaN.

    Raises:
        ValueError: the class is not known, or a temperature lies outside the range.
    """
    if class_ not in TOLERANCES:
        raise ValueError(f"Pt100 tolerance class {class_!r} is not known; known are {', '.join(TOLERANCES)}")
    fixed, slope = TOLERANCES[class_]
    _, (temp,) = either(temp_c)
    within(f"temperature for Pt100 class {class_}", "degC", temp, LOW_C, HIGH_C)
    found: Value = fixed + slope * abs(temp)
    return found


def _resistance_and_slope(maths: Maths, temp: Value) -> tuple[Value, Value]:
    """Give resistance in ohm and its slope in ohm/K."""
    value = R0_OHM * (1 + A * temp + B * temp**2)
    slope = R0_OHM * (A + 2 * B * temp)
    more = R0_OHM * C * (temp - 100) * temp**3
    more_slope = R0_OHM * C * (4 * temp - 300) * temp**2
    return value + maths.where(temp < 0, more, 0.0), slope + maths.where(temp < 0, more_slope, 0.0)


@cache
def _range_ohm() -> tuple[float, float]:
    """Give the resistances that belong to the ends of the range."""
    return resistance_ohm(LOW_C) - _SLACK_OHM, resistance_ohm(HIGH_C) + _SLACK_OHM
