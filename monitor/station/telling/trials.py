"""Trials of the ways to be told: by a person, one way; once a day, all of them, quietly."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from monitor.link.way_view import TriedView
from monitor.station.telling.message import Message, NotTold
from monitor.station.telling.way import Way

log = logging.getLogger(__name__)

TOLD, NOT_TOLD, LEFT_ALONE, ON_ITS_WAY = "told", "not told", "not tried", "on its way"
TESTED, SELF_TESTED = "telling_tested", "self_tested"
MISSED_AFTER_MS = 60_000  # a daily trial that fell into a time without a station is made up for this soon


@dataclass(frozen=True)
class Result:
    """What came of a trial.

    Attributes:
        outcome: `TOLD`, `NOT_TOLD` or `LEFT_ALONE`.
        reason: why it was not told, "" otherwise.
        at_ms: when, UTC ms, None while the time was not known.
        daily: whether it was the daily one.
    """

    outcome: str
    reason: str
    at_ms: int | None
    daily: bool

    def view(self) -> TriedView:
        """Give it as the settings page shows it."""
        return {"at_ms": self.at_ms, "outcome": self.outcome, "reason": self.reason, "daily": self.daily}


class Trials:
    """Tries ways and keeps what came of it last.

    Attributes:
        last: the last result of each way by name; of the daily trial only where it was tried.
        last_daily_ms: when the last daily trial was, UTC ms; None if there was none that is dated.
        under_way: names of ways that are being tried.
    """

    def __init__(self, compose: Callable[[Way], Message], at_ms: Callable[[], int | None]) -> None:
        self.last: dict[str, Result] = {}
        self.last_daily_ms: int | None = None
        self.under_way: set[str] = set()
        self._compose = compose
        self._at_ms = at_ms

    def remember(self, rows: Iterable[Mapping[str, Any]]) -> None:
        """Take what was recorded of trials, the newest row first."""
        for row in rows:
            daily = row["kind"] == SELF_TESTED
            for one in row["body"]["ways"] if daily else [row["body"]]:
                if one["outcome"] != LEFT_ALONE:
                    result = Result(one["outcome"], one["reason"], row["at_ms"], daily)
                    self.last.setdefault(one["name"], result)
            if daily and self.last_daily_ms is None:
                self.last_daily_ms = row["at_ms"]

    async def try_one(self, way: Way, *, daily: bool) -> dict[str, str]:
        """Try a way; never raises. Gives what the day-book keeps of it."""
        name = way.config.name
        self.under_way.add(name)
        outcome, reason = NOT_TOLD, ""
        try:
            outcome = TOLD if await way.attempt(self._compose(way), quiet=daily) else LEFT_ALONE
        except NotTold as error:
            reason = error.reason
        except Exception as error:
            log.exception("way to be told %s", name)
            reason = f"a fault of its own ({type(error).__name__}); look into the station's log"
        finally:
            self.under_way.discard(name)
        if outcome != LEFT_ALONE:
            self.last[name] = Result(outcome, reason, self._at_ms(), daily)
        return {"way": way.key, "name": name, "outcome": outcome, "reason": reason}

    async def try_all(self, ways: Iterable[Way]) -> dict[str, Any]:
        """Try every way quietly, all at once; give the body of the row."""
        told = await asyncio.gather(*(self.try_one(way, daily=True) for way in ways))
        self.last_daily_ms = self._at_ms()
        return {"ways": list(told)}


def next_daily_ms(now_ms: int, last_ms: int | None, minute: int, local: Callable[[int], datetime]) -> int:
    """Give when the next daily trial is, UTC ms.

    Args:
        now_ms: the present, UTC ms.
        last_ms: the last one, UTC ms, None if there was none. One that the clock was set back
            behind counts as made.
        minute: minute of the local day.
        local: gives the local time of an instant.

    Returns:
        An instant after now; soon, when one was missed.
    """
    today = local(now_ms).replace(hour=minute // 60, minute=minute % 60, second=0, microsecond=0, tzinfo=None)
    days = [_utc_ms(today + timedelta(days=n), now_ms, local) for n in (-1, 0, 1, 2)]
    before = max(day for day in days if day <= now_ms)
    if last_ms is None or last_ms < before:
        return now_ms + MISSED_AFTER_MS
    return min(day for day in days if day > now_ms)


def _utc_ms(wall: datetime, now_ms: int, local: Callable[[int], datetime]) -> int:
    """Give the UTC instant of a local time, by the offset that holds there; at a gap of an hour, one side of it."""
    guess = now_ms + int((wall - local(now_ms).replace(tzinfo=None)).total_seconds() * 1000)
    return guess - int((local(guess).replace(tzinfo=None) - wall).total_seconds() * 1000)
