"""The pressure of saturated water vapour, the temperature that belongs to a pressure, and the wet bulb.

Saturation: R. W. Hyland and A. Wexler, ASHRAE Transactions 89 (2A), 1983, as given in ASHRAE
Handbook Fundamentals 2017, ch. 1, eqs. 5 (ice) and 6 (water); cited. Its own ranges are
-100..0 degC over ice and 0..200 degC over water. Below 0 degC the equation for water is
extrapolated to what supercooled water would give, since that is what sensors of relative
humidity refer to. Against Sonntag 1990, the equation weather services refer to, it differs
there by at most 0.04 % down to -20 degC, 0.09 % to -40, 0.19 % to -60, 0.82 % to -100
(0.05 K in dew point); from 0 to 100 degC by at most 0.03 %.

Every function here takes the `Maths` that fits its numbers or arrays, see `elementwise`;
`humidity` and `uncertainty` are what others call.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from monitor.science.elementwise import Maths, within

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from monitor.science.elementwise import Array

    Value: TypeAlias = float | Array
    Truth: TypeAlias = bool | npt.NDArray[np.bool_]

ZERO_C_K = 273.15
LOWEST_C, HIGHEST_C = -40.0, 100.0
"""Temperatures that air and surfaces may have here, degC."""
LOWEST_DEW_C = -100.0
"""Where dew and frost points end, degC: there the equation for ice ends too."""
LOWEST_PA, HIGHEST_PA = 50_000.0, 120_000.0
"""Pressures of air, Pa: sea level in any weather up to some 5500 m."""
RATIO_OF_MASSES = 0.621945
"""A mole of water against a mole of dry air; ASHRAE Fundamentals 2017, ch. 1, eq. 20 (cited)."""

# Four and eight are where Newton's step has sunk below rounding everywhere in the ranges above, with one to spare.
_DEW_STEPS, _WET_STEPS = 4, 9


@dataclass(frozen=True)
class Curve:
    """ln(p/Pa) = inverse/T + constant + T (t1 + T (t2 + T (t3 + T t4))) + log ln T, with T in K.

    `guess` holds the two constants of a Magnus formula, from which the inverse starts:
    WMO-No. 8, annex 4.B (cited). They leave no trace in the result.
    """

    inverse: float
    constant: float
    powers: tuple[float, float, float, float]
    log: float
    guess: tuple[float, float]

    def log_pa(self, maths: Maths, temp_c: Value) -> Value:
        """Give ln of the saturation pressure in Pa at temp_c in degC."""
        t1, t2, t3, t4 = self.powers
        t = temp_c + ZERO_C_K
        polynomial: Value = self.constant + t * (t1 + t * (t2 + t * (t3 + t * t4)))
        logarithm: Value = maths.log(t)
        return self.inverse / t + polynomial + self.log * logarithm

    def slope_per_k(self, temp_c: Value) -> Value:
        """Give d ln p / dT in 1/K at temp_c in degC."""
        t1, t2, t3, t4 = self.powers
        t = temp_c + ZERO_C_K
        return (self.log - self.inverse / t) / t + t1 + t * (2 * t2 + t * (3 * t3 + t * 4 * t4))

    def temp_c(self, maths: Maths, log_pa: Value) -> Value:
        """Give the temperature in degC at which vapour of ln(pressure in Pa) is saturated; by Newton."""
        slope, offset = self.guess
        x = log_pa - math.log(611.2)
        temp_c = offset * x / (slope - x)
        for _ in range(_DEW_STEPS):
            temp_c = temp_c - (self.log_pa(maths, temp_c) - log_pa) / self.slope_per_k(temp_c)
        return temp_c


WATER = Curve(
    -5800.2206, 1.3914993, (-0.048640239, 4.1764768e-5, -1.4452093e-8, 0.0), 6.5459673, guess=(17.62, 243.12)
)
ICE = Curve(
    -5674.5359,
    6.3925247,
    (-9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13),
    4.1635019,
    guess=(22.46, 272.62),
)


def check_air(temp_c: Value, rh_pct: Value) -> None:
    """Refuse air that is not -40..100 degC and 0..100 %RH."""
    within("air temperature", "degC", temp_c, LOWEST_C, HIGHEST_C)
    within("relative humidity", "%RH", rh_pct, 0.0, 100.0)


def pressure_of_vapour_pa(maths: Maths, temp_c: Value, rh_pct: Value) -> Value:
    """Give the partial pressure of vapour in Pa; relative humidity is over water at every temperature."""
    saturated_pa: Value = maths.exp(WATER.log_pa(maths, temp_c))
    return rh_pct / 100.0 * saturated_pa


def saturated_at_c(curve: Curve, maths: Maths, temp_c: Value, rh_pct: Value) -> Value:
    """Give the temperature in degC at which the vapour of this air is saturated over water or ice.

    Raises:
        ValueError: the air is drier than a dew or frost point of -100 degC.
    """
    least_pct = 100.0 * maths.exp(curve.log_pa(maths, LOWEST_DEW_C) - WATER.log_pa(maths, temp_c))
    dry = first_where(rh_pct < least_pct, temp_c, rh_pct, least_pct)
    if dry:
        raise ValueError(
            f"relative humidity is {dry[1]:g} %RH; at {dry[0]:g} degC it must lie from {dry[2]:.3g} to 100 %RH: "
            f"drier air has no dew or frost point above {LOWEST_DEW_C:g} degC"
        )
    return curve.temp_c(maths, maths.log(pressure_of_vapour_pa(maths, temp_c, rh_pct)))


def check_pressure(vapour_pa: Value, pressure_pa: Value) -> None:
    """Refuse pressures of air out of range, and vapour that would leave no room for air."""
    within("pressure", "Pa", pressure_pa, LOWEST_PA, HIGHEST_PA)
    full = first_where(vapour_pa >= pressure_pa, vapour_pa, pressure_pa)
    if full:
        raise ValueError(
            f"vapour pressure is {full[0]:g} Pa; it must lie from 0 to below the pressure, {full[1]:g} Pa"
        )


def wet_bulb_of_c(maths: Maths, temp_c: Value, vapour_pa: Value, pressure_pa: Value) -> Value:
    """Solve ASHRAE's balance of the wet bulb for its temperature in degC.

    W (2501 + 1.86 t - 4.186 x) = W_s(x) (2501 - 2.326 x) - 1.006 (t - x), heats in kJ/kg. Both humidity
    ratios W are written as pressures and the denominators multiplied out, so that nothing
    is singular at the boiling point. What is left is convex and rising in x and not below 0 at the
    air's own temperature, so that Newton walks down from there to the root and never past it.
    """
    dry_pa = pressure_pa - vapour_pa
    heat = 1.006 / RATIO_OF_MASSES
    wet_c = temp_c
    for _ in range(_WET_STEPS):
        full_pa = maths.exp(WATER.log_pa(maths, wet_c))
        full_slope = full_pa * WATER.slope_per_k(wet_c)
        latent = 2501.0 - 2.326 * wet_c
        given = heat * dry_pa * (temp_c - wet_c) + vapour_pa * (2501.0 + 1.86 * temp_c - 4.186 * wet_c)
        excess = latent * full_pa * dry_pa - (pressure_pa - full_pa) * given
        slope = dry_pa * (latent * full_slope - 2.326 * full_pa) + full_slope * given
        slope = slope + (pressure_pa - full_pa) * (heat * dry_pa + 4.186 * vapour_pa)
        wet_c = wet_c - excess / slope
    return wet_c


def first_where(condition: Truth, *values: Value) -> tuple[float, ...]:
    """Give the values that belong to the first place where the condition holds; none if it holds nowhere."""
    if isinstance(condition, bool):
        return tuple(float(value) for value in values) if condition else ()
    if not condition.any():
        return ()
    import numpy as np

    place = int(condition.argmax())
    return tuple(float(np.broadcast_to(value, condition.shape).flat[place]) for value in values)
