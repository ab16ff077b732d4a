"""Values between the rows of a table, on straight lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from monitor.science.elementwise import Array, Maths

    Value: TypeAlias = float | Array


def between(maths: Maths, x: Value, knots: Sequence[float], values: Sequence[float]) -> Value:
    """Give the value at x on the straight lines that join a table's points.

    Args:
        maths: functions that fit x, from `either`.
        x: where, a number or an array; the caller has refused what lies outside the knots.
        knots: where the table has values, rising, at least two.
        values: the table's values, one for each knot.

    Returns:
        Value of the shape of x; NaN where x is NaN.
    """
    found: Value = values[0] + (x - knots[0]) * ((values[1] - values[0]) / (knots[1] - knots[0]))
    for index in range(1, len(knots) - 1):
        slope = (values[index + 1] - values[index]) / (knots[index + 1] - knots[index])
        found = maths.where(x >= knots[index], values[index] + (x - knots[index]) * slope, found)
    return found
