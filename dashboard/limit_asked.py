"""What would a limit have said? A limit of one's own, held against what is stored; nothing is written."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dashboard.limit_marks import marks
from dashboard.past import Readable
from dashboard.words import counted, lasting, set_value
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.bench.sheets import SIDES, Level, Limit
from monitor.clock import from_iso
from monitor.errors import BadInput

if TYPE_CHECKING:
    from monitor.bench.replayed import OfLimit, Replayed

LISTED = 50
MARKED = 400
LOOKED_AT = 1_000_000
"""So many readings may have to be looked at one by one; a month of them takes some seconds."""
LONGEST_DELAY_S = 86_400
Period = tuple[int, int]
Replaying = Callable[[Readable, str, Limit, Period], "Replayed"]


@dataclass(frozen=True)
class Asked:
    """A limit as it was typed; delays in seconds. What is left empty is 0, but for the level."""

    channel: str
    side: str
    at: str
    deadband: str = ""
    on_s: str = ""
    off_s: str = ""

    def limit(self) -> tuple[str, Limit]:
        """Give probe and limit.

        Raises:
            BadInput: a field that cannot be used, by its name on the page.
        """
        probe, quantity = split_channel(self.channel)
        if quantity not in QUANTITIES or QUANTITIES[quantity].derived or not probe:
            raise BadInput("Probe", f"{self.channel!r} is not measured", "one of the list", "Choose another.")
        if self.side not in SIDES:
            raise BadInput("Side", repr(self.side), "at most or at least", "Choose one of them.")
        at = _number("Level", self.at)
        deadband = _number("Dead band", self.deadband or "0", most=math.inf)
        on_s, off_s = (
            _number(name, text or "0", most=LONGEST_DELAY_S)
            for name, text in (("Warns after", self.on_s), ("Back after", self.off_s))
        )
        level = Level(at, "medium", "look back", "proposal", note="asked when looking back")
        return probe, Limit(
            "asked", probe, quantity, self.side, deadband, round(on_s * 1000), round(off_s * 1000), (level,)
        )


def _number(name: str, text: str, most: float | None = None) -> float:
    """Read a number; with `most` it lies from 0 to that."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadInput(name, f"{text!r}", "a number, for instance 65", "Write one.")
    if float(f"{value:g}") != value:
        raise BadInput(name, text, "six figures at most", "Round it.")
    if most is not None and not 0 <= value <= most:
        raise BadInput(name, text, f"0 to {most:g} s" if math.isfinite(most) else "0 or more", "Correct it.")
    return value


class Turns:
    """Lets one question be worked out at a time: each may keep a processor busy for some seconds."""

    def __init__(self) -> None:
        self._lock = threading.Lock()

    def take(self, work: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        """Do it now, or refuse.

        Raises:
            BadInput: another question is being worked out.
        """
        if not self._lock.acquire(blocking=False):
            raise BadInput("Question", "another is being worked out", "one at a time", "Ask again in a moment.")
        try:
            return work()
        finally:
            self._lock.release()


def of_store(store: Readable, probe: str, limit: Limit, period: Period) -> Replayed:
    """Ask the store itself, by the station's own fold."""
    from typing import cast

    from monitor.store.queries import Queries
    from monitor.store.replaying import NothingRead, by_limit

    try:
        return by_limit(cast(Queries, store), probe, limit, period, keep=MARKED, most=LOOKED_AT)
    except NothingRead as error:
        found = "nothing was read by this probe in it"
        raise BadInput("Period", found, "readings", "Choose another period or probe.") from error


def answer(
    store: Readable, asked: Asked, period: Period, drawn: list[str], light: str, ask: Replaying = of_store
) -> dict[str, Any]:
    """Say what a limit would have come to in a period.

    Args:
        period: from and to, UTC ms.
        drawn: the channels on the chart, in order; marks are given if the asked one is among them.
        light: of the page, for the colour of the marks.

    Raises:
        BadInput: the limit cannot be used, or nothing can be said of the period.
    """
    probe, limit = asked.limit()
    found = ask(store, probe, limit, period)
    (one,) = found.limits
    rows = [_row(row, limit) for row in found.transitions]
    told = sentences(found, one, period)
    if any(not segment.known for segment in store.segments()):
        told.append("Readings from a time when the board had no date are not among these.")
    return {
        "told": told,
        "rows": rows[:LISTED],
        "more": found.count + found.ended - len(rows[:LISTED]),
        "marks": marks(limit, asked.channel, drawn, rows, period, light),
    }


def sentences(found: Replayed, one: OfLimit, period: Period) -> list[str]:
    """Write how often it would have warned, how long it was outside, and how much of the period is known."""
    told = [f"It would have warned {'once' if one.count == 1 else counted(one.count, 'time')}."]
    if one.count == 0:
        told = ["It would not have warned."]
    elif found.count > found.ended:
        told.append("The last warning would still stand at the end.")
    spells = one.spells
    if spells.count:
        spell = f"in {counted(spells.count, 'spell')}, the longest {lasting(spells.longest_ms)}"
        told.append(f"Readings were outside it for {lasting(spells.outside_ms)} {spell}.")
    else:
        told.append("No reading was outside it.")
    share = 100 * spells.known_ms / (period[1] - period[0])
    some = f"{share:.1f} % of the period" if share >= 0.1 else "moments of the period"
    part = "the whole period" if share >= 99.95 else some
    return [*told, f"There are readings for {part}."]


def _row(row: dict[str, Any], limit: Limit) -> dict[str, Any]:
    value = "" if row["value"] is None else f", {set_value(row['value'])} {QUANTITIES[limit.quantity].symbol}"
    verb = "warns" if row["event"] == "raise" else "back inside"
    return {"at_ms": from_iso(row["time"]), "event": row["event"], "text": f"{verb}{value}"}
