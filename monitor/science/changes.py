"""How much a climate changed, how fast, and how far it is from what it was: looking back, by time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from monitor.science.in_force import Array, Instants, Known, Record, Spells

HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS
MONTH_MS = 30 * DAY_MS


@dataclass(frozen=True)
class Mean:
    """A time-weighted mean, NaN where nothing is known."""

    value: float
    known: Known


@dataclass(frozen=True)
class Change:
    """A change from one value to a later one.

    Attributes:
        size: how far apart they are, 0 or more.
        from_value, to_value: the two values.
        from_ms: until when the first was in force.
        to_ms: when the second came; equal to from_ms for a step from one reading to the next.
    """

    size: float
    from_value: float
    to_value: float
    from_ms: int
    to_ms: int


@dataclass(frozen=True)
class Changes:
    """The largest rise and the largest fall within a window anywhere in the period."""

    rise: Change
    fall: Change
    window_ms: int
    known: Known

    @property
    def largest(self) -> Change:
        """Give the larger of the two, the rise where they are equal."""
        return self.rise if self.rise.size >= self.fall.size else self.fall


@dataclass(frozen=True)
class Departure:
    """How far a value lies from the mean of the time *before* it (a trailing mean, not one centred on it).

    Attributes:
        value: the value in force, NaN where none is.
        mean: time-weighted mean of the trailing time, with how much of that is known.
        departure: value less mean.
    """

    value: float
    mean: Mean
    departure: float


def largest_changes(taken: Record, window_ms: int = DAY_MS) -> Changes | None:
    """Give the largest rise and the largest fall within any window of time; None where nothing is known.

    Two values count as within a window if less than it lies between the end of the earlier and the start of the
    later one, so that both were in force within it. Time unknown between them changes nothing: both are known.

    Args:
        taken: the record.
        window_ms: length of the window, above 0; a day as a rule.

    Raises:
        ValueError: the window is not above 0.
    """
    _check_window(window_ms)
    spells = taken.spells
    if not len(spells.values):
        return None
    first = np.searchsorted(spells.ends_ms, spells.starts_ms - window_ms, side="right")
    rise, fall = (_largest(spells, first, sign) for sign in (1.0, -1.0))
    return Changes(rise, fall, window_ms, taken.known)


def rate_per_h(taken: Record, at_ms: npt.ArrayLike | None = None, *, window_ms: int = HOUR_MS) -> Array:
    """Give how fast the value changed: its difference over a window that ends at each instant, per hour.

    From end to end: the value in force at the instant less the one in force a window before, over the
    window. Anyone can check that with two readings, and a gap between the two changes nothing; where either
    is unknown the rate is NaN.

    Args:
        taken: the record.
        at_ms: instants, any shape; those of the readings where left out.
        window_ms: length of the window, above 0; an hour or two.

    Returns:
        Rate in the unit of the values per hour, of the shape of `at_ms`.

    Raises:
        ValueError: the window is not above 0.
    """
    _check_window(window_ms)
    asked = taken.at_ms if at_ms is None else np.asarray(at_ms, dtype=np.int64)
    rate: Array = (taken.value_at(asked) - taken.value_at(asked - window_ms)) * (HOUR_MS / window_ms)
    return rate


def trailing_mean(taken: Record, at_ms: npt.ArrayLike, *, trailing_ms: int = MONTH_MS) -> tuple[Array, Instants]:
    """Give the time-weighted mean of the time before each instant, and how much of that is known.

    What the record's period leaves out is unknown here too.

    Args:
        taken: the record.
        at_ms: instants, any shape.
        trailing_ms: how far back, above 0; 30 days as a rule.

    Returns:
        Mean (NaN where nothing is known) and known time in ms, both of the shape of `at_ms`.

    Raises:
        ValueError: the length is not above 0.
    """
    _check_window(trailing_ms)
    spells, asked = taken.spells, np.asarray(at_ms, dtype=np.int64)
    centre = float(np.median(spells.values)) if len(spells.values) else 0.0  # keeps the sums small
    lengths, apart = np.append(0, spells.lengths_ms), np.append(0.0, spells.values - centre)
    ends, known, area = np.append(0, spells.ends_ms), np.cumsum(lengths), np.cumsum(apart * lengths)

    def until(instants: Instants) -> tuple[Array, Instants]:
        """Give the integral of value less centre, and the known time, from the beginning to each instant."""
        begun = np.searchsorted(spells.starts_ms, instants, side="right")
        ahead = np.where(begun > 0, np.maximum(ends[begun] - instants, 0), 0)
        return area[begun] - apart[begun] * ahead, known[begun] - ahead

    (area_now, known_now), (area_then, known_then) = until(asked), until(asked - trailing_ms)
    known_ms: Instants = known_now - known_then
    means: Array = centre + (area_now - area_then) / np.where(known_ms > 0, known_ms, np.nan)
    return means, known_ms


def departure_from_trailing_mean(
    taken: Record, at_ms: int | None = None, *, trailing_ms: int = MONTH_MS
) -> Departure:
    """Give how far the value at an instant lies from the time-weighted mean of the 30 days before it.

    The mean is a *trailing* one. It is not the mean of 30 days centred on the instant, which is not
    known before 15 days have passed; after a change of season the two differ.

    Args:
        taken: the record.
        at_ms: the instant; the last reading where left out.
        trailing_ms: how far back, above 0.

    Raises:
        ValueError: the length is not above 0, or there is neither an instant nor a reading.
    """
    if at_ms is None:
        if not len(taken.at_ms):
            raise ValueError("there is no reading; without one at_ms must say what instant is meant")
        at_ms = int(taken.at_ms[-1])
    means, known_ms = trailing_mean(taken, [at_ms], trailing_ms=trailing_ms)
    value, trailing = float(taken.value_at(at_ms)), Mean(float(means[0]), Known(int(known_ms[0]), trailing_ms))
    return Departure(value, trailing, value - trailing.value)


def _check_window(window_ms: int) -> None:
    if window_ms < 1:
        raise ValueError(f"the window is {window_ms} ms long; it must be 1 ms or more")


def _largest(spells: Spells, first: Instants, sign: float) -> Change:
    """Give the largest rise (sign 1) or fall (sign -1) from any spell from `first` on to each spell."""
    values = sign * spells.values
    lowest = _lowest_since(values, first)
    end = int(np.argmax(values - lowest))
    begin = int(np.flatnonzero(values[first[end] : end + 1] == lowest[end])[-1] + first[end])
    return Change(
        size=float(values[end] - lowest[end]),
        from_value=float(spells.values[begin]),
        to_value=float(spells.values[end]),
        from_ms=int(min(spells.ends_ms[begin], spells.starts_ms[end])),
        to_ms=int(spells.starts_ms[end]),
    )


def _lowest_since(values: Array, first: Instants) -> Array:
    """Give for each j the lowest of values[first[j]] to values[j]; doubles the width of a table of minima.

    The minimum over any stretch is that of two overlapping ones whose width is a power of two.
    """
    lowest, table, width = values.copy(), values, 1
    widths = np.arange(len(values)) - first + 1
    widest = int(widths.max())
    while True:
        here = np.flatnonzero((widths >= width) & (widths < 2 * width))
        lowest[here] = np.minimum(table[first[here]], table[here - width + 1])
        if 2 * width > widest:
            return lowest
        table = np.minimum(table[:-width], table[width:])
        width *= 2
