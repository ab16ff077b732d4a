"""Heat in the work: through the layers and along the strip, on the world's own grid.

Finite volumes, temperature in the middle of each cell. Through the thickness the thin films are
stiff and solved implicitly, one line a column; along the strip conduction is slow and explicit.
The time scheme is the two-stage, second-order, L-stable implicit-explicit pair called (2,2,2) in
Ascher, Ruuth and Spiteri, Appl. Numer. Math. 25 (1997) 151-167, sec. 2.6 (coefficients: recalled;
their order is tested). What touches the work from above is solved together with it in each stage.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, sqrt
from typing import Protocol

import numpy as np
import numpy.typing as npt

from monitor.probes.studio.stack import Footprint, Layer

Field = npt.NDArray[np.float64]
"""Temperatures in degC, one row a column of cells along the strip, top cell first."""

GAMMA = 1.0 - 1.0 / sqrt(2.0)
DELTA = 1.0 - 0.5 / GAMMA
LATER = (1.0 - GAMMA) / GAMMA
EXPLICIT_LIMIT = 0.9  # of the largest diagonal term; the explicit half is stable up to 1


class Partner(Protocol):
    """What stands on the work: something with a temperature that heat is drawn from."""

    def stage(self, number: int, pull_w_k: float, offer_w: float) -> float:
        """Give its temperature in degC at stage 0 or 1 of the step.

        At temperature t it loses `pull_w_k * t - offer_w` watts to the work.
        """
        ...


class Mesh:
    """The cells through the thickness of some layers.

    Attributes:
        capacity: heat capacity of each cell, J/(m2 K).
        between: conductance from each cell to the one below, W/(m2 K).
        half: conductance from each cell's middle to its lower face, W/(m2 K).
        plane: conductivity times thickness of each cell, W/K.
        ends: index of the lowest cell of each layer.
    """

    def __init__(self, layers: Sequence[Layer]) -> None:
        parts = [_cut(layer) for layer in layers]
        self.thickness = np.concatenate(parts)
        conductivity = _each(layers, [x.conductivity_w_mk for x in layers])
        volumic = _each(layers, [x.density_kg_m3 * x.heat_capacity_j_kgk for x in layers])
        joints = np.full(len(self.thickness), inf)
        self.ends = [int(n) - 1 for n in np.cumsum([x.cells for x in layers])]
        for end, layer in zip(self.ends, layers, strict=True):
            joints[end] = layer.below_w_m2k
        self.capacity = volumic * self.thickness
        self.half = 2.0 * conductivity / self.thickness
        self.between = 1.0 / (1.0 / self.half[:-1] + 1.0 / joints[:-1] + 1.0 / self.half[1:])
        self.plane = conductivity * self.thickness

    def lower_face(self, field: Field, layer: int) -> Field:
        """Give the temperature of a layer's lower face in each column, degC."""
        cell = self.ends[layer]
        fall = field[:, cell] - field[:, cell + 1]
        face: Field = field[:, cell] - fall * (self.between[cell] / self.half[cell])
        return face


def _cut(layer: Layer) -> Field:
    """Cut a layer into cells, each `growth` times as thick as the one above."""
    weights = layer.growth ** np.arange(layer.cells, dtype=np.float64)
    cells: Field = layer.thickness_m * weights / weights.sum()
    return cells


def _each(layers: Sequence[Layer], values: Sequence[float]) -> Field:
    """Repeat a layer's value for each of its cells."""
    return np.repeat(np.array(values, dtype=np.float64), [x.cells for x in layers])


