"""A stack cut into cells, and what a depth means in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from monitor.science.conduction.bodies import SAME_PLACE, Bodies
from monitor.science.conduction.layers import Array, Boundary, Convective, Fixed, Layer, SemiInfinite
from monitor.science.conduction.mesh import Grid, conductances, cut, graded, graded_from_face, to_outside

REACH = 10.0
"""How far a half-space is modelled beyond the depths asked for, in diffusion lengths of the last time."""


@dataclass(frozen=True)
class Stack:
    """A stack in cells.

    Attributes:
        mesh: its cells.
        edges: depths of the cells' faces in m from the top of the first layer, shape (n + 1,).
        faces: conductances through those faces, from middle to middle, W/(m2 K), shape (n + 1,).
    """

    mesh: Grid
    edges: Array
    faces: Array

    @property
    def middles(self) -> Array:
        """Depths of the cells' middles, m, shape (n,)."""
        found: Array = (self.edges[:-1] + self.edges[1:]) / 2
        return found

    def cell_at(self, depths: Array) -> npt.NDArray[np.int64]:
        """Give the cell each depth lies in; a face belongs to the cell above it."""
        near = SAME_PLACE * (self.edges[-1] - self.edges[0])
        below = np.searchsorted(self.edges, depths - near, side="left")
        found: npt.NDArray[np.int64] = np.clip(below - 1, 0, len(self.mesh.width) - 1)
        return found

    def shares(self, depths: Array) -> Array:
        """Give what each depth's temperature is made of.

        From a cell's middle to its face the temperature goes straight to what the flux through
        the face makes it there, a contact's or an end's conductance included.

        Returns:
            shares of the temperature outside the top, of each cell, and outside the bottom, shape (d, n + 2).
        """
        cell = self.cell_at(depths)
        away = (depths - self.middles[cell]) / (self.mesh.width[cell] / 2)
        down = (away > 0).astype(np.int64)
        share = np.minimum(np.abs(away), 1.0) * self.mesh.half[cell] * self.faces[cell + down]
        found = np.zeros((len(depths), len(self.mesh.width) + 2))
        rows = np.arange(len(depths))
        found[rows, cell + 1] = 1 - share
        found[rows, cell + 2 * down] = share
        return found


def stacked(
    bodies: Bodies,
    contact_w_m2k: Sequence[float] | None,
    cells: Sequence[int] | None,
    depths: Array,
    shortest_s: float,
    longest_s: float,
) -> Stack:
    """Cut bodies into cells.

    Args:
        bodies: layers and half-spaces.
        contact_w_m2k: conductances at joins, as `temperatures` takes them.
        cells: how many for each body; None for as many as the times need.
        depths: those asked for, m; half-spaces are modelled well beyond them.
        shortest_s, longest_s: times to be resolved, above 0.

    Raises:
        ValueError: the contacts do not fit, or the numbers of cells.
    """
    counts: list[int | None] = [None] * bodies.count if cells is None else list(cells)
    if len(counts) != bodies.count or any(each is not None and each < 1 for each in counts):
        raise ValueError(f"cells {counts} do not fit {bodies.count} bodies; one count of at least 1 for each")
    above, below = np.append(-depths, 0.0).max(), np.append(depths - bodies.thickness_m, 0.0).max()
    layers, widths, offset = [], [], 0.0
    if isinstance(bodies.top, SemiInfinite):
        half_space = _reaching(bodies.top.layer, longest_s, float(above))
        layers.append(half_space)
        widths.append(graded_from_face(half_space, shortest_s, counts.pop(0))[::-1])
        offset = -half_space.thickness_m
    for layer in bodies.layers:
        count = counts.pop(0)
        layers.append(layer)
        widths.append(np.full(count, layer.thickness_m / count) if count else graded(layer, shortest_s))
    if isinstance(bodies.bottom, SemiInfinite):
        layers.append(_reaching(bodies.bottom.layer, longest_s, float(below)))
        widths.append(graded_from_face(layers[-1], shortest_s, counts.pop(0)))
    mesh = cut(layers, widths)
    inner = conductances(mesh, bodies.contacts(contact_w_m2k))
    ends = _end(bodies.top, mesh.half[0]), _end(bodies.bottom, mesh.half[-1])
    edges = offset + np.concatenate([[0.0], np.cumsum(mesh.width)])
    return Stack(mesh, edges, np.concatenate([ends[:1], inner, ends[1:]]))


def _reaching(layer: Layer, longest_s: float, beyond_m: float) -> Layer:
    """Give a half-space as a layer so thick that its far end feels nothing."""
    return replace(layer, thickness_m=beyond_m + REACH * float(np.sqrt(layer.diffusivity_m2_s * longest_s)))


def _end(end: Boundary, half: float) -> float:
    if isinstance(end, Fixed):
        return to_outside(np.inf, half)
    return to_outside(end.coefficient_w_m2k if isinstance(end, Convective) else 0.0, half)
