"""Comparison of a measured number with limits, with and without a guard band.

After JCGM 106:2012 and ILAC-G8:09/2019 (cited): a guard band as wide as the expanded uncertainty
(k = 2) leaves less than 2.5 % of wrong acceptances at the limit, none leaves up to 50 %. Numbers only.
"""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

Verdict: TypeAlias = Literal["inside", "outside", "between", "not known"]
"""`between`: nearer to the limit than the guard band, so that what was measured does not tell on which side it
lies. `not known`: nothing was measured (NaN)."""


def judge_side(value: float, limit: float, side: Literal["low", "high"], *, guard: float = 0.0) -> Verdict:
    """Compare a number with one limit.

    With a guard band of 0 this is simple acceptance: a value equal to the limit is inside. With
    one of w (take w = U, the expanded uncertainty) the value is inside only when it keeps w or more from the
    limit, outside only when it is beyond by w or more, and between in between.

    Args:
        value: what was measured; NaN for nothing.
        limit: in the value's unit.
        side: which side of it is beyond: "high" above, "low" below.
        guard: w, in the value's unit, 0 or above.

    Raises:
        ValueError: guard is below 0 or not a number, limit is not a number, or side is neither.
    """
    if side not in ("low", "high"):
        raise ValueError(f"side is {side!r}; it must be 'low' or 'high'")
    if math.isnan(limit) or not guard >= 0:
        raise ValueError(f"limit is {limit:g} and guard band {guard:g}; a number, and one of 0 or above, are needed")
    if math.isnan(value):
        return "not known"
    sign = 1.0 if side == "high" else -1.0
    if sign * value <= sign * limit - guard:
        return "inside"
    return "outside" if sign * value >= sign * limit + guard else "between"


def judge(value: float, *, low: float | None = None, high: float | None = None, guard: float = 0.0) -> Verdict:
    """Compare a number with the limits set: outside if it is beyond either, else between, else inside.

    Args:
        value: what was measured; NaN for nothing.
        low: lower limit in the value's unit, or None.
        high: upper limit, not below `low`, or None; one of the two must be given.
        guard: as in `judge_side`, the same for both.

    Raises:
        ValueError: no limit, or low above high, or as in `judge_side`.
    """
    _check_limits(low, high)
    found: set[Verdict] = set()
    if low is not None:
        found.add(judge_side(value, low, "low", guard=guard))
    if high is not None:
        found.add(judge_side(value, high, "high", guard=guard))
    order: tuple[Verdict, ...] = ("not known", "outside", "between", "inside")
    return next(verdict for verdict in order if verdict in found)


def probability_inside(
    value: float, standard: float, *, low: float | None = None, high: float | None = None
) -> float:
    """Give the probability that the true value lies within the limits, if errors are normal.

    Args:
        value: what was measured.
        standard: its standard uncertainty, above 0, same unit.
        low, high: limits as in `judge`.

    Returns:
        0 to 1.

    Raises:
        ValueError: no limit, low above high, or standard is not above 0.

    Equation: normal distribution about the value between the limits, JCGM 106:2012 (cited).
    """
    _check_limits(low, high)
    if standard <= 0:
        raise ValueError(f"standard uncertainty is {standard:g}; it must be above 0")
    from_z = -math.inf if low is None else (low - value) / standard
    to_z = math.inf if high is None else (high - value) / standard
    if from_z > 0:  # the same by symmetry, where small shares are not lost beside 1
        from_z, to_z = -to_z, -from_z
    return _normal(to_z) - _normal(from_z)


def _check_limits(low: float | None, high: float | None) -> None:
    if low is None and high is None:
        raise ValueError("no limit is given; give low, high or both")
    if low is not None and high is not None and low > high:
        raise ValueError(f"low limit is {low:g}; it must not be above the high one, {high:g}")


def _normal(z: float) -> float:
    """Give the share of a normal distribution below z."""
    return math.erfc(-z / math.sqrt(2.0)) / 2.0
