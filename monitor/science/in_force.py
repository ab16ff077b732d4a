"""A series of readings as spells of time in which a value was in force, and the time of which nothing is known.

A value is in force from its reading to the next one, at most `held_ms` long: a channel that falls
silent is not taken to stand still. A gap (NaN) is in force in the same way: from it on nothing is
known. Instants are whole milliseconds, as the store keeps them, so lengths of time add up exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Instants = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Known:
    """How much of a period something is known of; every statistic carries it.

    Attributes:
        known_ms: time with a value in force.
        period_ms: length of the period.
    """

    known_ms: int
    period_ms: int

    @property
    def share(self) -> float:
        """Give the share of the period that is known, 0 to 1; NaN for a period of no length."""
        return self.known_ms / self.period_ms if self.period_ms else float("nan")


@dataclass(frozen=True)
class Spells:
    """Spells with a value in force, in order, none of no length, clipped to the period.

    Attributes:
        starts_ms, ends_ms: first instant and the one after the last, shape (n,).
        values: the value in force, shape (n,).
    """

    starts_ms: Instants
    ends_ms: Instants
    values: Array

    @property
    def lengths_ms(self) -> Instants:
        """Give the length of each spell."""
        lengths: Instants = self.ends_ms - self.starts_ms
        return lengths


@dataclass(frozen=True, eq=False)
class Record:
    """A checked series; made by `record`.

    Attributes:
        at_ms: instants of the readings, rising, shape (n,).
        values: their values, NaN for a gap, shape (n,).
        ends_ms: until when each is in force, shape (n,); may lie after `until_ms`.
        from_ms, until_ms: the period that statistics are of.
    """

    at_ms: Instants
    values: Array
    ends_ms: Instants
    from_ms: int
    until_ms: int

    @cached_property
    def spells(self) -> Spells:
        """Give what was in force within the period."""
        starts = np.clip(self.at_ms, self.from_ms, self.until_ms)
        ends = np.clip(self.ends_ms, self.from_ms, self.until_ms)
        kept = (ends > starts) & ~np.isnan(self.values)
        return Spells(starts[kept], ends[kept], self.values[kept])

    @property
    def known(self) -> Known:
        """Give how much of the period is known."""
        return Known(int(self.spells.lengths_ms.sum()), self.until_ms - self.from_ms)

    def value_at(self, at_ms: npt.ArrayLike) -> Array:
        """Give the value in force at each instant, of the shape of `at_ms`; NaN where nothing is known.

        Instants may lie outside the period: the last reading is in force for its time.
        """
        asked = np.asarray(at_ms, dtype=np.int64)
        if not len(self.at_ms):
            return np.full(asked.shape, np.nan)
        index = np.searchsorted(self.at_ms, asked, side="right") - 1
        held = (index >= 0) & (asked < self.ends_ms[index])
        found: Array = np.where(held, self.values[index], np.nan)
        return found


def record(
    at_ms: npt.ArrayLike,
    values: npt.ArrayLike,
    *,
    held_ms: int,
    from_ms: int | None = None,
    until_ms: int | None = None,
) -> Record:
    """Check a series of readings and take it for a period.

    Args:
        at_ms: instants in whole milliseconds, rising, shape (n,).
        values: values in any unit, NaN for a gap, shape (n,). A reading clipped at the end of its range
            is not the value it stands for: give it as NaN.
        held_ms: how long a value is in force at most, above 0; three times the channel's interval by design.
        from_ms, until_ms: the period; from the first and up to the last reading where left out, so that
            nothing is counted after the last one.

    Raises:
        ValueError: lengths differ, an instant is no whole number, stands twice or goes back (both rows are
            named), a value is infinite, `held_ms` is not above 0, the period ends before it begins,
            or there is neither a reading nor a period.
    """
    at, held = _instants(at_ms), int(held_ms)
    known = np.asarray(values, dtype=np.float64)
    if at.ndim != 1 or at.shape != known.shape:
        raise ValueError(f"instants have shape {at.shape}, values {known.shape}; there must be one value an instant")
    if held < 1:
        raise ValueError(f"held_ms is {held_ms}; it must be 1 ms or more")
    if np.isinf(known).any():
        raise ValueError(f"value in row {int(np.flatnonzero(np.isinf(known))[0])} is infinite; give a gap as NaN")
    _rising(at)
    if not len(at) and (from_ms is None or until_ms is None):
        raise ValueError("there is no reading; without one from_ms and until_ms must say what period is meant")
    first = int(at[0]) if from_ms is None else from_ms
    last = int(at[-1]) if until_ms is None else until_ms
    if last < first:
        raise ValueError(f"the period ends at {last} ms, before it begins at {first} ms")
    return Record(at, known, np.minimum(at + held, np.append(at[1:], np.iinfo(np.int64).max)), first, last)


def _instants(at_ms: npt.ArrayLike) -> Instants:
    at = np.asarray(at_ms)
    if at.size and not np.issubdtype(at.dtype, np.integer):
        raise ValueError(f"instants are of type {at.dtype}; they must be whole milliseconds as integers")
    whole: Instants = at.astype(np.int64)
    return whole


def _rising(at: Instants) -> None:
    wrong = np.flatnonzero(np.diff(at) <= 0)
    if not len(wrong):
        return
    row = int(wrong[0])
    if at[row + 1] == at[row]:
        raise ValueError(
            f"instant {at[row]} ms stands twice, in rows {row} and {row + 1}; a channel has one reading then"
        )
    raise ValueError(
        f"instant goes back from {at[row]} to {at[row + 1]} ms in row {row + 1}; rows must be in their order"
    )
