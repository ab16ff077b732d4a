"""The estimate of a running contact: a fixed fan of members stepped through the layers.

The fan spans what is not known before a mock-up contact has been fitted: contact conductance,
the ranges of thickness and conductivity the catalogue gives for each layer, and the tool
thermocouple's class. It is a band, never a probability, and so `p_reached` stays empty.

This module loads numpy; it is imported when the first contact begins, not at rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from monitor.bench.adhesive import BOND_LINE, FACE
from monitor.science.conduction import Array, Layer, Modes, grid

CELLS_THIN, CELLS_BASE = 3, 12
BASE_FROM_UM = 3000
TOOL_ERRORS_K = (-1.5, 0.0, 1.5)
"""Class 1 thermocouple, K, below 375 degC: IEC 60584-1:2013, known at second hand."""
INSULATING, AS_GIVEN, CONDUCTING = -1, 0, 1
CORNERS = ((AS_GIVEN, AS_GIVEN), *((over, under) for over in (-1, 1) for under in (-1, 1)))
"""How the layers over the film, and those from it down, depart from their given figures."""


@dataclass(frozen=True)
class Fan:
    """The members of a sandwich: modes for each conductance and corner; tool errors are shared."""

    modes: tuple[Modes, ...]
    film_cell: int
    face_cell: int


def fan(sandwich: dict[str, Any]) -> Fan:
    """Build the members of a sandwich as a `step_asked` row carries it."""
    raws = sandwich["layers"]
    counts = [CELLS_BASE if raw["thickness_um"] >= BASE_FROM_UM else CELLS_THIN for raw in raws]
    film, face = sandwich["bond_line_after"], sandwich["face_after"]
    contact = sandwich["conductance_w_m2k"]
    modes = []
    for over, under in CORNERS:
        layers = [_layer(raw, over if index < film else under) for index, raw in enumerate(raws)]
        mesh = grid(layers, counts)
        for name in ("low", "likely", "high"):
            h = float(contact[name])
            modes.append(Modes(mesh, [h] * (len(layers) - 1), h, float(sandwich["underside_w_m2k"])))
    starts = [sum(counts[:index]) for index in range(len(counts))]
    return Fan(tuple(modes), starts[film] + counts[film] // 2, starts[face] + counts[face] - 1)


def _layer(raw: dict[str, Any], lean: int) -> Layer:
    """Give a layer as it is given, or at the insulating or the conducting end of its ranges."""
    thick = "high" if lean is INSULATING else "low"
    conducts = "low" if lean is INSULATING else "high"
    return Layer(
        _leant(raw, "thickness_um", thick, lean) * 1e-6,
        _leant(raw, "conductivity_mw_mk", conducts, lean) * 1e-3,
        float(raw["density_kg_m3"]),
        float(raw["heat_capacity_j_kgk"]),
    )


def _leant(raw: dict[str, Any], key: str, end: str, lean: int) -> float:
    found = None if lean is AS_GIVEN else raw.get("figures", {}).get(key, {}).get(end)
    return float(raw[key] if found is None else found)


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
        """Take a tool reading; give the fan's lowest, middle and highest in degC at both depths.

        They stand where 5, 50 and 95 % will stand once a mock-up has given the members weights.

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
        low, middle, high = float(values.min()), float(np.median(values)), float(values.max())
        start = self._start_c
        return round(start + low, 1), round(start + middle, 1), round(start + high, 1)
