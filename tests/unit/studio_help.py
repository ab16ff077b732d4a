"""Short ways to put a slab under a held or changing temperature on the world's integrator."""

from __future__ import annotations

import csv
from collections.abc import Callable
from math import inf
from pathlib import Path

import numpy as np

from monitor.probes.studio.layers import GAMMA, Field, Mesh, Stepper
from monitor.probes.studio.stack import Footprint, Layer

LINE = Footprint(covered_m=(1.0,), margin_m=(), width_m=1.0, spread_m=inf, free_w_m2k=0.0)
ROWS = Path(__file__).parents[1] / "reference" / "studio_heat_cases.csv"


def reference(case: str, what: str) -> tuple[float, float]:
    """Give expected value and tolerance of a reference row."""
    with ROWS.open(newline="", encoding="utf-8") as file:
        found = [r for r in csv.DictReader(file) if (r["case"], r["what"]) == (case, what)]
    assert len(found) == 1, f"{case}, {what}: {len(found)} rows"
    return float(found[0]["expected"]), float(found[0]["tolerance"])


class Moving:
    """A partner whose temperature is a function of time, degC."""

    def __init__(self, temperature_c: Callable[[float], float], step_s: float) -> None:
        self._of, self._step_s, self.start_s = temperature_c, step_s, 0.0

    def stage(self, number: int, pull_w_k: float, offer_w: float) -> float:
        """Give the temperature at the stage's instant."""
        self.flow_w = 0.0
        now_c = self._of(self.start_s + self._step_s * (GAMMA, 1.0)[number])
        self.flow_w = pull_w_k * now_c - offer_w
        return now_c


def run(
    layers: list[Layer],
    seconds: float,
    steps: int,
    top: Callable[[float], float],
    *,
    start_c: float | Field = 0.0,
    contact: float = inf,
    below: float = 0.0,
    air_c: float = 0.0,
) -> tuple[Mesh, Field, Moving]:
    """Run one column of layers and give mesh, temperatures at the end, and the partner on top."""
    mesh, step_s = Mesh(layers), seconds / steps
    stepper = Stepper(mesh, LINE, np.array([contact]), step_s, below_w_m2k=below)
    field: Field = np.zeros((1, len(mesh.capacity))) + start_c
    partner = Moving(top, step_s)
    for k in range(steps):
        partner.start_s = k * step_s
        field = stepper.step(field, air_c, partner)
    return mesh, field, partner


def depth_of(mesh: Mesh, column: Field, temperature_c: float) -> float:
    """Give the depth in m at which a falling or rising column first passes a temperature."""
    middles = np.cumsum(mesh.thickness) - mesh.thickness / 2
    sign = 1.0 if column[-1] > column[0] else -1.0
    return float(np.interp(sign * temperature_c, sign * column, middles))
