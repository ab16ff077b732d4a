"""Functions of time in pieces, each a polynomial through evenly spaced points.

Pieces are halved until a point in between agrees, so that a step of a function ends in a very
short piece. What goes along straight lines is met exactly.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from monitor.science.conduction.layers import Array

Both: TypeAlias = Callable[[Array], Array]
"""From times in s, shape (k,), to two temperatures, shape (k, 2)."""

DEGREE = 6
AGREES = 1e-4
"""Of the range of the function."""
LEAST_RANGE_K = 1e-6
"""Below it there is only rounding left."""
MOST_HALVINGS = 18
"""A step of the function is met within a 10-millionth of the whole time."""
MOST_PIECES = 2**16
PROBED_AT = 0.054
"""Share of a piece where its polynomial departs most; uneven, or a period could hide in the halving."""

THROUGH = np.linalg.inv(np.vander(np.arange(DEGREE + 1) / DEGREE, increasing=True))
"""From values at the points to coefficients of the powers of the share of the piece."""
PROBE = np.vander([PROBED_AT], DEGREE + 1, increasing=True) @ THROUGH


@dataclass(frozen=True)
class Pieces:
    """Pieces in the order of time.

    Attributes:
        starts, lengths: in s, shape (m,).
        values: at the points of each, shape (m, DEGREE + 1, 2).
    """

    starts: Array
    lengths: Array
    values: Array

    def __getitem__(self, which: npt.NDArray[np.bool_]) -> Pieces:
        return Pieces(self.starts[which], self.lengths[which], self.values[which])


def equal(both: Both, end_s: float, count: int) -> Pieces:
    """Give a number of equal pieces from 0 to `end_s`."""
    times = np.linspace(0.0, end_s, count * DEGREE + 1)
    first = np.arange(count) * DEGREE
    return Pieces(times[first], np.full(count, end_s / count), both(times)[first[:, None] + np.arange(DEGREE + 1)])


def halved(both: Both, pieces: Pieces) -> Pieces:
    """Halve pieces until each agrees with the function, is as short as may be, or there are too many."""
    done: list[Pieces] = []
    kept = 0
    low, high = np.fmin.reduce(pieces.values, (0, 1)), np.fmax.reduce(pieces.values, (0, 1))
    for _ in range(MOST_HALVINGS):
        probed = both(pieces.starts + PROBED_AT * pieces.lengths)
        off = _departs(pieces.values, probed, AGREES * np.fmax(high - low, LEAST_RANGE_K))
        done.append(pieces[~off])
        kept += len(done[-1].starts)
        pieces = _halves(both, pieces[off])
        if not len(pieces.starts):
            break
        if kept + len(pieces.starts) > MOST_PIECES:
            raise ValueError(f"temp_c changes too often to be followed in {MOST_PIECES} pieces; give steps")
        low = np.fmin(low, np.fmin.reduce(pieces.values, (0, 1)))
        high = np.fmax(high, np.fmax.reduce(pieces.values, (0, 1)))
    return _joined([*done, pieces])


def _departs(values: Array, probed: Array, allowed: Array) -> npt.NDArray[np.bool_]:
    """Tell where a probed value is not on its piece's polynomial, or a piece is known in part only."""
    departs = np.abs(probed - (PROBE @ values)[:, 0]) > allowed
    unknown = np.isnan(values)
    partly = (unknown.any(axis=1) | np.isnan(probed)) & ~(unknown.all(axis=1) & np.isnan(probed))
    return np.asarray((departs | partly).any(axis=1))


def _halves(both: Both, pieces: Pieces) -> Pieces:
    """Cut each piece in two; its points are kept."""
    count = len(pieces.starts)
    shares = (np.arange(DEGREE) + 0.5) / DEGREE
    between = both((pieces.starts[:, None] + shares * pieces.lengths[:, None]).ravel())
    values = np.empty((count, 2 * DEGREE + 1, 2))
    values[:, ::2], values[:, 1::2] = pieces.values, between.reshape(count, DEGREE, 2)
    half = pieces.lengths / 2
    early = Pieces(pieces.starts, half, values[:, : DEGREE + 1])
    return _joined([early, Pieces(pieces.starts + half, half, values[:, DEGREE:])])


def _joined(parts: list[Pieces]) -> Pieces:
    starts = np.concatenate([part.starts for part in parts])
    order = np.argsort(starts)
    lengths = np.concatenate([part.lengths for part in parts])
    return Pieces(starts[order], lengths[order], np.concatenate([part.values for part in parts])[order])
