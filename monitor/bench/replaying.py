"""Recorded readings through the very fold the station uses: what would this limit have said?

Where the readings lie, in a file or in a store, is the caller's affair. Their UTC serves as the
monotonic scale, and nobody is there to see, silence or put off anything.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import asdict
from itertools import pairwise
from typing import Any, Protocol

from monitor.bench.alarms import AlarmState
from monitor.bench.computed_series import computed_series
from monitor.bench.derived import Source
from monitor.bench.engine import ENGINE_VERSION
from monitor.bench.inputs import Asked, Break
from monitor.bench.outputs import Draft, Output, Refusal
from monitor.bench.quantities import QUANTITIES
from monitor.bench.readings import Reading
from monitor.bench.replay_sheets import bindings, judged, measured_on, side_of
from monitor.bench.replayed import EVENTS, OfLimit, Replayed, transition
from monitor.bench.sheets import Limit, Sheet
from monitor.bench.spells import Spells, Sums
from monitor.bench.ticking import Fold
from monitor.bench.windows import Window
from monitor.errors import BadInput

BENCH = "replay"
Key = tuple[str, str]


class Recorded(Protocol):
    """Recorded readings of some channels.

    Attributes:
        stale_after_ms: for each channel how long a reading speaks.
        from_ms, last_ms: no reading lies before the one, none after the other; None where there is none.
    """

    stale_after_ms: Mapping[str, int]
    from_ms: int
    last_ms: int | None

    def readings(self, channels: Collection[str]) -> Iterator[Reading]:
        """Give the readings of these channels in order of instant and channel; may be asked again."""
        ...

    def played(self, course: Course) -> Iterator[Reading]:
        """Give the readings of all channels in that order; what `course` says cannot act on it may be left out."""
        ...


class Course:
    """A fold with one sheet, told readings in their order; gathers the warnings it gives and the time beyond.

    Args:
        sheet: of one stage that lists all its limits; asks nothing and needs no painting.
        stale_after_ms: of each channel.
        mono_ms: no reading comes before it.
        keep: how many transitions are kept, None for all.

    Attributes:
        sums: of each channel the mildest levels of the limits on it, in the sheet's order.

    Raises:
        BadInput: the fold refuses the sheet.
    """

    def __init__(
        self, sheet: Sheet, stale_after_ms: Mapping[str, int], mono_ms: int, keep: int | None = None
    ) -> None:
        self.transitions: list[dict[str, Any]] = []
        self.raised: Counter[Key] = Counter()
        self.ended = 0
        self._held: set[Key] = set()
        self.sums = {
            name: Sums(stale_ms, [side_of(limit) for limit in measured_on(sheet, name)])
            for name, stale_ms in stale_after_ms.items()
        }
        self._fold = Fold()
        self._keep = keep
        self._named = len(sheet.limits) > 1
        self._fold.state.every_passing = True
        _start(self._fold, sheet, stale_after_ms, mono_ms)
        self._plain = not any(QUANTITIES[limit.quantity].derived for limit in sheet.limits.values())

    def feed(self, item: Reading) -> None:
        """Take the next reading."""
        self.sums[item.channel].take(item)
        out = self._fold.feed(item)
        if out:
            self._note(out)

    def end(self, mono_ms: int) -> None:
        """Let what was over by the last reading's instant be told."""
        self._note(o for o in self._fold.catch_up(mono_ms) if isinstance(o, Draft) and o.mono_ms <= mono_ms)

    def quiet(self, channel: str, low: float, high: float) -> bool:
        """Tell whether good readings of a channel between these two values change nothing, however many come.

        No delay may run, and no value may start one. Never where something is computed of several readings, nor
        while a warning is held back, since the next reading brings it back.
        """
        windows = self._windows(channel)
        if any(limit_channel[1] == channel for limit_channel in self._held):
            return False
        return self._plain and not any(w.since is not None or _starts(w, low, high) for w in windows)

    def stands(self, channel: str) -> bool:
        """Tell whether a warning of a channel stands."""
        return any(w.active for w in self._windows(channel))

    def passed_over(self, channel: str, mono_ms: int) -> None:
        """Take it that a channel was read up to an instant with nothing to say, so that it is not stale."""
        self._fold.state.channels[channel].last_ms = mono_ms

    def _windows(self, channel: str) -> list[Window]:
        return [w for a in self._fold.state.alarms.values() if a.channel == channel for w in a.windows]

    def _note(self, outputs: Iterable[Output]) -> None:
        for output in outputs:
            if not isinstance(output, Draft) or output.kind not in EVENTS or self._is_same(output):
                continue
            if EVENTS[output.kind] == "raise":
                self.raised[_key(output)] += 1
            else:
                self.ended += 1
            if self._keep is None or len(self.transitions) < self._keep:
                self.transitions.append(transition(output, named=self._named))

    def _is_same(self, output: Draft) -> bool:
        """Tell whether a row only puts a warning off while nothing is read, or on again: it is the same warning."""
        key = _key(output)
        if output.kind == "alarm_suppressed":
            self._held.add(key)
            return True
        if output.kind == "alarm_released" and output.body["state"] != AlarmState.NORMAL:
            return True
        held = key in self._held
        self._held.discard(key)
        return held and output.kind == "alarm_raised"


