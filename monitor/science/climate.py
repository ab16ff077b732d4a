"""What a climate was like, looking back: means, percentiles, changes and time inside limits, all by time.

Each value counts for the time it was in force (see `in_force`), so that ten readings a minute weigh no more
than one an hour. Nothing is claimed of unknown time: it is in no mean and in no limit, it
ends a spell outside, and every result says how much was known. A result of nothing known is
NaN, or None where there is no number to give. These are definitions of this project (a proposal);
the time-weighted mean is that of textbooks (recalled). What changed, and how fast, is in `changes`.

For looking back only: numpy is loaded here, and never by the station at rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from monitor.science.changes import (
    Change,
    Changes,
    Departure,
    Mean,
    departure_from_trailing_mean,
    largest_changes,
    rate_per_h,
    trailing_mean,
)
from monitor.science.in_force import Known, Record, record

__all__ = [
    "Change", "Changes", "Departure", "Inside", "Known", "Mean", "Percentiles", "Record", "Spell",
    "departure_from_trailing_mean", "largest_changes", "longest_outside", "mean", "percentiles", "rate_per_h",
    "record", "time_inside", "trailing_mean",
]  # fmt: skip


@dataclass(frozen=True)
class Percentiles:
    """Time-weighted percentiles in the order they were asked for, NaN where nothing is known."""

    values: tuple[float, ...]
    known: Known


@dataclass(frozen=True)
class Inside:
    """How long a value was inside limits, below and above them; together they are the known time."""

    inside_ms: int
    below_ms: int
    above_ms: int
    known: Known

    @property
    def share(self) -> float:
        """Give the share of the known time that was inside, 0 to 1; NaN where nothing is known."""
        return self.inside_ms / self.known.known_ms if self.known.known_ms else float("nan")


@dataclass(frozen=True)
class Spell:
    """A spell from its first instant to the one after its last."""

    start_ms: int
    end_ms: int

    @property
    def length_ms(self) -> int:
        """Give how long it is."""
        return self.end_ms - self.start_ms


def mean(taken: Record) -> Mean:
    """Give the time-weighted mean over the known time of the period, in the unit of the values."""
    spells, known = taken.spells, taken.known
    if not known.known_ms:
        return Mean(float("nan"), known)
    return Mean(float(np.average(spells.values, weights=spells.lengths_ms.astype(np.float64))), known)


def percentiles(taken: Record, pcts: Sequence[float]) -> Percentiles:
    """Give values that the record was at or below for the asked shares of its known time.

    Args:
        taken: the record.
        pcts: percentages, 0 (the lowest value) to 100 (the highest).

    Returns:
        For each the lowest value that was in force with all lower ones for at least that share; always a value
        that was measured, with nothing interpolated.

    Raises:
        ValueError: a percentage out of range.
    """
    for pct in pcts:
        if not 0 <= pct <= 100:
            raise ValueError(f"percentile is {pct:g} %; it must lie from 0 to 100 %")
    spells, known = taken.spells, taken.known
    if not known.known_ms:
        return Percentiles((float("nan"),) * len(pcts), known)
    order = np.argsort(spells.values, kind="stable")
    reached = np.cumsum(spells.lengths_ms[order])
    index = np.searchsorted(reached, np.asarray(pcts, dtype=np.float64) * known.known_ms / 100, side="left")
    return Percentiles(tuple(float(v) for v in spells.values[order][index]), known)


def time_inside(taken: Record, low: float = -np.inf, high: float = np.inf) -> Inside:
    """Give the time inside, below and above limits; equal to a limit is inside.

    Raises:
        ValueError: a limit is NaN, or low lies above high.
    """
    below, above = _beyond(taken, low, high)
    lengths, known = taken.spells.lengths_ms, taken.known
    below_ms, above_ms = int(lengths[below].sum()), int(lengths[above].sum())
    return Inside(known.known_ms - below_ms - above_ms, below_ms, above_ms, known)


def longest_outside(taken: Record, low: float = -np.inf, high: float = np.inf) -> Spell | None:
    """Give the longest spell without a break outside limits, the first of equals; None if there is none.

    From below low straight to above high is one spell. Unknown time ends a spell, since it may have been
    inside then; what goes on after it is another.

    Raises:
        ValueError: a limit is NaN, or low lies above high.
    """
    below, above = _beyond(taken, low, high)
    outside, spells = below | above, taken.spells
    if not outside.any():
        return None
    goes_on = outside[1:] & outside[:-1] & (spells.starts_ms[1:] == spells.ends_ms[:-1])
    starts = spells.starts_ms[outside & ~np.append(False, goes_on)]
    ends = spells.ends_ms[outside & ~np.append(goes_on, False)]
    longest = int(np.argmax(ends - starts))
    return Spell(int(starts[longest]), int(ends[longest]))


def _beyond(taken: Record, low: float, high: float) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Tell for each spell whether it is below and whether it is above the limits."""
    if not low <= high:
        raise ValueError(f"limits are {low:g} and {high:g}; the low one must not lie above the high one")
    values = taken.spells.values
    return values < low, values > high
