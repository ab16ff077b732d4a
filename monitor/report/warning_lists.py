"""Which warnings were frequent, chattered, were fleeting, stood too long, were seen, and were silent."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from monitor.bench import warning_guide as guide
from monitor.report.outside import HUSHED
from monitor.report.warning_history import NEVER, NO_READING, SEEN, SILENCED, WAITING, Given, Key, Stretch
from monitor.report.warning_rates import Spell, clipped, most_within, total_ms

MOST_LISTED = 10


@dataclass(frozen=True)
class Often:
    """One kind of warning, the steps of one sheet together, and how often it was given."""

    sheet: str
    limit: str
    channel: str
    count: int


@dataclass(frozen=True)
class Chatter:
    """A level that was passed anew three times or more within a minute; `most` is the most in any minute.

    `level` is "" where the program itself found that the warning came and went, and told it no more.
    """

    key: Key
    level: str
    most: int
    from_ms: int


@dataclass(frozen=True)
class Stale:
    """A warning that stood for more than a day; `to_ms` None while it stands."""

    key: Key
    from_ms: int
    to_ms: int | None


@dataclass(frozen=True)
class Looked:
    """What became of the warnings given, in numbers, and how long it took until they were seen.

    Attributes:
        median_ms, most_ms: half of those seen had been seen by then, and nine tenths (nearest rank).
        unknown: seen, but nobody knows how long after: the clock was not known between.
    """

    seen: int
    silenced: int
    never: int
    waiting: int
    median_ms: int | None
    most_ms: int | None
    unknown: int


@dataclass(frozen=True)
class Hushed:
    """How often and how long warnings were silent, off, or out of use: stretches of all warnings added up."""

    what: str
    count: int
    total_ms: int
    longest_ms: int
    lasting: int


def over_by(one: Stretch, at_ms: int) -> bool:
    """Tell whether a stretch had ended by an instant; one that ended at a time nobody knows had not."""
    return one.end is not None and one.end.at_ms is not None and one.end.at_ms <= at_ms


def most_frequent(often: Counter[tuple[str, str, str]]) -> tuple[Often, ...]:
    """List the ten most frequent kinds, the most frequent first."""
    ranked = sorted(often.items(), key=lambda pair: (-pair[1], pair[0]))
    return tuple(Often(*name, count) for name, count in ranked[:MOST_LISTED])


def chattering(here: Sequence[Given], found_out: Iterable[tuple[Key, int, int]] = ()) -> tuple[Chatter, ...]:
    """List levels passed too often within a minute; being told again after a silence is no passing.

    Args:
        found_out: warnings that the program found to come and go: whose, UTC ms, how often in a minute.
    """
    passed: dict[tuple[Key, str], list[int]] = {}
    for given in here:
        if given.moment.at_ms is not None and not (given.anew or given.again):
            passed.setdefault((given.key, given.level), []).append(given.moment.at_ms)
    within_ms = round(1000 * guide.value(guide.CHATTER_WITHIN))
    found = [
        Chatter(key, level, most_within(sorted(instants), within_ms), min(instants))
        for (key, level), instants in passed.items()
    ]
    counted = [one for one in found if one.most >= guide.value(guide.CHATTER_TIMES)]
    known = {one.key for one in counted}
    found_first = {key: Chatter(key, "", times, at_ms) for key, at_ms, times in reversed(list(found_out))}
    return (*counted, *(one for key, one in reversed(found_first.items()) if key not in known))


def fleeting(stood: Sequence[Stretch], from_ms: int, to_ms: int) -> int:
    """Count what stood for seconds only, cleared by itself unseen, and did not come back within a minute."""
    within_ms, again_ms = (round(1000 * guide.value(f)) for f in (guide.FLEETING_WITHIN, guide.FLEETING_AGAIN))
    count, later = 0, dict[Key, Stretch]()
    for one in reversed(stood):
        after, later[one.key] = later.get(one.key), one
        if not one.cleared or one.end is None or one.begin.at_ms is None or not from_ms <= one.begin.at_ms < to_ms:
            continue
        lasted = one.begin.until(one.end)
        apart = None if after is None else one.end.until(after.begin)
        count += lasted is not None and lasted <= within_ms and (apart is None or apart > again_ms)
    return count


def stale(stood: Iterable[Stretch], from_ms: int, to_ms: int, reaches_ms: int) -> list[tuple[Stale, Spell]]:
    """List what had stood for more than a day at some time of the period, with the time from then on."""
    over_ms, found = round(guide.HOUR_MS * guide.value(guide.STANDING_OVER)), []
    for one in stood:
        begin_ms, end_ms = one.begin.at_ms, None if one.end is None else one.end.at_ms
        if begin_ms is None:
            continue
        beyond = clipped([(begin_ms + over_ms, reaches_ms if end_ms is None else end_ms)], from_ms, to_ms)
        found += [(Stale(one.key, begin_ms, end_ms), spell) for spell in beyond]
    return found


def looked(here: Sequence[Given]) -> Looked:
    """Sum up what became of the warnings given."""
    outcomes = Counter(given.outcome for given in here)
    took = sorted(given.seen_after_ms for given in here if given.seen_after_ms is not None)
    return Looked(
        outcomes[SEEN], outcomes[SILENCED], outcomes[NEVER], outcomes[WAITING],
        round(median(took)) if took else None, took[math.ceil(0.9 * len(took)) - 1] if took else None,
        outcomes[SEEN] - len(took),
    )  # fmt: skip


def hushed(hushed: Iterable[Stretch], from_ms: int, to_ms: int, reaches_ms: int) -> tuple[Hushed, ...]:
    """Add up the stretches in which warnings could not be given, cut off at the ends of the period."""
    spells: dict[str, list[tuple[Spell, bool]]] = {what: [] for what in (*HUSHED.values(), NO_READING)}
    for one in hushed:
        if one.begin.at_ms is None or (one.end is not None and one.end.at_ms is None):
            continue
        end_ms = reaches_ms if one.end is None or one.end.at_ms is None else one.end.at_ms
        lasting = not over_by(one, to_ms)
        spells[one.what] += [(spell, lasting) for spell in clipped([(one.begin.at_ms, end_ms)], from_ms, to_ms)]
    return tuple(
        Hushed(what, len(some), total_ms([s for s, _ in some]), max((z - a for (a, z), _ in some), default=0),
               sum(lasting for _, lasting in some))
        for what, some in spells.items()
    )  # fmt: skip
