"""The reference functions of the ITS-90 thermocouple tables, types K and T.

Source: Burns, Scroger, Strouse, Croarkin and Guthrie, NIST Monograph 175 (1993), as the text
tables of the NIST ITS-90 thermocouple database give it: "reference function on ITS-90" and
"inverse coefficients" of each type. The tests hold every digit against those files.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from monitor.science.elementwise import Array, Maths

    Value: TypeAlias = float | Array


@dataclass(frozen=True)
class Inverse:
    """One approximate inverse polynomial.

    Attributes:
        from_mv: the voltage from which it is used, in mV; up to that of the next one.
        coefficients: constant term first, degC and mV.
    """

    from_mv: float
    coefficients: tuple[float, ...]


@dataclass(frozen=True)
class Reference:
    """A type's reference function, mV of degC, its reference junction at 0 degC.

    Attributes:
        low_c, high_c: where the reference function holds, degC.
        inverse_low_c: from where the inverse polynomials hold, degC; up to `high_c`.
        below, above: coefficients up to and above 0 degC, constant term first.
        bell: a0, a1, a2 of a0 exp(a1 (t - a2)^2), added above 0 degC; a0 is 0 where there is none.
        inverses: in rising order of voltage.
    """

    low_c: float
    high_c: float
    inverse_low_c: float
    below: tuple[float, ...]
    above: tuple[float, ...]
    bell: tuple[float, float, float]
    inverses: tuple[Inverse, ...]


# fmt: off
_K = Reference(
    low_c=-270.0,
    high_c=1372.0,
    inverse_low_c=-200.0,
    below=(
        0.0, 0.394501280250E-01, 0.236223735980E-04, -0.328589067840E-06, -0.499048287770E-08,
        -0.675090591730E-10, -0.574103274280E-12, -0.310888728940E-14, -0.104516093650E-16,
        -0.198892668780E-19, -0.163226974860E-22,
    ),
    above=(
        -0.176004136860E-01, 0.389212049750E-01, 0.185587700320E-04, -0.994575928740E-07,
        0.318409457190E-09, -0.560728448890E-12, 0.560750590590E-15, -0.320207200030E-18,
        0.971511471520E-22, -0.121047212750E-25,
    ),
    bell=(0.118597600000E+00, -0.118343200000E-03, 0.126968600000E+03),
    inverses=(
        Inverse(-5.891, (
            0.0, 2.5173462E+01, -1.1662878E+00, -1.0833638E+00, -8.9773540E-01, -3.7342377E-01,
            -8.6632643E-02, -1.0450598E-02, -5.1920577E-04,
        )),
        Inverse(0.0, (
            0.0, 2.508355E+01, 7.860106E-02, -2.503131E-01, 8.315270E-02, -1.228034E-02,
            9.804036E-04, -4.413030E-05, 1.057734E-06, -1.052755E-08,
        )),
        Inverse(20.644, (
            -1.318058E+02, 4.830222E+01, -1.646031E+00, 5.464731E-02, -9.650715E-04, 8.802193E-06,
            -3.110810E-08,
        )),
    ),
)

_T = Reference(
    low_c=-270.0,
    high_c=400.0,
    inverse_low_c=-200.0,
    below=(
        0.0, 0.387481063640E-01, 0.441944343470E-04, 0.118443231050E-06, 0.200329735540E-07,
        0.901380195590E-09, 0.226511565930E-10, 0.360711542050E-12, 0.384939398830E-14,
        0.282135219250E-16, 0.142515947790E-18, 0.487686622860E-21, 0.107955392700E-23,
        0.139450270620E-26, 0.797951539270E-30,
    ),
    above=(
        0.0, 0.387481063640E-01, 0.332922278800E-04, 0.206182434040E-06, -0.218822568460E-08,
        0.109968809280E-10, -0.308157587720E-13, 0.454791352900E-16, -0.275129016730E-19,
    ),
    bell=(0.0, 0.0, 0.0),
    inverses=(
        Inverse(-5.603, (
            0.0, 2.5949192E+01, -2.1316967E-01, 7.9018692E-01, 4.2527777E-01, 1.3304473E-01,
            2.0241446E-02, 1.2668171E-03,
        )),
        Inverse(0.0, (
            0.0, 2.592800E+01, -7.602961E-01, 4.637791E-02, -2.165394E-03, 6.048144E-05,
            -7.293422E-07,
        )),
    ),
)
# fmt: on

REFERENCES = {"K": _K, "T": _T}


def emf_and_slope(maths: Maths, reference: Reference, temp: Value) -> tuple[Value, Value]:
    """Give a type's voltage in mV and its slope in mV/K at a temperature in degC; no range is checked."""
    cold, cold_slope = _polynomial(reference.below, temp)
    hot, hot_slope = _polynomial(reference.above, temp)
    height, width, middle = reference.bell
    if height:
        bell = height * maths.exp(width * (temp - middle) ** 2)
        hot, hot_slope = hot + bell, hot_slope + 2 * width * (temp - middle) * bell
    return maths.where(temp > 0, hot, cold), maths.where(temp > 0, hot_slope, cold_slope)


def guess(maths: Maths, inverses: tuple[Inverse, ...], total_mv: Value) -> Value:
    """Give the temperature in degC by the inverse polynomial in whose range the voltage lies, within 0.06 degC."""
    temp = _polynomial(inverses[0].coefficients, total_mv)[0]
    for inverse in inverses[1:]:
        temp = maths.where(total_mv >= inverse.from_mv, _polynomial(inverse.coefficients, total_mv)[0], temp)
    return temp


def _polynomial(coefficients: tuple[float, ...], x: Value) -> tuple[Value, Value]:
    """Give a polynomial and its derivative by Horner's scheme, constant term first."""
    value, slope = x * 0.0, x * 0.0
    for coefficient in reversed(coefficients):
        slope = slope * x + value
        value = value * x + coefficient
    return value, slope
