"""What the fold gives back: day-book drafts, estimate rows, signals and refusals."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Draft:
    """A day-book row before it has a number and a hash.

    Attributes:
        kind: a kind of `monitor.bench.events.KINDS`.
        mono_ms: the instant it speaks of.
        body: its content; strings, integers, lists and objects only, decimals as strings.
        step: id of the step it belongs to, or None.
        bench: name of the bench, or None.
        by, via: who and how, for requests and their effects; (None, "station") otherwise.
        v: version of the kind, None for the newest.
    """

    kind: str
    mono_ms: int
    body: dict[str, Any]
    step: str | None = None
    bench: str | None = None
    by: str | None = None
    via: str = "station"
    v: int | None = None


@dataclass(frozen=True, slots=True)
class Estimate:
    """A row of the estimates table: a band at one depth during one contact, degC.

    `p_reached` stays None until a mock-up contact has been fitted.
    """

    mono_ms: int
    step: str
    side: str
    place: int
    pass_no: int
    depth: str
    p05: float
    p50: float
    p95: float
    p_reached: float | None = None


@dataclass(frozen=True, slots=True)
class Signal:
    """Something to be shown or heard at once, before and without being stored."""

    mono_ms: int
    name: str
    body: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Refusal:
    """A request that changes nothing; the four parts of the error for the asker.

    `conflict` tells that the step changed after the asker last saw it.
    """

    thing: str
    found: str
    expected: str
    do: str
    conflict: bool = False


Output = Draft | Estimate | Signal | Refusal
