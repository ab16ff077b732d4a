"""What acts on the ends of a stack over time, as pieces of polynomials."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.science.conduction.layers import Array, Boundary, Convective, Fixed, OfTime
from monitor.science.conduction.pieces import THROUGH, equal, halved

FIRST_PIECES = 48


@dataclass(frozen=True)
class Inputs:
    """The temperatures outside both ends, as departures from a reference in K.

    Attributes:
        starts: of the pieces in s, from 0, shape (m,).
        lengths: of the pieces in s, shape (m,); equal ones to the last bit.
        powers: coefficients of the powers of the share of each piece, of top and bottom, shape (m, k, 2).
        changing: whether one of the two is a function of time.
    """

    starts: Array
    lengths: Array
    powers: Array
    changing: bool

    @property
    def shortest_s(self) -> float:
        """Time in s over which the functions of time change, but no less than a 10,000th of the whole."""
        return max(float(self.lengths.min()) / 2, float(self.lengths.sum()) / 10_000)


def acting(top: Boundary, bottom: Boundary, end_s: float, steps: int | None, reference_c: float) -> Inputs:
    """Give what acts on both ends from 0 to `end_s`; an end on which nothing acts has the reference.

    Args:
        top, bottom: the ends.
        end_s: last time in s, above 0; functions are asked for times from 0 to it only.
        steps: how many equal pieces; None for as many as the functions need.
        reference_c: what departures are taken from, degC.

    Raises:
        ValueError: a function of time gives an infinite temperature, or `steps` is below 1.
    """
    if steps is not None and steps < 1:
        raise ValueError(f"steps is {steps}; it must be at least 1")
    sources = [end.temp_c if isinstance(end, Fixed | Convective) else reference_c for end in (top, bottom)]

    def both(times: Array) -> Array:
        return np.array([_values(source, times) for source in sources]).T - reference_c

    if not any(callable(source) for source in sources):
        return Inputs(np.zeros(1), np.array([end_s]), both(np.zeros(1))[:, None, :], False)
    pieces = equal(both, end_s, steps or FIRST_PIECES)
    if steps is None:
        pieces = halved(both, pieces)
    return Inputs(pieces.starts, pieces.lengths, THROUGH @ pieces.values, True)


def _values(source: OfTime, times: Array) -> Array:
    if not callable(source):
        return np.full(len(times), float(source))
    found = np.array([source(time) for time in times.tolist()], dtype=np.float64)
    if np.isinf(found).any():
        raise ValueError(f"temp_c at {times[np.isinf(found)][0]:g} s is infinite; it must be finite, or NaN")
    return found
