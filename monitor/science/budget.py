"""Standard uncertainties, what each input gives, and their root-sum-square; after JCGM 100:2008 (GUM).

The clauses named here are recalled. Inputs are taken as independent. Any number may be an array,
element by element; NaN gives NaN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias, overload

from monitor.science.elementwise import either
from monitor.science.vapour import first_where

if TYPE_CHECKING:
    from monitor.science.elementwise import Array, ArrayLike

    Value: TypeAlias = float | Array


@dataclass(frozen=True)
class Share:
    """What one input gives to the uncertainty of a result.

    Attributes:
        input: the input's name.
        sensitivity: by how much the result changes for a change of the input by 1.
        standard: the input's standard uncertainty, in the input's unit, 0 or above.
    """

    input: str
    sensitivity: Value
    standard: Value

    def __post_init__(self) -> None:
        _, (standard,) = either(self.standard)
        _not_negative(f"standard uncertainty of {self.input}", standard)

    @property
    def amount(self) -> Value:
        """Give the share in the result's unit, 0 or above."""
        product = self.sensitivity * self.standard
        return product.__abs__()  # of what abs() gives of a union, mypy knows nothing


@dataclass(frozen=True)
class Budget:
    """A result and the shares of its uncertainty.

    Attributes:
        value: the result.
        shares: one for each input, at least one.
    """

    value: Value
    shares: tuple[Share, ...]

    @property
    def standard(self) -> Value:
        """Give the combined standard uncertainty in the result's unit: the root of the sum of squares (5.1.2)."""
        total: Value = 0.0
        for share in self.shares:
            total = total + share.amount**2
        root: Value = total**0.5
        return root

    def expanded(self, k: float = 2.0) -> Value:
        """Give the expanded uncertainty k u (6.2.1); with k = 2 about 95 % of a normal distribution lie within it.

        Raises:
            ValueError: k is not above 0.
        """
        return _factor(k) * self.standard


@overload
def rectangular_standard(half_width: float) -> float: ...
@overload
def rectangular_standard(half_width: ArrayLike) -> Array: ...
def rectangular_standard(half_width: ArrayLike) -> float | Array:
    """Give the standard uncertainty of a value of which only its limits are known: a / sqrt(3) (4.3.7).

    Args:
        half_width: a, where the true value lies within +-a of the measured one; 0 or above, any unit.

    Raises:
        ValueError: half_width is below 0.
    """
    _, (a,) = either(half_width)
    _not_negative("half width", a)
    standard: float | Array = a / math.sqrt(3.0)
    return standard


@overload
def normal_standard(expanded: float, *, k: float = 2.0) -> float: ...
@overload
def normal_standard(expanded: ArrayLike, *, k: float = 2.0) -> Array: ...
def normal_standard(expanded: ArrayLike, *, k: float = 2.0) -> float | Array:
    """Give the standard uncertainty behind an expanded one, as certificates state it: U / k.

    Args:
        expanded: U, 0 or above, any unit.
        k: the factor stated with it, above 0.

    Raises:
        ValueError: an argument out of range.
    """
    _, (stated,) = either(expanded)
    _not_negative("expanded uncertainty", stated)
    standard: float | Array = stated / _factor(k)
    return standard


def _not_negative(quantity: str, value: Value) -> None:
    found = first_where(value < 0, value)
    if found:
        raise ValueError(f"{quantity} is {found[0]:g}; it must be 0 or above")


def _factor(k: float) -> float:
    if not k > 0:
        raise ValueError(f"coverage factor k is {k:g}; it must be above 0")
    return k
