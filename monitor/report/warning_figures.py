"""The guide's figures of warnings for a period, out of their history. Definitions stand beside each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from monitor.bench import warning_guide as guide
from monitor.bench.sheets import PRIORITIES
from monitor.report.warning_history import History, Stretch
from monitor.report.warning_lists import (
    Chatter,
    Hushed,
    Looked,
    Often,
    Stale,
    chattering,
    fleeting,
    hushed,
    looked,
    most_frequent,
    over_by,
    stale,
)
from monitor.report.warning_rates import Peak, Spell, both, clipped, floods, joined, most_at_once, peak, total_ms


@dataclass(frozen=True)
class Rates:
    """How thickly warnings came.

    Attributes:
        per_10_min, per_day: on average while the station ran; None where it did not.
        minute, ten_minutes, hour: the most in any such stretch of the period.
        floods: stretches in flood while the station ran.
        flood_ms, flood_share: their sum, and its percentage of the time the station ran.
    """

    per_10_min: float | None
    per_day: float | None
    minute: Peak
    ten_minutes: Peak
    hour: Peak
    floods: tuple[Spell, ...]
    flood_ms: int
    flood_share: float | None


@dataclass(frozen=True)
class WarningFigures:
    """The figures of a period [from, to), UTC ms.

    Attributes:
        ran_ms: how much of it the station ran; rates are of this time.
        record_ms: the latest instant of which anything is recorded; None where nothing is, or nobody knows when.
        given: warnings given; a graver level is a new one. `anew` of them because a silence ended while
            they still held, `again` because they stood on after they had been seen, `beside` together with
            another step's on the same channel and side.
        undated: given at a time that nobody knows; they are in no other figure.
        stood_before, stand_after: warnings that stood when the period began and when it ended.
        kinds: how many kinds of warning there were; `frequent` the most frequent ten.
        fleeting: stood for seconds, cleared by themselves unseen, and did not come back within a minute.
        stale: stood for more than a day; `stale_at_once` is the most of them at one time.
        priorities: how many were given with each, the lowest first.
        clock_set: how often the clock was set meanwhile.
    """

    from_ms: int
    to_ms: int
    ran_ms: int
    record_ms: int | None
    given: int
    anew: int
    again: int
    beside: int
    undated: int
    stood_before: int
    stand_after: int
    rates: Rates
    kinds: int
    frequent: tuple[Often, ...]
    chattering: tuple[Chatter, ...]
    fleeting: int
    stale: tuple[Stale, ...]
    stale_at_once: int
    looked: Looked
    priorities: dict[str, int]
    hushed: tuple[Hushed, ...]
    clock_set: int

    @property
    def frequent_share(self) -> float | None:
        """Give the share of the ten most frequent in all warnings, percent."""
        return 100 * sum(one.count for one in self.frequent) / self.given if self.given else None


def warning_figures(history: History, from_ms: int, to_ms: int) -> WarningFigures:
    """Work out the figures of a period from the whole history: what lies before and after it is needed too."""
    dated = [(given.moment.at_ms, given) for given in history.given if given.moment.at_ms is not None]
    here = [given for at_ms, given in dated if from_ms <= at_ms < to_ms]
    ran = _ran(history, from_ms, to_ms)
    last_ms = history.last.at_ms if history.last is not None else None
    reaches_ms = to_ms if last_ms is None else max(from_ms, min(to_ms, last_ms))
    stood_long = stale(history.stood, from_ms, to_ms, reaches_ms)
    found_out = [
        (key, at.at_ms, times) for key, at, times in history.chattered
        if at.at_ms is not None and from_ms <= at.at_ms < to_ms
    ]  # fmt: skip
    often = Counter((given.sheet, given.key[1], given.key[2]) for given in here)
    return WarningFigures(
        from_ms=from_ms, to_ms=to_ms, ran_ms=total_ms(ran), record_ms=last_ms, given=len(here),
        anew=sum(given.anew for given in here), again=sum(given.again for given in here),
        beside=sum(given.beside for given in here),
        undated=len(history.given) - len(dated),
        stood_before=_standing_at(history.stood, from_ms), stand_after=_standing_at(history.stood, to_ms),
        rates=_rates(sorted(at_ms for at_ms, _ in dated), ran, from_ms, to_ms),
        kinds=len(often), frequent=most_frequent(often), chattering=chattering(here, found_out),
        fleeting=fleeting(history.stood, from_ms, to_ms), stale=tuple(one for one, _ in stood_long),
        stale_at_once=most_at_once([spell for _, spell in stood_long]), looked=looked(here),
        priorities={p: sum(given.priority == p for given in here) for p in PRIORITIES},
        hushed=hushed(history.hushed, from_ms, to_ms, reaches_ms),
        clock_set=sum(m.at_ms is not None and from_ms <= m.at_ms < to_ms for m in history.clock_set),
    )  # fmt: skip


def _rates(instants: list[int], ran: list[Spell], from_ms: int, to_ms: int) -> Rates:
    """Reckon averages and peaks of the period; whether it begins in a flood is told by what came before it."""
    above, below = guide.value(guide.FLOOD_ABOVE), guide.value(guide.FLOOD_BELOW)
    inside = [at_ms for at_ms in instants if from_ms <= at_ms < to_ms]
    flooded = tuple(both(floods(instants, above, below, guide.TEN_MINUTES_MS), ran))
    ran_ms, flood_ms = total_ms(ran), total_ms(flooded)
    return Rates(
        len(inside) * guide.TEN_MINUTES_MS / ran_ms if ran_ms else None,
        len(inside) * guide.DAY_MS / ran_ms if ran_ms else None,
        peak(inside, guide.MINUTE_MS), peak(inside, guide.TEN_MINUTES_MS), peak(inside, guide.HOUR_MS),
        flooded, flood_ms, 100 * flood_ms / ran_ms if ran_ms else None,
    )  # fmt: skip


def _ran(history: History, from_ms: int, to_ms: int) -> list[Spell]:
    known = [(a.at_ms, b.at_ms) for a, b in history.ran if a.at_ms is not None and b.at_ms is not None]
    return clipped(joined(known), from_ms, to_ms)


def _standing_at(stood: Iterable[Stretch], at_ms: int) -> int:
    return sum(one.begin.at_ms is not None and one.begin.at_ms < at_ms and not over_by(one, at_ms) for one in stood)
