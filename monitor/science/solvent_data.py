"""What is known of a solvent: how much vapour it gives at a temperature, what that takes, how it spreads."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from monitor.science.elementwise import Maths

if TYPE_CHECKING:
    from monitor.figures import Figure
    from monitor.science.elementwise import Array

ZERO_C_K = 273.15
TABLE_C = tuple(range(-40, 41, 10))
"""Temperatures of the table of vapour pressures, degC; film and air must lie between its ends."""
LOWEST_C, HIGHEST_C = float(TABLE_C[0]), float(TABLE_C[-1])
VAPOUR_PRESSURE_KEYS = tuple(f"vapour_pressure_{'m' if t < 0 else ''}{abs(t)}c_pa" for t in TABLE_C)
"""Keys of the catalogue's figures for the table, in its order."""
COOL_C, WARM_C = -20.0, 20.0
"""Where the enthalpy of vaporisation is given, degC."""


@dataclass(frozen=True)
class SolventData:
    """Figures of a pure solvent, all above 0.

    Attributes:
        name: what messages call it.
        diffusivity_25c_mm2_s: diffusivity of its vapour in air of 25 degC and 101 325 Pa, mm2/s.
        vaporisation_m20c_kj_mol, vaporisation_20c_kj_mol: enthalpy of vaporisation at -20 and 20 degC, kJ/mol.
        vapour_pressures_pa: vapour pressure at each of TABLE_C, Pa, rising.
    """

    name: str
    diffusivity_25c_mm2_s: float
    vaporisation_m20c_kj_mol: float
    vaporisation_20c_kj_mol: float
    vapour_pressures_pa: tuple[float, ...]

    def __post_init__(self) -> None:
        for key in ("diffusivity_25c_mm2_s", "vaporisation_m20c_kj_mol", "vaporisation_20c_kj_mol"):
            if not getattr(self, key) > 0:
                raise ValueError(f"{self.name}: {key} is {getattr(self, key)}; it must be above 0")
        table = self.vapour_pressures_pa
        if len(table) != len(TABLE_C):
            raise ValueError(
                f"{self.name}: {len(table)} vapour pressures; there must be one for each 10 K of {TABLE_C}"
            )
        if not table[0] > 0 or any(not low < high for low, high in pairwise(table)):
            raise ValueError(f"{self.name}: vapour pressures are {table} Pa; they must be above 0 and rise")

    @classmethod
    def from_figures(cls, name: str, figures: Mapping[str, Figure]) -> SolventData:
        """Take the data out of the figures of a solvent of the catalogue.

        Raises:
            ValueError: a figure is missing or has no value.
        """
        return cls(
            name,
            _value(name, figures, "diffusivity_25c_mm2_s"),
            _value(name, figures, "vaporisation_m20c_kj_mol"),
            _value(name, figures, "vaporisation_20c_kj_mol"),
            tuple(_value(name, figures, key) for key in VAPOUR_PRESSURE_KEYS),
        )

    def log_pa(self, maths: Maths, temp_c: float | Array) -> float | Array:
        """Give ln of the vapour pressure in Pa: straight in 1/T between the table's temperatures.

        Between points 10 K apart this is within 0.3 % of the curves that the catalogue's tables were
        computed from (alpha-pinene, which hardly cools its film, within 0.5 %), and so within 0.02 K in
        the film's temperature.
        """
        x = 1 / (temp_c + ZERO_C_K)
        knots = [1 / (t + ZERO_C_K) for t in TABLE_C]
        logs = [math.log(p) for p in self.vapour_pressures_pa]
        slopes = [(b - a) / (y - w) for (w, y), (a, b) in zip(pairwise(knots), pairwise(logs), strict=True)]
        value = logs[0] + slopes[0] * (x - knots[0])
        for knot, (before, after) in zip(knots[1:-1], pairwise(slopes), strict=True):
            value = value + (after - before) * maths.where(x < knot, x - knot, 0 * x)
        return value

    def vaporisation_j_mol(self, temp_c: float | Array) -> float | Array:
        """Give the enthalpy of vaporisation in J/mol: a straight line through the two that are given."""
        slope = (self.vaporisation_20c_kj_mol - self.vaporisation_m20c_kj_mol) / (WARM_C - COOL_C)
        return 1000 * (self.vaporisation_20c_kj_mol + slope * (temp_c - WARM_C))


def _value(name: str, figures: Mapping[str, Figure], key: str) -> float:
    value = figures[key].value if key in figures else None
    if value is None:
        raise ValueError(f"{name}: {key} has no value; the film's temperature needs it")
    return value
