"""What the station hands to the store's one writer: everything of one transaction."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from monitor.bench.outputs import Draft, Estimate
from monitor.bench.readings import Reading
from monitor.clock import Segment


@dataclass(frozen=True, order=True)
class Position:
    """How far the fold has come: the order of its last input, and the day-book's last number."""

    boot: int
    mono_ms: int
    order: int
    channel: str
    seq: int


@dataclass(frozen=True)
class Snapshot:
    """The fold's state after `position`, in its JSON form of at most 64 kB."""

    position: Position
    at_ms: int | None
    engine: int
    state: str


@dataclass
class Batch:
    """One transaction.

    Attributes:
        segment: the clock segment all of it lies in; stored when its number is new.
        readings: in the order they were folded.
        drafts: day-book rows in order; sealed (number, prev, hash) by the writer.
        estimates: estimate rows.
        snapshot: state to resume from; its position's `seq` is filled in by the writer.
        answers: request id -> (step the answer is about is inside it) answer to repeat.
    """

    segment: Segment
    readings: list[Reading] = field(default_factory=list)
    drafts: list[Draft] = field(default_factory=list)
    estimates: list[Estimate] = field(default_factory=list)
    snapshot: Snapshot | None = None
    answers: dict[str, dict[str, Any]] = field(default_factory=dict)
