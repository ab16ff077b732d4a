"""Thermocouples of types K and T: voltage, temperature and tolerance.

Voltages are those of the ITS-90 reference functions (NIST Monograph 175, 1993; the numbers are in
`its90.py`): a polynomial in t up to 0 degC and another above it, to which type K adds
a0 exp(a1 (t - a2)^2). Tolerances are those of IEC 60584-1:2013, read in three texts that quote it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, TypeAlias, overload

from monitor.figures import Figure, Grade
from monitor.science.elementwise import Maths, either, within
from monitor.science.its90 import REFERENCES, Reference, emf_and_slope, guess

if TYPE_CHECKING:
    from monitor.science.elementwise import Array, ArrayLike

    Value: TypeAlias = float | Array

_STEPS = 3
"""Newton steps; the first guess is within 0.06 degC and two bring it below 1e-9 degC."""
_SLACK_MV = 0.0005
"""What rounding to a table's 0.001 mV may add at the ends: of type T, 400 degC is printed as 20.872 mV."""


@overload
def emf_mv(kind: str, temp_c: float) -> float: ...
@overload
def emf_mv(kind: str, temp_c: ArrayLike) -> Array: ...
def emf_mv(kind: str, temp_c: ArrayLike) -> Value:
    """Give the thermoelectric voltage against a reference junction at 0 degC.

    Equation: ITS-90 reference function of the type, NIST Monograph 175 (see the module).

    Args:
        kind: "K" or "T".
        temp_c: temperature of the measuring junction in degC, a number or an array of any shape;
            -270 to 1372 for K, -270 to 400 for T.

    Returns:
        Voltage in mV, of the same shape; NaN where the temperature is NaN.

    Raises:
        ValueError: the type is not known, or a temperature lies outside the range.
    """
    reference = _reference(kind)
    maths, (temp,) = either(temp_c)
    return _checked_emf(kind, reference, maths, "temperature", temp)


@overload
def temperature_c(kind: str, emf_mv: float, *, cold_junction_c: float) -> float: ...
@overload
def temperature_c(kind: str, emf_mv: ArrayLike, *, cold_junction_c: ArrayLike) -> Array: ...
def temperature_c(kind: str, emf_mv: ArrayLike, *, cold_junction_c: ArrayLike) -> Value:
    """Give the temperature of the measuring junction from the voltage at the terminals.

    The cold junction's own voltage is added, never its degrees; the sum is inverted by the NIST
    inverse polynomial, and that first guess is brought onto the reference function by Newton's
    method (better than 1e-6 degC).

    Args:
        kind: "K" or "T".
        emf_mv: voltage measured at the terminals in mV, a number or an array.
        cold_junction_c: temperature of the terminals in degC, a number or an array that broadcasts
            against the voltage; the range of `emf_mv`.

    Returns:
        Temperature in degC, -200 to 1372 for K and -200 to 400 for T (by up to 0.04 degC more where a
        voltage was rounded to 0.001 mV), of the broadcast shape; NaN where either argument is NaN.

    Raises:
        ValueError: the type is not known, or the cold junction, or the voltage with the cold
            junction's added, lies outside the type's range. Below -200 degC there is no inverse
            polynomial, and a thermocouple of these types says little there.
    """
    reference = _reference(kind)
    maths, (measured, cold) = either(emf_mv, cold_junction_c)
    total = measured + _checked_emf(kind, reference, maths, "cold junction temperature", cold)
    low, high = _inverse_range_mv(kind)
    within(f"voltage of the type {kind} thermocouple with its cold junction's added", "mV", total, low, high)
    temp = guess(maths, reference.inverses, total)
    for _ in range(_STEPS):
        value, slope = emf_and_slope(maths, reference, temp)
        temp = temp - (value - total) / slope
    return temp


@dataclass(frozen=True)
class Tolerance:
    """What a new wire of a class may be off by: the greater of a fixed part and a share.

    Attributes:
        fixed_c: the fixed part in K.
        share_pct: the other part, in % of the temperature in degC without its sign.
        low_c, high_c: temperatures the class is given for, degC.
    """

    fixed_c: float
    share_pct: float
    low_c: float
    high_c: float


TOLERANCES = {
    ("K", 1): Tolerance(1.5, 0.4, -40.0, 1000.0),
    ("K", 2): Tolerance(2.5, 0.75, -40.0, 1200.0),
    ("T", 1): Tolerance(0.5, 0.4, -40.0, 350.0),
    ("T", 2): Tolerance(1.0, 0.75, -40.0, 350.0),
}


def _figures() -> dict[str, Figure]:
    """Give the classes' numbers with their source."""
    found = {}
    for (kind, class_), row in TOLERANCES.items():
        cited = ("iec-60584-1-2013", Grade.CITED, f"tolerance classes, type {kind}, class {class_}")
        note = f"new wire, {row.low_c:g} to {row.high_c:g} degC; the greater of fixed part and share"
        found[f"thermocouple.{kind}.class-{class_}.fixed"] = Figure(row.fixed_c, "K", *cited, note)
        found[f"thermocouple.{kind}.class-{class_}.share"] = Figure(row.share_pct, "%", *cited, note)
    return found


FIGURES = _figures()


@overload
def tolerance_c(kind: str, class_: int, temp_c: float) -> float: ...
@overload
def tolerance_c(kind: str, class_: int, temp_c: ArrayLike) -> Array: ...
def tolerance_c(kind: str, class_: int, temp_c: ArrayLike) -> Value:
    """Give what a new wire of a class may be off by, either way; used wire drifts further.

    Source: IEC 60584-1:2013, cited. The end of T class 2 at 350 degC is where the quoted
    table's rows end.

    Args:
        kind: "K" or "T".
        class_: 1 or 2.
        temp_c: temperature of the measuring junction in degC, a number or an array of any shape;
            -40 to 1000 (K class 1), 1200 (K class 2) or 350 (T).

    Returns:
        Tolerance in K, above 0, of the same shape; NaN where the temperature is NaN.

    Raises:
        ValueError: type or class is not known, or a temperature lies outside the class's range.
    """
    _reference(kind)
    if (kind, class_) not in TOLERANCES:
        raise ValueError(f"tolerance class {class_!r} of type {kind} is not known; known are 1 and 2")
    row = TOLERANCES[kind, class_]
    maths, (temp,) = either(temp_c)
    within(f"temperature for type {kind} class {class_}", "degC", temp, row.low_c, row.high_c)
    share = abs(temp) * row.share_pct / 100
    greater: Value = maths.where(row.fixed_c >= share, row.fixed_c, share)
    return greater


def _reference(kind: str) -> Reference:
    """Give a type's numbers, or say which types there are."""
    if kind not in REFERENCES:
        raise ValueError(f"thermocouple type {kind!r} is not known; known are {', '.join(REFERENCES)}")
    return REFERENCES[kind]


def _checked_emf(kind: str, reference: Reference, maths: Maths, quantity: str, temp: Value) -> Value:
    """Give the voltage of a temperature that must lie in the type's range."""
    within(f"{quantity} of the type {kind} thermocouple", "degC", temp, reference.low_c, reference.high_c)
    return emf_and_slope(maths, reference, temp)[0]


@cache
def _inverse_range_mv(kind: str) -> tuple[float, float]:
    """Give the voltages that belong to the ends of the inverse's range."""
    reference = REFERENCES[kind]
    return emf_mv(kind, reference.inverse_low_c) - _SLACK_MV, emf_mv(kind, reference.high_c) + _SLACK_MV
