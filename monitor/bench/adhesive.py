"""The estimate of a running contact: what the film and the face may have felt.

A fixed fan of members spans the contact conductance the sandwich allows and the tool
probe's error; each is stepped through the layers by the tool's readings. Before a mock-up
contact has been fitted the fan is all that is known: a band, never a probability, and so
`p_reached` stays empty and every verdict `not known`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from monitor.bench.outputs import Estimate
from monitor.science.conduction import Array, Grid, Layer, Modes, grid

BOND_LINE = "bond_line"
FACE = "face"
CONDUCTANCES = 5
CELLS_THIN, CELLS_BASE = 3, 12
BASE_FROM_UM = 3000
TOOL_ERRORS_K = (-1.5, 0.0, 1.5)
"""Class 1 thermocouple, K, below 375 degC: IEC 60584-1:2013, known at second hand."""


@dataclass(frozen=True)
class Fan:
    """The members of a sandwich: one set of modes for each conductance, shared tool errors."""

    mesh: Grid
    modes: tuple[Modes, ...]
    film_cell: int
    face_cell: int


def fan(sandwich: dict[str, Any]) -> Fan:
    """Build the members of a sandwich as a `step_asked` row carries it."""
    layers = [_layer(raw) for raw in sandwich["layers"]]
    counts = [CELLS_BASE if raw["thickness_um"] >= BASE_FROM_UM else CELLS_THIN for raw in sandwich["layers"]]
    mesh = grid(layers, counts)
    band = sandwich["conductance_w_m2k"]
    spread = np.geomspace(float(band["low"]), float(band["high"]), CONDUCTANCES)
    modes = tuple(
        Modes(mesh, [h] * (len(layers) - 1), h, float(sandwich["underside_w_m2k"])) for h in spread.tolist()
    )
    starts = [sum(counts[:index]) for index in range(len(counts))]
    film, face = sandwich["bond_line_after"], sandwich["face_after"]
    return Fan(mesh, modes, starts[film] + counts[film] // 2, starts[face] + counts[face] - 1)


def _layer(raw: dict[str, Any]) -> Layer:
    return Layer(
        raw["thickness_um"] * 1e-6,
        raw["conductivity_mw_mk"] * 1e-3,
        float(raw["density_kg_m3"]),
        float(raw["heat_capacity_j_kgk"]),
    )


class Estimator:
    """Steps the members of one contact from its first reading on.

    Args:
        members: the sandwich's fan.
        start_c: uniform temperature of the stack when the tool comes down, degC.
    """

    def __init__(self, members: Fan, start_c: float) -> None:
        self._fan = members
        self._start_c = start_c
        self._errors = np.array(TOOL_ERRORS_K)
        self._modal = [modes.rest(len(TOOL_ERRORS_K)) for modes in members.modes]
        self._last: tuple[int, Array] | None = None

    def take(self, mono_ms: int, tool_c: float) -> dict[str, tuple[float, float, float]] | None:
        """Take a tool reading; give 5, 50 and 95 % of the members in degC at both depths.

        Returns None for the first reading, from which nothing has been stepped yet.
        """
        tool = tool_c - self._start_c + self._errors
        last, self._last = self._last, (mono_ms, tool)
        if last is None or mono_ms <= last[0]:
            return None
        dt_s = (mono_ms - last[0]) / 1000
        self._modal = [
            modes.step(modal, last[1], tool, dt_s) for modes, modal in zip(self._fan.modes, self._modal, strict=True)
        ]
        return {BOND_LINE: self._band(self._fan.film_cell), FACE: self._band(self._fan.face_cell)}

    def _band(self, cell: int) -> tuple[float, float, float]:
        values = np.concatenate(
            [modes.departures(modal, cell) for modes, modal in zip(self._fan.modes, self._modal, strict=True)]
        )
        low, middle, high = np.percentile(values, (5, 50, 95)).tolist()
        start = self._start_c
        return round(start + low, 1), round(start + middle, 1), round(start + high, 1)


def verdict(peak: Estimate | None, gap_ms: int) -> tuple[str, str]:
    """Judge a place by a fixed rule over stored rows alone: verdict and reason.

    Args:
        peak: the row of the contact with the highest most likely temperature at the
            adhesive, or None when there is none.
        gap_ms: how long the tool's probe gave nothing during the contact.
    """
    if gap_ms > 0:
        return "not known", f"no reading from the tool for {gap_ms / 1000:.1f} s"
    if peak is None:
        return "not known", "no estimate for this contact"
    return "not known", "not yet tried on a mock-up"
