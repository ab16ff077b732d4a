"""Temperatures of a stack at given times and depths."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from monitor.science.conduction.bodies import Bodies, Start
from monitor.science.conduction.inputs import Inputs, acting
from monitor.science.conduction.layers import Array, Boundary, Layer, row
from monitor.science.conduction.modes import decompose, moments
from monitor.science.conduction.stack import Stack, stacked

ROWS = 2048
"""Pieces and times that are worked on at once, so that a long record needs little memory."""


def temperatures(
    layers: Sequence[Layer],
    *,
    initial_c: Start,
    top: Boundary,
    bottom: Boundary,
    times_s: npt.ArrayLike,
    depths_m: npt.ArrayLike,
    contact_w_m2k: Sequence[float] | None = None,
    cells: Sequence[int] | None = None,
    steps: int | None = None,
) -> Array:
    """Give the temperatures of a stack of layers at given times and depths.

    Equation: rho c dT/dt = d/dz (k dT/dz) in each layer, the flux through a contact being its
    conductance times the difference across it (Carslaw and Jaeger, Conduction of Heat in
    Solids, 2nd ed. 1959, sec. 1.6 and 1.9; recalled). The scheme is ours: second order in the
    cells' width, exact in time for what acts along straight lines, of high order for what is smooth,
    stable and without ringing for any times.

    Args:
        layers: top to bottom. May be empty if an end is a half-space.
        initial_c: the start in degC: a number; one for each layer, or for each body, half-spaces
            counted (one that is left out starts like the layer it continues); or a function of depth.
        top, bottom: `Fixed`, `Convective`, `Insulated` or `SemiInfinite`. Functions of time are
            asked for times from 0 to the last of `times_s`, never outside.
        times_s: s since the start, shape (t,), from 0, not going back. At 0 the start is given.
        depths_m: m from the top of the first layer, shape (d,), inside the stack. At a contact the
            lower face of the layer above is meant. In a half-space any depth may be asked for, in
            one above the first layer as a negative depth.
        contact_w_m2k: conductances between neighbouring layers in W/(m2 K), one fewer than layers,
            each above 0; inf, or None for all, where nothing resists. Joins to half-spaces may be
            listed too, else they resist nothing.
        cells: how many equal cells for each body (graded ones for a half-space). Left out, cells
            are 0.05 diffusion lengths wide at each face at the first time asked for (or the time
            in which a function of time changes, but a 10,000th of the last at least) and widen by
            3 % of the distance from it, up to 300 for a body. That keeps closed forms within
            3e-4 of the step that acts.
        steps: how many equal pieces the functions of time are taken in, each as a polynomial
            through seven points. Left out, pieces are halved until they agree within a 10,000th of
            the function's range; then a pulse shorter than a 300th of the last time may be missed.

    Returns:
        temperatures in degC, shape (t, d). NaN where the start or an end is NaN and has acted.

    Raises:
        ValueError: a time or depth outside, a number of values that does not fit, a value that is
            not above 0 where it must be, or an infinite temperature.
    """
    bodies = Bodies(tuple(layers), top, bottom)
    times, depths = _times(times_s), bodies.depths(depths_m)
    later = times > 0
    end_s = float(times[-1]) if later.any() else 0.0
    reference = float(bodies.start(initial_c, np.zeros(1), np.zeros(1, dtype=np.int64))[0])
    inputs = acting(top, bottom, end_s, steps, reference)
    shortest_s = float(times[later][0]) if end_s else 1.0
    if inputs.changing and end_s:
        shortest_s = min(shortest_s, inputs.shortest_s)
    stack = stacked(bodies, contact_w_m2k, cells, depths, shortest_s, end_s or 1.0)
    layer_of = stack.mesh.layer_of
    found = np.empty((len(times), len(depths)))
    found[~later] = bodies.start(initial_c, depths, layer_of[stack.cell_at(depths)])
    if end_s:
        start = bodies.start(initial_c, stack.middles, layer_of) - reference
        found[later] = reference + _departures(stack, start, inputs, times[later], stack.shares(depths))
    return found


def _times(times_s: npt.ArrayLike) -> Array:
    times = row("times_s", times_s)
    wrong = times[~(np.isfinite(times) & (times >= 0))]
    if len(wrong):
        raise ValueError(f"time is {wrong[0]:g} s; it must be finite and at least 0 s")
    back = np.flatnonzero(np.diff(times) < 0)
    if len(back):
        raise ValueError(f"times_s goes back from {times[back[0]]:g} to {times[back[0] + 1]:g} s; it must increase")
    return times


def _departures(stack: Stack, start: Array, inputs: Inputs, times: Array, shares: Array) -> Array:
    """Give departures from the reference at times above 0, in K, shape (t, d)."""
    capacity, faces = stack.mesh.capacity, stack.faces
    modes = decompose(capacity, faces[1:-1], float(faces[0]), float(faces[-1]))
    drive = np.stack([modes.out[0] * faces[0], modes.out[-1] * faces[-1]])
    to_depths, to_outside = (shares[:, 1:-1] @ modes.out).T, shares[:, [0, -1]].T
    modal = modes.out.T @ (capacity * start)
    # Rates anew from the heat each mode sends through the faces: what `eigh` gives of the slow ones
    # drowns in the rounding of the fast ones where a metal foil lies in the stack for long.
    drops = np.diff(modes.out, axis=0, prepend=0.0, append=0.0)
    rows = _marched(faces @ (drops * drops), drive, modal, inputs, times)
    return np.concatenate([state @ to_depths + outside @ to_outside for state, outside in rows])


def _marched(rates: Array, drive: Array, modal: Array, inputs: Inputs, times: Array) -> Iterator[tuple[Array, Array]]:
    """Give modal states, shape (k, n), and what acts outside, shape (k, 2), at `times`, some of them at once."""
    degree = inputs.powers.shape[1] - 1
    piece = np.searchsorted(inputs.starts, times, side="left") - 1
    lengths, length_of = np.unique(inputs.lengths, return_inverse=True)
    decays, answers = _answers(rates, lengths, degree)
    for first in range(0, len(inputs.starts), ROWS):
        block = slice(first, first + ROWS)
        which = length_of[block]
        push = _pushed([answer[which] for answer in answers], inputs.powers[block], drive)
        states = np.empty_like(push)
        for state, decay, pushed in zip(states, decays[which], push, strict=True):
            state[:] = modal
            modal = decay * modal + pushed
        asked = np.flatnonzero((piece >= first) & (piece < first + len(which)))
        for rows in np.split(asked, range(ROWS, len(asked), ROWS)):
            within = piece[rows]
            gone = times[rows] - inputs.starts[within]
            share = gone / inputs.lengths[within]
            powers = inputs.powers[within] * (share[:, None] ** np.arange(degree + 1))[:, :, None]
            remaining, parts = _answers(rates, gone, degree)
            yield remaining * states[within - first] + _pushed(parts, powers, drive), powers.sum(axis=1)


def _answers(rates: Array, dt_s: Array, degree: int) -> tuple[Array, list[Array]]:
    """Give how modes decay over steps, and their answers in s to powers of the share of the step; each (k, n)."""
    dt = dt_s[:, None]
    x = rates * dt
    return np.exp(-x), [dt * moment for moment in moments(x, degree)]


def _pushed(answers: list[Array], powers: Array, drive: Array) -> Array:
    """Give what steps push into the modes, shape (k, n), by powers of their inputs, shape (k, degree + 1, 2)."""
    pushed = answers[0] * (powers[:, 0] @ drive)
    for k in range(1, len(answers)):
        pushed += answers[k] * (powers[:, k] @ drive)
    return pushed
