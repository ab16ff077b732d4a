"""Uncertainty of measured and derived values, and what it does to a comparison with a limit.

Budgets (`Share`, `Budget`) hold each input's share by name, their root-sum-square and its expansion;
`judge` and `probability_inside` compare with limits. Both are re-exported here. Below they are
applied to the dew point and to humidity at a surface, with the formulas' own derivatives at the
measured point (JCGM 100:2008, 5.1.2, recalled), the inputs taken as independent. Against Monte Carlo runs
with errors up to +-1.8 %RH and +-0.2 K the result is right to 1 % from 10 %RH up; in drier
air the dew point bends more (3 % too little at 5 %RH).

Numbers may be arrays, element by element; NaN gives NaN.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from monitor.science import vapour
from monitor.science.budget import Budget, Share, normal_standard, rectangular_standard
from monitor.science.conformity import Verdict, judge, judge_side, probability_inside
from monitor.science.elementwise import either
from monitor.science.humidity import dew_point_c, rh_at_temperature_pct

if TYPE_CHECKING:
    from monitor.science.elementwise import ArrayLike

__all__ = [
    "Budget",
    "Share",
    "Verdict",
    "dew_point_budget",
    "dew_point_margin_budget",
    "judge",
    "judge_side",
    "normal_standard",
    "probability_inside",
    "rectangular_standard",
    "surface_humidity_budget",
]


def dew_point_budget(temp_c: ArrayLike, rh_pct: ArrayLike, *, temp_u_k: ArrayLike, rh_u_pct: ArrayLike) -> Budget:
    """Give the dew point of air with the uncertainty that its two measured values lend it.

    Args:
        temp_c, rh_pct: as in `humidity.dew_point_c`, degC and %RH.
        temp_u_k: standard uncertainty of the air temperature, K.
        rh_u_pct: standard uncertainty of the relative humidity, %RH.

    Returns:
        Value in degC, uncertainty in K; inputs `air_temperature`, `relative_humidity`.

    Raises:
        ValueError: as in `humidity.dew_point_c`, or an uncertainty is below 0.

    Equation: with s(T) = d ln p_water / dT, dTd/dT = s(T) / s(Td) and dTd/dRH = 1 / (RH s(Td)).
    """
    _, (temp, rh, temp_u, rh_u) = either(temp_c, rh_pct, temp_u_k, rh_u_pct)
    dew = dew_point_c(temp, rh)
    at_dew = vapour.WATER.slope_per_k(dew)
    by_temp = Share("air_temperature", vapour.WATER.slope_per_k(temp) / at_dew, temp_u)
    return Budget(dew, (by_temp, Share("relative_humidity", 1.0 / (rh * at_dew), rh_u)))


def dew_point_margin_budget(
    temp_c: ArrayLike,
    rh_pct: ArrayLike,
    surface_temp_c: ArrayLike,
    *,
    temp_u_k: ArrayLike,
    rh_u_pct: ArrayLike,
    surface_u_k: ArrayLike,
) -> Budget:
    """Give by how much a surface is warmer than the air's dew point, with its uncertainty.

    Args:
        temp_c, rh_pct, temp_u_k, rh_u_pct: as in `dew_point_budget`.
        surface_temp_c: temperature of the surface, degC.
        surface_u_k: its standard uncertainty, K.

    Returns:
        Value and uncertainty in K; inputs as in `dew_point_budget`, and `surface_temperature`.

    Raises:
        ValueError: as in `dew_point_budget`.
    """
    inputs = either(temp_c, rh_pct, surface_temp_c, temp_u_k, rh_u_pct, surface_u_k)[1]
    temp, rh, surface, temp_u, rh_u, surface_u = inputs
    dew = dew_point_budget(temp, rh, temp_u_k=temp_u, rh_u_pct=rh_u)
    of_air = tuple(Share(share.input, -share.sensitivity, share.standard) for share in dew.shares)
    return Budget(surface - dew.value, (*of_air, Share("surface_temperature", 1.0, surface_u)))


def surface_humidity_budget(
    air_temp_c: ArrayLike,
    air_rh_pct: ArrayLike,
    surface_temp_c: ArrayLike,
    *,
    air_temp_u_k: ArrayLike,
    air_rh_u_pct: ArrayLike,
    surface_u_k: ArrayLike,
) -> Budget:
    """Give the humidity of the air's vapour at a surface's temperature, with its uncertainty.

    Args:
        air_temp_c, air_rh_pct, surface_temp_c: as in `humidity.rh_at_temperature_pct`.
        air_temp_u_k, surface_u_k: standard uncertainties of the two temperatures, K.
        air_rh_u_pct: standard uncertainty of the relative humidity, %RH.

    Returns:
        Value and uncertainty in %RH; inputs `air_temperature`, `relative_humidity`, `surface_temperature`.

    Raises:
        ValueError: as in `humidity.rh_at_temperature_pct`, or an uncertainty is below 0.

    Equation: R = RH p(Ta)/p(Ts); dR/dTa = R s(Ta), dR/dRH = p(Ta)/p(Ts), dR/dTs = -R s(Ts).
    """
    inputs = either(air_temp_c, air_rh_pct, surface_temp_c, air_temp_u_k, air_rh_u_pct, surface_u_k)[1]
    air, rh, surface, air_u, rh_u, surface_u = inputs
    there = rh_at_temperature_pct(air, rh, surface)
    shares = (
        Share("air_temperature", there * vapour.WATER.slope_per_k(air), air_u),
        Share("relative_humidity", rh_at_temperature_pct(air, 0.0 * rh + 100.0, surface) / 100.0, rh_u),
        Share("surface_temperature", -there * vapour.WATER.slope_per_k(surface), surface_u),
    )
    return Budget(there, shares)
