"""How thickly events come: the most in any stretch of time, and floods. Instants are sorted, UTC ms."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

Spell = tuple[int, int]


class Peak(NamedTuple):
    """The most events in a stretch of a given length, and when the first such stretch begins."""

    most: int
    from_ms: int | None


def peak(instants: Sequence[int], width_ms: int) -> Peak:
    """Give the most events in any half-open stretch of this length, wherever it begins."""
    best, start = Peak(0, None), 0
    for place, at_ms in enumerate(instants):
        while instants[start] <= at_ms - width_ms:
            start += 1
        if place - start + 1 > best.most:
            best = Peak(place - start + 1, instants[start])
    return best


def most_within(instants: Sequence[int], within_ms: int) -> int:
    """Give the most events of which the last comes no later than `within_ms` after the first."""
    return peak(instants, within_ms + 1).most


def floods(instants: Sequence[int], above: float, below: float, width_ms: int) -> list[Spell]:
    """Give the stretches in flood.

    Counted are the events of the last `width_ms`, the one that is just that old left out. A flood begins
    with the event that makes them more than `above`, and ends as soon as they are fewer than `below`.
    """
    found: list[Spell] = []
    began: int | None = None
    count, left = 0, 0
    moments = sorted({*instants, *(at_ms + width_ms for at_ms in instants)})
    come = 0
    for now in moments:
        while come < len(instants) and instants[come] <= now:
            come += 1
        while left < len(instants) and instants[left] + width_ms <= now:
            left += 1
        count = come - left
        if began is None and count > above:
            began = now
        elif began is not None and count < below:
            found.append((began, now))
            began = None
    return found


def clipped(spells: Sequence[Spell], from_ms: int, to_ms: int) -> list[Spell]:
    """Give what of some stretches lies in [from, to)."""
    cut = [(max(begin, from_ms), min(end, to_ms)) for begin, end in spells]
    return [(begin, end) for begin, end in cut if end > begin]


def joined(spells: Sequence[Spell]) -> list[Spell]:
    """Join stretches that touch or overlap."""
    found: list[Spell] = []
    for begin, end in sorted(spells):
        if found and begin <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((begin, end))
    return found


def both(some: Sequence[Spell], others: Sequence[Spell]) -> list[Spell]:
    """Give the time that lies in both; within each the stretches are apart."""
    return [spell for begin, end in others for spell in clipped(some, begin, end)]


def total_ms(spells: Sequence[Spell]) -> int:
    """Sum the lengths of stretches."""
    return sum(end - begin for begin, end in spells)


def most_at_once(spells: Sequence[Spell]) -> int:
    """Give the most stretches that overlap; one that ends as another begins is not counted with it."""
    steps = sorted([(begin, 1) for begin, _ in spells] + [(end, -1) for _, end in spells])
    best = now = 0
    for _, step in steps:
        now += step
        best = max(best, now)
    return best
