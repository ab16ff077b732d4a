"""Layers, and what stands at the two ends of a stack."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, isinf
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
OfTime: TypeAlias = float | Callable[[float], float]
"""A number, or a function that gives it for a time in s since the start."""


@dataclass(frozen=True)
class Layer:
    """A homogeneous layer.

    Attributes:
        thickness_m: thickness in m, above 0.
        conductivity_w_mk: thermal conductivity in W/(m K), above 0.
        density_kg_m3: density in kg/m3, above 0.
        heat_capacity_j_kgk: specific heat capacity in J/(kg K), above 0.

    Raises:
        ValueError: one of them is not above 0, or not finite.
    """

    thickness_m: float
    conductivity_w_mk: float
    density_kg_m3: float
    heat_capacity_j_kgk: float

    def __post_init__(self) -> None:
        for name in ("thickness_m", "conductivity_w_mk", "density_kg_m3", "heat_capacity_j_kgk"):
            value = getattr(self, name)
            if not 0 < value < inf:
                raise ValueError(f"layer {name} is {value}; it must be above 0 and finite")

    @property
    def diffusivity_m2_s(self) -> float:
        """Conductivity over volumetric heat capacity, m2/s."""
        return self.conductivity_w_mk / (self.density_kg_m3 * self.heat_capacity_j_kgk)


@dataclass(frozen=True)
class Fixed:
    """The end of the stack is held at a temperature.

    Attributes:
        temp_c: in degC; a finite number, NaN, or a function of the time in s since the start.

    Raises:
        ValueError: the number is infinite.
    """

    temp_c: OfTime

    def __post_init__(self) -> None:
        _finite(self.temp_c, "temp_c of Fixed")


@dataclass(frozen=True)
class Convective:
    """The end of the stack exchanges heat with a fluid, or through a contact with a held body.

    Attributes:
        temp_c: of the fluid or body in degC; a finite number, NaN, or a function of the time in s.
        coefficient_w_m2k: heat transfer coefficient in W/(m2 K), above 0.

    Raises:
        ValueError: the number is infinite, or the coefficient is not above 0.
    """

    temp_c: OfTime
    coefficient_w_m2k: float

    def __post_init__(self) -> None:
        _finite(self.temp_c, "temp_c of Convective")
        if not self.coefficient_w_m2k > 0:
            raise ValueError(f"coefficient_w_m2k of Convective is {self.coefficient_w_m2k}; it must be above 0")


@dataclass(frozen=True)
class Insulated:
    """No heat passes the end of the stack."""


@dataclass(frozen=True)
class SemiInfinite:
    """The stack goes on without end in one material.

    Attributes:
        layer: the material; its thickness is not used.
    """

    layer: Layer


Boundary: TypeAlias = Fixed | Convective | Insulated | SemiInfinite


def row(name: str, values: npt.ArrayLike) -> Array:
    """Give a number or a row of numbers as an array, shape (n,).

    Raises:
        ValueError: they have rows and columns.
    """
    found = np.atleast_1d(np.asarray(values, dtype=np.float64))
    if found.ndim != 1:
        raise ValueError(f"{name} has the shape {found.shape}; it must be a number or a list of numbers")
    return found


def _finite(value: OfTime, what: str) -> None:
    if not callable(value) and isinf(value):
        raise ValueError(f"{what} is {value} degC; it must be finite, or NaN where it is not known")
