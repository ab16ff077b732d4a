"""What a stack is made of: its layers, the half-spaces at its ends, its contacts, its start; all checked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from monitor.science.conduction.layers import Array, Boundary, Layer, SemiInfinite, row

Start: TypeAlias = float | Sequence[float] | Array | Callable[[float], float]
"""One temperature, one for each layer or body, or a function of the depth in m; degC."""

SAME_PLACE = 1e-12
"""Of the whole depth: a depth that close to a face counts as on it, since thicknesses are summed in floats."""


@dataclass(frozen=True)
class Bodies:
    """Layers and half-spaces, top to bottom.

    Attributes:
        layers: those between the half-spaces.
        top, bottom: the ends.

    Raises:
        ValueError: there is none.
    """

    layers: tuple[Layer, ...]
    top: Boundary
    bottom: Boundary

    def __post_init__(self) -> None:
        if not self.count:
            raise ValueError("layers is empty; it must hold at least one layer, or an end must be SemiInfinite")

    @property
    def above(self) -> int:
        """How many bodies lie above the first layer: 0 or 1."""
        return int(isinstance(self.top, SemiInfinite))

    @property
    def count(self) -> int:
        """Layers and half-spaces."""
        return self.above + len(self.layers) + int(isinstance(self.bottom, SemiInfinite))

    @property
    def thickness_m(self) -> float:
        """Of the layers together, m."""
        return float(sum(layer.thickness_m for layer in self.layers))

    def depths(self, depths_m: npt.ArrayLike) -> Array:
        """Give depths as an array, shape (d,).

        Raises:
            ValueError: one lies outside the stack, or they are no list.
        """
        depths = row("depths_m", depths_m)
        low = -inf if self.above else 0.0
        high = inf if isinstance(self.bottom, SemiInfinite) else self.thickness_m
        near = SAME_PLACE * self.thickness_m
        wrong = depths[~(np.isfinite(depths) & (depths >= low - near) & (depths <= high + near))]
        if len(wrong):
            raise ValueError(f"depth is {wrong[0]:g} m; it must be finite and lie from {low:g} to {high:g} m")
        return depths

    def contacts(self, contact_w_m2k: Sequence[float] | None) -> list[float]:
        """Give the conductance of every join; those to half-spaces may be left out and are perfect then.

        Raises:
            ValueError: the number of conductances does not fit, or one is not above 0.
        """
        joins, inner = self.count - 1, max(len(self.layers) - 1, 0)
        if contact_w_m2k is None:
            return [inf] * joins
        given = [float(each) for each in contact_w_m2k]
        if len(given) not in (inner, joins):
            raise ValueError(
                f"contact_w_m2k has {len(given)} values; expected {inner}, one for each join between layers"
                + (f", or {joins} with the joins to half-spaces" if joins > inner else "")
            )
        for each in given:
            if not each > 0:
                raise ValueError(
                    f"contact_w_m2k holds {each} W/(m2 K); it must be above 0, or inf where nothing resists"
                )
        above = self.above if self.layers else 0
        missing = joins - len(given)
        return [inf] * min(missing, above) + given + [inf] * (missing - min(missing, above))

    def start(self, initial_c: Start, depths: Array, body: npt.NDArray[np.int64]) -> Array:
        """Give the start's temperatures, degC, at depths that lie in the bodies of these indices.

        Raises:
            ValueError: the number of temperatures does not fit, or one is infinite.
        """
        if callable(initial_c):
            found = np.array([initial_c(depth) for depth in depths.tolist()], dtype=np.float64)
        elif np.ndim(initial_c) == 0:
            found = np.full(len(depths), initial_c, dtype=np.float64)
        else:
            found = self._of_bodies(np.asarray(initial_c, dtype=np.float64))[body]
        if np.isinf(found).any():
            raise ValueError("initial_c is infinite; it must be finite, or NaN where it is not known")
        return found

    def _of_bodies(self, values: Array) -> Array:
        """Give one value for each body; half-spaces that are left out start like the layer they continue."""
        if values.ndim != 1 or len(values) not in {self.count, len(self.layers)}:
            raise ValueError(
                f"initial_c has the shape {values.shape}; expected a number, a function of depth, or one value for"
                f" each of {len(self.layers)} layers"
                + (f", or of {self.count} bodies" if self.count > len(self.layers) else "")
            )
        if len(values) == self.count:
            return values
        spread: Array = np.pad(values, (self.above, self.count - len(values) - self.above), mode="edge")
        return spread
