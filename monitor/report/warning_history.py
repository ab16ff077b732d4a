"""When warnings were given, stood, were seen and were silent, and when the station ran to give any."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

Key = tuple[str, str, str]
SEEN, SILENCED, NEVER, WAITING = "seen", "silenced", "never", "waiting"
NO_READING = "off for want of a reading"


class Moment(NamedTuple):
    """An instant: `at_ms` is UTC, None where the board did not know the time and never learned it."""

    boot: int
    mono_ms: int
    at_ms: int | None

    def until(self, later: Moment) -> int | None:
        """Give the ms to a later instant: by the monotonic clock of one start, else by UTC; None if not known."""
        if self.boot == later.boot:
            return later.mono_ms - self.mono_ms
        return None if self.at_ms is None or later.at_ms is None else later.at_ms - self.at_ms


@dataclass
class Given:
    """A warning that was given: one row `alarm_raised`; a graver level is a new one.

    Attributes:
        key: step, limit, channel; `sheet` is the step's.
        level, side, priority: which level was passed, as recorded.
        anew: given again because a silence ended while it still held.
        again: given again because it stood on after it had been seen.
        beside: another step's warning on the same channel and side was given at the same instant; both sound once.
        outcome: seen, silenced (or its probe put out of use), never seen, or still waiting.
        seen_after_ms: how long until somebody had seen it; None unless seen.
    """

    key: Key
    sheet: str
    moment: Moment
    level: str
    side: str
    priority: str
    anew: bool = False
    again: bool = False
    beside: bool = False
    outcome: str = WAITING
    seen_after_ms: int | None = None


@dataclass
class Stretch:
    """A stretch in which a warning stood, or was silent; `end` is None while it lasts.

    Attributes:
        what: "stands", or how it was hushed.
        cleared: the readings came back by themselves, with nobody having done anything.
        by_stage: off because the stage does not list the limit.
    """

    key: Key
    what: str
    begin: Moment
    end: Moment | None = None
    touched: bool = False
    cleared: bool = False
    by_stage: bool = False


@dataclass
class History:
    """What the day-book tells of warnings, in its order.

    Attributes:
        given, stood, hushed: see above.
        chattered: of warnings that the program itself found to come and go: whose, when, how often in a minute.
        ran: stretches in which the station ran, (first, last) instant.
        clock_set: when the clock was set while it ran.
        last: the latest instant of which anything is known.
    """

    given: list[Given] = field(default_factory=list)
    stood: list[Stretch] = field(default_factory=list)
    hushed: list[Stretch] = field(default_factory=list)
    chattered: list[tuple[Key, Moment, int]] = field(default_factory=list)
    ran: list[tuple[Moment, Moment]] = field(default_factory=list)
    clock_set: list[Moment] = field(default_factory=list)
    last: Moment | None = None
