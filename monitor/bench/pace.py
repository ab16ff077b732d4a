"""What a quantity is that is judged at ticks, at a pace of its own, and not at readings.

What a stretch of time shows, or a condition of a bench, can change without a reading. Such a quantity is
worked out from the state alone at every whole multiple of its pace of monotonic time, after all that came
at that instant; the value holds until the next. Readings do not wait for it, so their fast path stays.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from monitor.bench.derived import Source
from monitor.bench.sheets import Limit, Sheet
from monitor.bench.state import Alarm, Binding, Channel, State, Step

SECOND_MS, MINUTE_MS = 1_000, 60_000


@dataclass(frozen=True, slots=True)
class Served:
    """What a limit can find at its step.

    Attributes:
        sheet, bindings, bench, step: of the step; a step's id is known before it runs.
        channels: all channels in force, of every bench.
    """

    sheet: Sheet
    bindings: Sequence[Binding]
    bench: str
    step: str
    channels: Mapping[str, Channel]


def served(state: State, step: Step) -> Served:
    """Give what a running step's limits can find."""
    return Served(step.sheet, step.bindings, step.bench, step.id, state.channels)


Value = Callable[[State, Alarm, int], float | None]
"""From the state, the warning that asks and the instant; None where it is not known, which is a gap."""

Sources = Callable[[Limit, Served], list[Source]]
"""The channels a limit judges, each with the channels it rests on; none if it cannot be served."""


@dataclass(frozen=True, slots=True)
class Paced:
    """A quantity judged at ticks.

    Attributes:
        every_ms: its pace, whole seconds: 60 000 for what minutes make up, 1 000 for conditions.
        value: rounded to the quantity's resolution; asked only at multiples of the pace.
        sources: its channels, by name `<probe or bench or step>.<quantity>`.
    """

    every_ms: int
    value: Value
    sources: Sources


def next_pace(every_ms: int, mono_ms: int, paced_ms: int) -> int:
    """Give the first multiple of a pace that is not before `mono_ms`, and later than the last paced tick."""
    return max(-(-mono_ms // every_ms), paced_ms // every_ms + 1) * every_ms
