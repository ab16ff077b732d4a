"""The modes of a stack: decomposed once, then advanced exactly over a step of any length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.science.conduction.layers import Array
from monitor.science.conduction.mesh import Grid, conductances, to_outside

SLOW = 1.0
"""Rate times step below which the recursion of `moments` would cancel, and a series begins it."""
TERMS = 12
"""Of that series; the first one left out is below 1e-13."""


@dataclass(frozen=True)
class Decomposed:
    """What a stack's matrices come to.

    Attributes:
        rates: of each mode's decay, 1/s, ascending, at least 0, shape (n,).
        out: temperatures of the cells for a unit of each mode, shape (n, n).
    """

    rates: Array
    out: Array


def decompose(capacity: Array, inner: Array, top: float, bottom: float) -> Decomposed:
    """Diagonalise a stack.

    Args:
        capacity: of the cells, J/(m2 K), shape (n,).
        inner: conductances between neighbours, W/(m2 K), shape (n - 1,).
        top, bottom: conductances to what is outside, W/(m2 K), at least 0.
    """
    root = 1 / np.sqrt(capacity)
    matrix = np.diag((np.append(inner, bottom) + np.append(top, inner)) * root * root)
    below = np.arange(1, len(capacity))
    matrix[below, below - 1] = -inner * root[1:] * root[:-1]
    rates, vectors = np.linalg.eigh(matrix)
    return Decomposed(np.maximum(rates, 0.0), vectors * root[:, None])


def moments(x: Array, degree: int) -> list[Array]:
    """Give each mode's answer to inputs s^k, k from 0 to `degree`, s going from 0 to 1 over a step.

    That is the integral of exp(-x (1 - s)) s^k over s from 0 to 1, by parts
    m_0 = (1 - exp(-x)) / x, m_k = (1 - k m_(k-1)) / x; where x is small the same is taken
    downwards from a series for the last one.

    Args:
        x: rate times length of the step, at least 0.
        degree: the last k.
    """
    fast = np.maximum(x, SLOW if degree else np.finfo(np.float64).tiny)
    found = [-np.expm1(-fast) / fast]
    for k in range(1, degree + 1):
        found.append((1 - k * found[-1]) / fast)
    slow = x < SLOW
    if degree and slow.any():
        near = x[slow]
        moment = np.ones_like(near)
        for j in range(degree + 1 + TERMS, degree + 1, -1):
            moment *= near
            moment *= -1 / j
            moment += 1
        moment /= degree + 1
        for k in range(degree, -1, -1):
            found[k][slow] = moment
            moment = (1 - near * moment) / max(k, 1)
    return found


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
        inner = conductances(mesh, contact_w_m2k)
        top, bottom = to_outside(tool_w_m2k, mesh.half[0]), to_outside(air_w_m2k, mesh.half[-1])
        found = decompose(mesh.capacity, inner, top, bottom)
        self.rates: Array = found.rates
        self.out: Array = found.out
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
