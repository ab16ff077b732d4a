"""Cells of a stack and the conductances between them.

Equal cells for live stepping, graded ones for `temperatures`: fine at every face, where a
step of temperature begins, and wider by a constant share of the distance from it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from monitor.science.conduction.layers import Array, Layer

FINEST = 0.05
"""Cells at a face, in diffusion lengths of the shortest time to be resolved."""
GROWTH = 0.03
"""How much wider cells become for each unit of distance from the face."""
MOST_CELLS = 300
"""For one layer; times further apart than some five decades are resolved less finely."""


@dataclass(frozen=True)
class Grid:
    """The cells of a stack, top to bottom.

    Attributes:
        capacity: heat capacity of each cell, J/(m2 K), shape (n,).
        half: resistance from each cell's middle to its face, m2 K/W, shape (n,).
        layer_of: index of the layer each cell belongs to, shape (n,).
        width: thickness of each cell, m, shape (n,).
    """

    capacity: Array
    half: Array
    layer_of: npt.NDArray[np.int64]
    width: Array


def grid(layers: Sequence[Layer], cells: Sequence[int]) -> Grid:
    """Cut layers into equal cells.

    Args:
        layers: top to bottom.
        cells: how many for each layer, at least 1; same length.

    Raises:
        ValueError: lengths differ or a count is below 1.
    """
    if len(layers) != len(cells) or min(cells, default=0) < 1:
        raise ValueError(f"cells {list(cells)} do not fit {len(layers)} layers; one count of at least 1 for each")
    return cut(
        layers, [np.full(count, layer.thickness_m / count) for layer, count in zip(layers, cells, strict=True)]
    )


def cut(layers: Sequence[Layer], widths: Sequence[Array]) -> Grid:
    """Cut layers into cells of the given widths, m, one array for each layer."""
    counts = [len(each) for each in widths]
    width = np.concatenate(widths)
    volumetric = np.repeat([layer.density_kg_m3 * layer.heat_capacity_j_kgk for layer in layers], counts)
    conductivity = np.repeat([layer.conductivity_w_mk for layer in layers], counts)
    return Grid(volumetric * width, width / 2 / conductivity, np.repeat(np.arange(len(layers)), counts), width)


def graded(layer: Layer, shortest_s: float) -> Array:
    """Give widths for a layer that is to be resolved from a time on, fine towards both faces, m."""
    half = layer.thickness_m / 2
    finest = FINEST * float(np.sqrt(layer.diffusivity_m2_s * shortest_s))
    stretch = float(np.log1p(GROWTH * half / finest))
    count = int(min(max(np.ceil(2 * stretch / GROWTH), 1), MOST_CELLS))
    share = np.arange(count + 1) / count
    near = half * np.expm1(2 * stretch * np.minimum(share, 1 - share)) / np.expm1(stretch)
    widths: Array = np.diff(np.where(share <= 0.5, near, layer.thickness_m - near))
    return widths


def graded_from_face(layer: Layer, shortest_s: float, count: int | None = None) -> Array:
    """Give widths for a thick layer of which only the upper face matters, m.

    Args:
        layer: as thick as it is to be modelled.
        shortest_s: time from which on it is to be resolved, above 0.
        count: how many cells; None for as many as the growth asks for.
    """
    reach = layer.thickness_m
    finest = FINEST * float(np.sqrt(layer.diffusivity_m2_s * shortest_s))
    stretch = float(np.log1p(GROWTH * reach / finest))
    cells = count or int(min(max(np.ceil(stretch / GROWTH), 1), MOST_CELLS))
    widths: Array = np.diff(reach * np.expm1(stretch * np.arange(cells + 1) / cells) / np.expm1(stretch))
    return widths


def conductances(mesh: Grid, contact_w_m2k: Sequence[float]) -> Array:
    """Give the conductance between neighbouring cells, W/(m2 K), shape (n - 1,)."""
    resistance = mesh.half[:-1] + mesh.half[1:]
    joins = np.flatnonzero(np.diff(mesh.layer_of))
    if len(contact_w_m2k) != len(joins):
        raise ValueError(f"{len(contact_w_m2k)} contact conductances for {len(joins)} joins between layers")
    resistance[joins] += 1 / np.asarray(contact_w_m2k, dtype=np.float64)
    joined: Array = 1 / resistance
    return joined


def to_outside(coefficient_w_m2k: float, half: float) -> float:
    """Give the conductance from the middle of an end's cell to what is outside, W/(m2 K); 0 if nothing passes."""
    return 1 / (1 / coefficient_w_m2k + half) if coefficient_w_m2k > 0 else 0.0
