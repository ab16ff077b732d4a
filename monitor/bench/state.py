"""Everything the fold remembers; bounded. Its JSON form is in `state_json`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from monitor.bench.alarms import AlarmState
from monitor.bench.sheets import Limit, Sheet, Stage
from monitor.bench.windows import Window

STALE_INTERVALS = 3

PastKey = tuple[str, tuple[str, ...]]
"""A channel whose past is kept, and the channels it is computed from; none for a measured one."""


@dataclass(slots=True)
class Channel:
    """What is known of one channel.

    Attributes:
        stale_after_ms: without a reading for longer than this it is stale; three intervals by default.
        last_ms: instant of its last reading of any quality, or None before the first.
        value: last value, None in a gap; quality: the stored number of the last reading's quality.
        gap_since: instant of the first of the running gap readings.
        fault: a fault or staleness has been told and is not over.
    """

    name: str
    stale_after_ms: int
    bench: str
    last_ms: int | None = None
    value: float | None = None
    quality: int = 0
    gap_since: int | None = None
    fault: bool = False
    stale: bool = False

    def held_until(self) -> int | None:
        """Give the last instant for which the last reading still speaks."""
        return None if self.last_ms is None else self.last_ms + self.stale_after_ms

    def is_good(self) -> bool:
        """Tell whether its last reading was good, and no fault or staleness is told of it."""
        return (
            self.last_ms is not None
            and self.quality == 0
            and self.value is not None
            and not self.fault
            and self.gap_since is None
        )


@dataclass(slots=True)
class Alarm:
    """A limit of a step on one channel, standing or not. Identity: (step, limit, channel).

    While it is suppressed, `off_by` tells by what: "stage", "asked" or "no reading".

    Attributes:
        inputs: for a derived channel the channels it is computed from; empty for a measured one.
        judged_ms: the instant a derived channel was last judged at; one instant has one value.
        unfed: a person took one of its inputs out of use. Not kept: it follows from the other warnings.
        seen_ms: when it was seen last. Kept where it is to warn again.
        once: silent until it is over.
        came_ms: [level, instant] of each time it came within the last minute.
        chatters: it comes and goes; its level does not fall until it has been quiet.
        quiet_ms: since when it has been known to be below that level.
        minutes: counted since the stage began, where minutes are what it judges.
    """

    step: str
    limit: Limit
    channel: str
    windows: list[Window]
    state: AlarmState = AlarmState.NORMAL
    level: int = -1
    since_ms: int | None = None
    value: float | None = None
    shelved_until_ms: int | None = None
    off_by: str = ""
    inputs: tuple[str, ...] = ()
    judged_ms: int | None = None
    unfed: bool = False
    seen_ms: int | None = None
    once: bool = False
    came_ms: list[list[int]] = field(default_factory=list)
    chatters: bool = False
    quiet_ms: int | None = None
    minutes: int = 0

    @property
    def key(self) -> tuple[str, str, str]:
        """Give the warning's identity."""
        return self.step, self.limit.key, self.channel

    def highest(self) -> int:
        """Give the index of the highest level that is active, -1 for none."""
        return max((i for i, w in enumerate(self.windows) if w.active), default=-1)

    def gap(self) -> None:
        """Take it that nothing is known from here on."""
        self.quiet_ms = None
        for window in self.windows:
            window.gap()


@dataclass(slots=True)
class Contact:
    """A contact in hand.

    `recent` holds the last two seconds of readings, so that a lift dated back leaves out
    what came after it: [instant, value or None]. `read_ms` is the instant of the last value,
    `counted_ms` that of the last one counted; both begin with the contact.
    """

    place: int
    pass_no: int
    probe: str
    started_ms: int
    readings: int = 0
    gaps: int = 0
    low: float | None = None
    high: float | None = None
    total: float = 0.0
    gap_ms: int = 0
    read_ms: int = 0
    counted_ms: int = 0
    recent: list[list[Any]] = field(default_factory=list)
    bond_line: list[str] = field(default_factory=list)
    face: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Place:
    """A numbered place: its verdict so far and what the tool did there, all passes together."""

    verdict: str | None = None
    reason: str = ""
    passes: int = 0
    ms: int = 0
    low: float | None = None
    high: float | None = None


