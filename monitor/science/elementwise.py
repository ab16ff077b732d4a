"""One formula for a number and for an array of them.

A formula is written once, with the functions of a `Maths`. Numbers go through `math`, so that
what runs at rest needs no numpy; anything else goes through numpy, element by element.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array: TypeAlias = npt.NDArray[np.float64]
    ArrayLike: TypeAlias = npt.ArrayLike


@dataclass(frozen=True)
class Maths:
    """Exponential, natural logarithm and choice, for numbers or for arrays.

    `where(condition, a, b)` gives a where the condition holds and b elsewhere; both are computed.
    """

    exp: Callable[[Any], Any]
    log: Callable[[Any], Any]
    where: Callable[[Any, Any, Any], Any]


_NUMBERS = Maths(math.exp, math.log, lambda condition, a, b: a if condition else b)


def either(*values: object) -> tuple[Maths, list[Any]]:
    """Give the functions that fit the values, and the values as floats or as arrays of floats.

    Args:
        values: numbers, or anything numpy takes for an array; arrays broadcast against each other.
    """
    numbers = [float(value) for value in values if isinstance(value, (float, int))]
    if len(numbers) == len(values):
        return _NUMBERS, numbers
    import numpy as np

    return Maths(np.exp, np.log, np.where), [np.asarray(value, dtype=np.float64) for value in values]


def within(quantity: str, unit: str, value: float | Array, low: float, high: float) -> None:
    """Refuse what a formula does not hold for; NaN passes, since nothing is known of it.

    Raises:
        ValueError: the first value outside low to high, with quantity, unit and range.
    """
    if isinstance(value, float):
        wrong = value if value < low or value > high else None
    else:
        outside = value[(value < low) | (value > high)]
        wrong = float(outside.flat[0]) if outside.size else None
    if wrong is not None:
        # In full where six digits would name a value that lies in the range.
        said = repr(wrong) if low <= float(f"{wrong:g}") <= high else f"{wrong:g}"
        raise ValueError(f"{quantity} is {said} {unit}; it must lie from {low:g} to {high:g} {unit}")