def _key(output: Draft) -> Key:
    return output.body["limit"], output.body["channel"]


def _starts(window: Window, low: float, high: float) -> bool:
    """Tell whether a value between two may start a window's delay."""
    if window.active:
        return low <= window.back if window.high else high >= window.back
    return high > window.at if window.high else low < window.at


def replay(recorded: Recorded, sheet: Sheet, keep: int | None = None) -> Replayed:
    """Hold recorded readings against every limit of a sheet, one that `of_one` or `served` gave."""
    course = Course(sheet, recorded.stale_after_ms, recorded.from_ms, keep)
    if recorded.last_ms is None:
        return Replayed()
    for item in recorded.played(course):
        course.feed(item)
    course.end(recorded.last_ms)
    limits = [
        OfLimit(limit.key, source.channel, limit.side, limit.levels[0].at,
                course.raised[limit.key, source.channel], _spells(recorded, course, limit, source, sheet))
        for limit in sheet.limits.values()
        for source in judged(limit, sheet, recorded.stale_after_ms)
    ]  # fmt: skip
    readings = sum(sums.readings for sums in course.sums.values())
    return Replayed(course.transitions, limits, readings, ended=course.ended)


def _spells(recorded: Recorded, course: Course, limit: Limit, source: Source, sheet: Sheet) -> Spells:
    """Give the time beyond a limit; for what is computed the readings are gone through once more."""
    if not source.inputs:
        place = measured_on(sheet, source.channel).index(limit)
        return course.sums[source.channel].spells[place]
    held = {name: recorded.stale_after_ms[name] for name in source.inputs}
    found = Spells()
    for here, after in pairwise(computed_series(limit.quantity, held, recorded.readings(source.inputs))):
        if here.value is not None:
            found.take(here.mono_ms, after.mono_ms, beyond=here.beyond(limit.levels[0].at, limit.side))
    return found


def _start(fold: Fold, sheet: Sheet, stale_after_ms: Mapping[str, int], mono_ms: int) -> None:
    fold.feed(Break(mono_ms, 1, 1, 0, None))
    channels = [
        {"channel": name, "interval_ms": 1000, "stale_after_ms": stale_ms, "bench": BENCH}
        for name, stale_ms in stale_after_ms.items()
    ]
    fold.feed(_ask(mono_ms, "settings_in_force", {"engine": ENGINE_VERSION, "channels": channels}))
    body = {
        "step": "s1", "sheet": sheet.as_json(), "painting": None, "bench": BENCH,
        "bindings": [asdict(binding) for binding in bindings(sheet, stale_after_ms)],
        "side": None, "places": None, "sandwich": None, "answers": [],
    }  # fmt: skip
    refused = [o for o in fold.feed(_ask(mono_ms, "step_asked", body)) if isinstance(o, Refusal)]
    if refused:
        raise BadInput(refused[0].thing, refused[0].found, refused[0].expected, refused[0].do)


def _ask(mono_ms: int, kind: str, body: dict[str, Any]) -> Asked:
    return Asked(mono_ms, kind, None, "command", body)
