"""The air over a saturated salt: fixed points of relative humidity, for checking a probe.

Equation: RH = A0 + A1 t + A2 t^2 + A3 t^3, t in degC; Greenspan, J. Res. Natl Bur. Stand. 81A(1),
1977, 89-96. The coefficients are cited: read in public programs that quote them, not in the paper.
Copies go round in which the linear terms of LiCl and K2CO3 have lost their sign; both are positive
(with minus, LiCl at 25 degC comes to 10.9 %RH, and a table that was read has 11.3). The paper's
table seems to cut its figures off rather than to round them: the polynomials lie up to 0.01 above.

NaBr: no coefficients were found. Its cubic is our own least-squares fit to the ten rows of the
paper's table as recalled; it meets all ten to 0.004 %RH, which ten wrong figures would hardly allow,
and a table that was read has the same from 5 to 25 degC to 0.1 %RH. It stays recalled.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias, overload

from monitor.figures import Figure, Grade
from monitor.science.elementwise import either, within
from monitor.science.tables import between

if TYPE_CHECKING:
    from monitor.science.elementwise import Array, ArrayLike

    Value: TypeAlias = float | Array

_STEP_C = 5.0
_QUOTED = "polynomial coefficients, quoted by public programs"


@dataclass(frozen=True)
class Salt:
    """One saturated salt.

    Attributes:
        low_c, high_c: range it is given for, degC.
        coefficients: A0, A1 ... in %RH and powers of degC.
        plus_minus_pct: the table's +- in %RH, every 5 degC from `low_c` to `high_c`; all recalled.
        note: what to know of the coefficients.
        grade, source, locator: how the coefficients are known.
    """

    low_c: float
    high_c: float
    coefficients: tuple[float, ...]
    plus_minus_pct: tuple[float, ...]
    note: str = ""
    grade: Grade = Grade.CITED
    source: str = "greenspan-1977"
    locator: str = _QUOTED


_SIGN = "the linear term's sign set right: copies have lost it"
_ONE = "the second coefficient is quoted by one program; it meets the recalled table"
_FIT = "our cubic through the ten rows of the paper's table, as recalled"

# fmt: off
SALTS = {
    "LiCl": Salt(
        0.0, 50.0, (11.2323, 0.00824245, -0.00021489),
        (0.54, 0.47, 0.41, 0.35, 0.31, 0.27, 0.24, 0.22, 0.21, 0.21, 0.22), _SIGN,
    ),
    "MgCl2": Salt(
        0.0, 50.0, (33.6686, -0.00797397, -0.00108988),
        (0.33, 0.28, 0.24, 0.21, 0.18, 0.16, 0.14, 0.13, 0.13, 0.13, 0.14),
    ),
    "K2CO3": Salt(
        0.0, 30.0, (43.1315, 0.00147523),
        (0.66, 0.50, 0.39, 0.33, 0.33, 0.39, 0.50), _SIGN,
    ),
    "Mg(NO3)2": Salt(
        0.0, 50.0, (60.3514, -0.298153),
        (0.55, 0.43, 0.33, 0.27, 0.23, 0.22, 0.24, 0.29, 0.37, 0.47, 0.60), _ONE,
    ),
    "NaBr": Salt(
        5.0, 50.0, (64.70967, -0.2213306, -0.004043124, 5.914530e-5),
        (0.72, 0.60, 0.51, 0.44, 0.40, 0.38, 0.38, 0.41, 0.47, 0.55), _FIT,
        Grade.RECALLED, "memory", "",
    ),
    "NaCl": Salt(
        0.0, 50.0, (75.5164, 0.0398321, -0.00265459, 2.848e-05),
        (0.34, 0.27, 0.22, 0.18, 0.14, 0.12, 0.11, 0.12, 0.13, 0.16, 0.19),
    ),
    "KCl": Salt(
        0.0, 50.0, (88.619, -0.19334, 0.000899706),
        (0.53, 0.45, 0.39, 0.33, 0.29, 0.26, 0.25, 0.25, 0.25, 0.28, 0.31),
    ),
    "KNO3": Salt(
        0.0, 50.0, (96.3361, 0.0112371, -0.00484514),
        (2.9, 2.1, 1.4, 0.96, 0.66, 0.55, 0.60, 0.83, 1.2, 1.8, 2.5),
    ),
    "K2SO4": Salt(
        0.0, 50.0, (98.7792, -0.0590502),
        (1.1, 0.91, 0.76, 0.63, 0.53, 0.45, 0.40, 0.38, 0.38, 0.40, 0.45),
    ),
}
# fmt: on


def _figures() -> dict[str, Figure]:
    """Give every coefficient, and the +- of every salt, with their source."""
    found = {}
    for name, salt in SALTS.items():
        for power, value in enumerate(salt.coefficients):
            unit = "%RH" if power == 0 else f"%RH/K{power if power > 1 else ''}"
            found[f"salts.{name}.a{power}"] = Figure(value, unit, salt.source, salt.grade, salt.locator, salt.note)
        every = salt.plus_minus_pct
        found[f"salts.{name}.plus-minus"] = Figure(
            every[round((20 - salt.low_c) / _STEP_C)], "%RH", "memory", Grade.RECALLED,
            note="at 20 degC; low and high over the range", low=min(every), high=max(every),
        )  # fmt: skip
    return found


FIGURES = _figures()


@overload
def fixed_point_rh_pct(salt: str, temp_c: float) -> float: ...
@overload
def fixed_point_rh_pct(salt: str, temp_c: ArrayLike) -> Array: ...
def fixed_point_rh_pct(salt: str, temp_c: ArrayLike) -> Value:
    """Give the relative humidity of the air over a saturated salt, at rest with it and as warm as it is.

    Equation and source: Greenspan 1977, cited; NaBr recalled (see the module).

    Args:
        salt: LiCl, MgCl2, K2CO3, Mg(NO3)2, NaBr, NaCl, KCl, KNO3 or K2SO4.
        temp_c: temperature of the salt in degC, a number or an array of any shape; 0 to 50,
            NaBr 5 to 50, K2CO3 0 to 30.

    Returns:
        Relative humidity in %RH, of the same shape; NaN where the temperature is NaN.

    Raises:
        ValueError: the salt is not known, or a temperature lies outside its range.
    """
    row, (temp,) = _known(salt), either(temp_c)[1]
    within(f"temperature of the {salt}", "degC", temp, row.low_c, row.high_c)
    found: Value = 0.0 * temp
    for coefficient in reversed(row.coefficients):
        found = found * temp + coefficient
    return found


@overload
def uncertainty_pct(salt: str, temp_c: float) -> float: ...
@overload
def uncertainty_pct(salt: str, temp_c: ArrayLike) -> Array: ...
def uncertainty_pct(salt: str, temp_c: ArrayLike) -> Value:
    """Give the +- that stands beside a fixed point, on straight lines between rows 5 degC apart.

    Source: the table in Greenspan 1977, recalled. What multiple of a standard deviation it is was
    not read. It is the solution's own; the probe's comes beside it.

    Args:
        salt: as for `fixed_point_rh_pct`.
        temp_c: temperature of the salt in degC, a number or an array of any shape; the same range.

    Returns:
        Half width in %RH, above 0, of the same shape; NaN where the temperature is NaN.

    Raises:
        ValueError: the salt is not known, or a temperature lies outside its range.
    """
    row, (maths, (temp,)) = _known(salt), either(temp_c)
    within(f"temperature of the {salt}", "degC", temp, row.low_c, row.high_c)
    knots = [row.low_c + _STEP_C * index for index in range(len(row.plus_minus_pct))]
    return between(maths, temp, knots, row.plus_minus_pct)


def _known(salt: str) -> Salt:
    """Give a salt's row, or say which salts there are."""
    if salt not in SALTS:
        raise ValueError(f"salt {salt!r} is not known; known are {', '.join(SALTS)}")
    return SALTS[salt]
