"""One-dimensional transient conduction through layers, stepped live in its exact modal form.

Finite volumes: every layer is cut into equal cells, neighbouring layers meet at a contact
conductance, the top is held by a tool through another, the bottom gives heat to the air.
With the capacity matrix C and the conductance matrix K,

    C dT/dt = -K T + g u(t),

the symmetrised C^-1/2 K C^-1/2 is diagonalised once (`eigh`); each mode then follows a
scalar equation that is solved exactly for an input that is straight between samples
(first-order hold). Equation of heat conduction: Carslaw and Jaeger, Conduction of Heat in
Solids, 2nd ed. 1959, sec. 1.6 (recalled). The scheme itself is ours and is checked in the
tests against closed forms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Layer:
    """A homogeneous layer.

    Attributes:
        thickness_m: thickness in m, above 0.
        conductivity_w_mk: thermal conductivity in W/(m K), above 0.
        density_kg_m3: density in kg/m3, above 0.
        heat_capacity_j_kgk: specific heat capacity in J/(kg K), above 0.
    """

    thickness_m: float
    conductivity_w_mk: float
    density_kg_m3: float
    heat_capacity_j_kgk: float

    def __post_init__(self) -> None:
        for name in ("thickness_m", "conductivity_w_mk", "density_kg_m3", "heat_capacity_j_kgk"):
            value = getattr(self, name)
            if not value > 0:
                raise ValueError(f"layer {name} is {value}; it must be above 0")


@dataclass(frozen=True)
class Grid:
    """The cells of a stack, top to bottom.

    Attributes:
        capacity: heat capacity of each cell, J/(m2 K), shape (n,).
        half: resistance from each cell's middle to its face, m2 K/W, shape (n,).
        layer_of: index of the layer each cell belongs to, shape (n,).
    """

    capacity: Array
    half: Array
    layer_of: npt.NDArray[np.int64]


def grid(layers: Sequence[Layer], cells: Sequence[int]) -> Grid:
    """Cut layers into cells.

    Args:
        layers: top to bottom.
        cells: how many for each layer, at least 1; same length.

    Raises:
        ValueError: lengths differ or a count is below 1.
    """
    if len(layers) != len(cells) or min(cells, default=0) < 1:
        raise ValueError(f"cells {list(cells)} do not fit {len(layers)} layers; one count of at least 1 for each")
    capacity, half, layer_of = [], [], []
    for index, (layer, count) in enumerate(zip(layers, cells, strict=True)):
        width = layer.thickness_m / count
        capacity += [layer.density_kg_m3 * layer.heat_capacity_j_kgk * width] * count
        half += [width / 2 / layer.conductivity_w_mk] * count
        layer_of += [index] * count
    return Grid(np.array(capacity), np.array(half), np.array(layer_of, dtype=np.int64))


def _conductances(mesh: Grid, contact_w_m2k: Sequence[float]) -> Array:
    """Give the conductance between neighbouring cells, W/(m2 K), shape (n - 1,)."""
    resistance = mesh.half[:-1] + mesh.half[1:]
    joins = np.flatnonzero(np.diff(mesh.layer_of))
    if len(contact_w_m2k) != len(joins):
        raise ValueError(f"{len(contact_w_m2k)} contact conductances for {len(joins)} joins between layers")
    resistance[joins] += 1 / np.asarray(contact_w_m2k, dtype=np.float64)
    joined: Array = 1 / resistance
    return joined


class Modes:
    """A stack between a tool and the air, ready to be stepped.

    Temperatures are departures from the initial, uniform temperature, so the air under the
    stack is at zero and the tool's departure is the only input.

    Args:
        mesh: cells of the stack.
        contact_w_m2k: conductance at each join between neighbouring layers, top to bottom.
        tool_w_m2k: conductance between tool and first layer.
        air_w_m2k: conductance between last layer and the air below.
    """

    def __init__(self, mesh: Grid, contact_w_m2k: Sequence[float], tool_w_m2k: float, air_w_m2k: float) -> None:
        inner = _conductances(mesh, contact_w_m2k)
        top = 1 / (1 / tool_w_m2k + mesh.half[0])
        bottom = 1 / (1 / air_w_m2k + mesh.half[-1])
        matrix = np.diag(np.append(inner, bottom) + np.insert(inner, 0, top))
        matrix -= np.diag(inner, 1) + np.diag(inner, -1)
        root = 1 / np.sqrt(mesh.capacity)
        rates, vectors = np.linalg.eigh(matrix * root[:, None] * root[None, :])
        self.rates: Array = rates
        self.out: Array = vectors * root[:, None]
        self.drive: Array = self.out[0] * top

    def rest(self, members: int) -> Array:
        """Give the modal state of a stack at its initial temperature, shape (modes, members)."""
        return np.zeros((len(self.rates), members))

    def step(self, modal: Array, tool_0: Array, tool_1: Array, dt_s: float) -> Array:
        """Advance by `dt_s` with the tool going straight from `tool_0` to `tool_1`.

        Args:
            modal: state, shape (modes, members).
            tool_0, tool_1: tool's departures in K at both ends, shape (members,).
            dt_s: length of the step in s, above 0.
        """
        decay = np.exp(-self.rates * dt_s)
        held = -np.expm1(-self.rates * dt_s) / self.rates
        ramp = (dt_s - held) / self.rates / dt_s
        slope = tool_1 - tool_0
        moved: Array = decay[:, None] * modal + self.drive[:, None] * (
            held[:, None] * tool_0[None, :] + ramp[:, None] * slope[None, :]
        )
        return moved

    def departures(self, modal: Array, cell: int) -> Array:
        """Give one cell's departure from the initial temperature in K, shape (members,)."""
        found: Array = self.out[cell] @ modal
        return found