@dataclass(slots=True)
class Places:
    """The places of a step's side. `recent` holds the tool's last two seconds of readings, so
    that a mark dated back finds what came before it: [instant, value or None]. `lifted_ms` is
    the instant of the last lift; no contact begins before it.
    `last` is what an undo restores:
    place number, number of the place that was next, the place before, the tool's probe."""

    side: str
    here: int
    places: list[Place]
    contact: Contact | None = None
    recent: list[list[Any]] = field(default_factory=list)
    lifted_ms: int = 0
    last: list[Any] = field(default_factory=list)


@dataclass(slots=True)
class Binding:
    """A probe's part in a step."""

    role: str
    probe: str
    touches: str
    channels: list[str]


@dataclass(slots=True)
class Step:
    """A running step. `changed` tells who last changed it and how, for conflicts; `stage_ms` when its stage began."""

    id: str
    sheet: Sheet
    painting: str | None
    bench: str
    stage: str
    started_ms: int
    by: str | None
    bindings: list[Binding]
    stage_ms: int = 0
    revision: int = 1
    changed: list[str | None] = field(default_factory=list)
    places: Places | None = None
    sandwich: dict[str, Any] | None = None
    answers: list[list[str]] = field(default_factory=list)

    def stage_now(self) -> Stage:
        """Give the stage that runs."""
        return next(stage for stage in self.sheet.stages if stage.key == self.stage)

    def channels(self, role: str, quantity: str) -> list[str]:
        """List the channels bound to a role that give a quantity."""
        return [c for b in self.bindings if b.role == role for c in b.channels if c.rpartition(".")[2] == quantity]


@dataclass(slots=True)
class Painting:
    """A painting in hand."""

    number: str
    name: str
    support: str
    beware: list[str]


@dataclass
class State:
    """The fold's state.

    Attributes:
        boot, mono_ms: the last input's instant, ticks included; `input_ms` without them.
        boot_from_ms: instant at which this boot began.
        segment, offset_ms: the clock segment in force; offset None while the time is not known.
        revision: grows with every accepted request and every event.
        steps_ever: how many steps were ever started; numbers the next.
        raised_ms: when warnings were told, the latest of them.
        flood_ms, flood_count: since when they are told as one, and how many came since; None and 0 otherwise.
        past: what is kept of channels that limits in force look back on, a `past.Past` each.
        paced_ms: instant of this boot at which something was last judged by its pace, -1 before the first.
        due_ms: a lower bound of the next instant at which a tick could change anything.
        every_passing: what comes and goes is told each time; for looking back, not kept.
    """

    boot: int = 0
    mono_ms: int = 0
    input_ms: int = 0
    boot_from_ms: int = 0
    segment: int = 0
    offset_ms: int | None = None
    revision: int = 0
    steps_ever: int = 0
    paced_ms: int = -1
    raised_ms: list[int] = field(default_factory=list)
    flood_ms: int | None = None
    flood_count: int = 0
    channels: dict[str, Channel] = field(default_factory=dict)
    paintings: dict[str, Painting] = field(default_factory=dict)
    steps: dict[str, Step] = field(default_factory=dict)
    alarms: dict[tuple[str, str, str], Alarm] = field(default_factory=dict)
    past: dict[PastKey, Any] = field(default_factory=dict)
    due_ms: int | None = None
    every_passing: bool = field(default=False, repr=False, compare=False)
    watches: dict[str, Any] = field(default_factory=dict, repr=False, compare=False)
    computed: dict[Any, Any] = field(default_factory=dict, repr=False, compare=False)
    estimators: dict[str, Any] = field(default_factory=dict, repr=False, compare=False)

    def at_ms(self, mono_ms: int | None) -> int | None:
        """Give UTC of an instant, None while the time is not known."""
        return None if mono_ms is None or self.offset_ms is None else mono_ms + self.offset_ms
