"""What a replay comes to: each warning and its end, and what every limit came to on every channel."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from monitor.bench.outputs import Draft
from monitor.bench.quantities import split_channel
from monitor.bench.spells import Spells
from monitor.clock import iso

EVENTS = {
    "alarm_raised": "raise",
    "alarm_returned": "clear",
    "alarm_suppressed": "held back while nothing is read",
    "alarm_released": "clear",
}
"""Of a recorded series only its gaps put warnings off, and only their end brings them back."""


@dataclass(frozen=True)
class OfLimit:
    """What one limit came to on one channel.

    Attributes:
        limit, channel: which; `side` and `at` are its mildest level.
        count: how often it would have warned, a graver level counted anew.
        spells: the known time beyond its mildest level.
    """

    limit: str
    channel: str
    side: str
    at: float
    count: int
    spells: Spells

    def as_json(self) -> dict[str, Any]:
        """Give its row in the stable form of `replay --json`."""
        probe, quantity = split_channel(self.channel)
        return {
            "limit": self.limit, "probe": probe, "quantity": quantity, "side": self.side, "at": self.at,
            "count": self.count, "outside_s": seconds(self.spells.outside_ms),
            "longest_s": seconds(self.spells.longest_ms), "spells": self.spells.count,
            "known_s": seconds(self.spells.known_ms),
        }  # fmt: skip


@dataclass
class Replayed:
    """What came of it.

    Attributes:
        transitions: each warning and its end, in order of time; the first ones where only some are kept.
        limits: each limit on each channel it judged.
        readings: how many readings had a value.
        not_judged: the sheet's limits for which not all that is needed was there.
        ended: how many warnings ended.
    """

    transitions: list[dict[str, Any]] = field(default_factory=list)
    limits: list[OfLimit] = field(default_factory=list)
    readings: int = 0
    not_judged: list[str] = field(default_factory=list)
    ended: int = 0

    @property
    def count(self) -> int:
        """Give how often there would have been a warning."""
        return sum(one.count for one in self.limits)

    @property
    def outside_s(self) -> float:
        """Give the known time beyond the limits, one after the other, seconds."""
        return sum(one.spells.outside_ms for one in self.limits) / 1000

    @property
    def longest_ms(self) -> int:
        """Give the longest spell beyond any limit."""
        return max((one.spells.longest_ms for one in self.limits), default=0)

    def as_json(self) -> dict[str, Any]:
        """Give the stable form of `replay --json`."""
        return {
            "transitions": self.transitions, "outside_s": seconds(round(self.outside_s * 1000)),
            "readings": self.readings, "longest_s": seconds(self.longest_ms), "count": self.count,
            "limits": [one.as_json() for one in self.limits], "not_judged": self.not_judged,
        }  # fmt: skip


def seconds(ms: int) -> float:
    """Give seconds, whole ones without a point."""
    return ms // 1000 if ms % 1000 == 0 else ms / 1000


def transition(draft: Draft, *, named: bool) -> dict[str, Any]:
    """Give a warning or its end as `replay --json` does; its limit is named where there are several."""
    body = draft.body
    probe, quantity = split_channel(body["channel"])
    row: dict[str, Any] = {
        "time": iso(draft.mono_ms), "probe": probe, "quantity": quantity, "event": EVENTS[draft.kind],
        "value": None if body.get("value") is None else float(body["value"]),
    }  # fmt: skip
    return {**row, "limit": body["limit"]} if named else row
