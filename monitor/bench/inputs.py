"""What the fold is fed: breaks, requests, readings and ticks, in one total order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from monitor.bench.readings import Reading


@dataclass(frozen=True, slots=True)
class Break:
    """A recorded interruption or change of the clock; the first input of every segment.

    Attributes:
        mono_ms: instant on the new segment's monotonic scale.
        boot: count of the station's starts.
        segment: number of the clock segment that begins.
        offset_ms: UTC minus monotonic in it, or None while the time is not known.
        gap_ms: how long nothing was measured before, or None if that is not known;
            0 for a mere step of the wall clock.
    """

    mono_ms: int
    boot: int
    segment: int
    offset_ms: int | None
    gap_ms: int | None


@dataclass(frozen=True, slots=True)
class Asked:
    """A request of a person or of the station itself, completed and ready to be recorded.

    Attributes:
        mono_ms: when it was received.
        kind: a request kind of `monitor.bench.events.KINDS`, for instance `step_asked`.
        by: initials, or None.
        via: browser:ID, pedal, command or station.
        body: the request's content; strings, integers, lists and objects only.
        expects: revision of the step the asker had seen, or None.
        age_ms: age of the gesture when it was received; effects are dated back by it.
    """

    mono_ms: int
    kind: str
    by: str | None
    via: str
    body: dict[str, Any]
    expects: int | None = None
    age_ms: int = 0


@dataclass(frozen=True, slots=True)
class Tick:
    """A whole second of input time."""

    mono_ms: int


Input = Break | Asked | Reading | Tick

ORDER: dict[type[Input], int] = {Break: 0, Asked: 1, Reading: 2, Tick: 3}


def order_key(item: Input) -> tuple[int, int, str]:
    """Give the sort key within one boot: instant, kind, channel."""
    channel = item.channel if isinstance(item, Reading) else ""
    return item.mono_ms, ORDER[type(item)], channel