class Stepper:
    """One time step of the work, with its matrices made beforehand.

    Args:
        mesh: the cells through the thickness.
        sole: the columns along the strip; an infinite `spread_m` closes the edges.
        contact_w_m2k: conductance between partner and work in each column; 0 where bare.
        step_s: length of the step, s.
        below_w_m2k: loss from the underside to the air; the free loss when not given.

    Errors:
        ValueError: the step is too long for the explicit conduction along the strip.
    """

    def __init__(
        self, mesh: Mesh, sole: Footprint, contact_w_m2k: Field, step_s: float, below_w_m2k: float | None = None
    ) -> None:
        self._mesh, self._step_s = mesh, step_s
        lengths = np.array(sole.lengths_m)
        self._neighbours = _neighbours(lengths)
        self._along = (mesh.plane / mesh.capacity * step_s)[:, None]
        self._along_later = (1.0 - DELTA) * self._along
        if float(self._along.max() * np.abs(self._neighbours.diagonal()).max()) > EXPLICIT_LIMIT:
            raise ValueError(f"a step of {step_s} s is too long for columns of {lengths.min()} m along the strip")
        pull = _in_series(contact_w_m2k, mesh.half[0])
        free = _in_series(np.array([sole.free_w_m2k]), mesh.half[0])[0]
        losses = _losses(mesh, sole, sole.free_w_m2k if below_w_m2k is None else below_w_m2k)
        losses[:, 0] += np.where(contact_w_m2k > 0.0, 0.0, free)
        self._solve_with(pull, losses)
        self._weight = lengths * sole.width_m * pull
        self._pull_w_k = float((self._weight * (1.0 - self._answer[:, 0, 0])).sum())
        self._air_c, self._air = 0.0, np.zeros_like(self._from_air)

    def _solve_with(self, pull: Field, losses: Field) -> None:
        """Invert each column's line of equations once; every step then multiplies."""
        between = self._mesh.between
        short = GAMMA * self._step_s / self._mesh.capacity
        diagonal = losses.copy()
        diagonal[:, 0] += pull
        diagonal[:, :-1] += between
        diagonal[:, 1:] += between
        columns, cells = losses.shape
        matrix = np.zeros((columns, cells, cells))
        inner = np.arange(cells)
        matrix[:, inner, inner] = 1.0 + short * diagonal
        matrix[:, inner[:-1], inner[1:]] = -short[:-1] * between
        matrix[:, inner[1:], inner[:-1]] = -short[1:] * between
        self._inverse = np.linalg.inv(matrix)
        self._answer = self._inverse[:, :, :1] * (short[0] * pull)[:, None, None]
        self._from_air = self._inverse @ (short * losses)[:, :, None]

    def step(self, field: Field, air_c: float, partner: Partner) -> Field:
        """Give the field one step later.

        Args:
            field: temperatures now, degC; when nothing touches, a third axis may hold several fields at once.
            air_c: temperature of the air around, degC.
            partner: what stands on the work; asked once in each of the two stages.
        """
        if air_c != self._air_c:
            self._air_c, self._air = air_c, self._from_air * air_c
        now = field.reshape(*self._answer.shape[:2], -1)
        flow = self._flow(now, self._along)
        first = flow * GAMMA
        first += now
        middle = self._stage(0, first, partner)
        flow *= DELTA
        flow += now
        flow += self._flow(middle, self._along_later)
        middle -= first
        middle *= LATER
        flow += middle
        return self._stage(1, flow, partner).reshape(field.shape)

    def _flow(self, field: Field, along: Field) -> Field:
        """Give the change by conduction along the strip in one step, K."""
        flow: Field = (self._neighbours @ field.reshape(len(field), -1)).reshape(field.shape)
        flow *= along
        return flow

    def _stage(self, number: int, known: Field, partner: Partner) -> Field:
        """Solve one implicit stage together with the partner's own balance."""
        found: Field = np.matmul(self._inverse, known)
        found += self._air
        offer_w = float(self._weight @ found[:, 0, 0])
        found += self._answer * partner.stage(number, self._pull_w_k, offer_w)
        return found


class Held:
    """A partner whose temperature is given, for bare work (contact 0) and for checks."""

    def __init__(self, temperature_c: float) -> None:
        self.temperature_c = temperature_c

    def stage(self, number: int, pull_w_k: float, offer_w: float) -> float:  # noqa: ARG002
        """Give the temperature held, degC."""
        return self.temperature_c


def _in_series(contact: Field, half: float) -> Field:
    """Put a contact in series with half a cell; no contact stays none."""
    return np.where(contact > 0.0, 1.0 / (1.0 / np.maximum(contact, 1e-300) + 1.0 / half), 0.0)


def _neighbours(lengths: Field) -> Field:
    """Give the second difference along the strip in 1/m2, closed at both ends."""
    matrix = np.zeros((len(lengths), len(lengths)))
    for left in range(len(lengths) - 1):
        apart = (lengths[left] + lengths[left + 1]) / 2.0
        for here, there in ((left, left + 1), (left + 1, left)):
            matrix[here, there] += 1.0 / (apart * lengths[here])
            matrix[here, here] -= 1.0 / (apart * lengths[here])
    return matrix


def _losses(mesh: Mesh, sole: Footprint, below_w_m2k: float) -> Field:
    """Give each cell's leak to what is around: both edges of the strip, its two ends, the underside."""
    losses = np.tile(2.0 * mesh.plane / (sole.width_m * sole.spread_m), (len(sole.lengths_m), 1))
    for end in (0, -1):
        length = sole.lengths_m[end]
        losses[end] += mesh.plane / (length * (sole.spread_m + length / 2.0))
    losses[:, -1] += _in_series(np.array([below_w_m2k]), float(mesh.half[-1]))[0]
    return losses
