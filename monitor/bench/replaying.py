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

from monitor.bench.computed_series import computed_series
from monitor.bench.derived import Source
from monitor.bench.engine import ENGINE_VERSION
from monitor.bench.inputs import Asked, Break
from monitor.bench.outputs import Draft, Output, Refusal
from monitor.bench.readings import Reading
from monitor.bench.replay_sheets import bindings, judged, side_of
from monitor.bench.replayed import EVENTS, OfLimit, Replayed, transition
from monitor.bench.sheets import Limit, Sheet
from monitor.bench.spells import Spells, spells_of
from monitor.bench.ticking import Fold
from monitor.errors import BadInput

BENCH = "replay"
Key = tuple[str, str]


class Recorded(Protocol):
    """Recorded readings of some channels."""

    @property
    def stale_after_ms(self) -> Mapping[str, int]:
        """Give for each channel how long a reading speaks, ms."""
        ...

    def readings(self, channels: Collection[str]) -> Iterator[Reading]:
        """Give the readings of these channels in order of instant and channel; may be asked again."""
        ...


class Course:
    """A fold with one sheet, told readings in their order; gathers the warnings it gives.

    Args:
        sheet: of one stage that lists all its limits; asks nothing and needs no painting.
        stale_after_ms: of each channel.
        mono_ms: instant of the first reading.
        keep: how many transitions are kept, None for all.

    Raises:
        BadInput: the fold refuses the sheet.
    """

    def __init__(
        self, sheet: Sheet, stale_after_ms: Mapping[str, int], mono_ms: int, keep: int | None = None
    ) -> None:
        self.transitions: list[dict[str, Any]] = []
        self.raised: Counter[Key] = Counter()
        self.ended = 0
        self.fold = Fold()
        self._keep = keep
        self._named = len(sheet.limits) > 1
        _start(self.fold, sheet, stale_after_ms, mono_ms)

    def feed(self, item: Reading) -> None:
        """Take the next reading."""
        out = self.fold.feed(item)
        if out:
            self._note(out)

    def end(self, mono_ms: int) -> None:
        """Let what was over by the last reading's instant be told."""
        self._note(o for o in self.fold.catch_up(mono_ms) if isinstance(o, Draft) and o.mono_ms <= mono_ms)

    def _note(self, outputs: Iterable[Output]) -> None:
        for output in outputs:
            if not isinstance(output, Draft) or output.kind not in EVENTS:
                continue
            body = output.body
            if output.kind == "alarm_raised":
                self.raised[body["limit"], body["channel"]] += 1
            else:
                self.ended += 1
            if self._keep is None or len(self.transitions) < self._keep:
                self.transitions.append(transition(output, named=self._named))


def replay(recorded: Recorded, sheet: Sheet, keep: int | None = None) -> Replayed:
    """Hold recorded readings against every limit of a sheet that `served` gave."""
    result = Replayed()
    course, last_ms = None, 0
    for item in recorded.readings(recorded.stale_after_ms):
        if course is None:
            course = Course(sheet, recorded.stale_after_ms, item.mono_ms, keep)
        course.feed(item)
        last_ms = item.mono_ms
        result.readings += item.value is not None
    if course is None:
        return result
    course.end(last_ms)
    result.transitions, result.ended = course.transitions, course.ended
    result.limits = [
        of_limit(limit, source.channel, course.raised, _spells(recorded, limit, source))
        for limit in sheet.limits.values()
        for source in judged(limit, sheet, recorded.stale_after_ms)
    ]
    return result


def of_limit(limit: Limit, channel: str, raised: Mapping[Key, int], spells: Spells) -> OfLimit:
    """Put together what a limit came to on a channel."""
    return OfLimit(limit.key, channel, limit.side, limit.levels[0].at, raised.get((limit.key, channel), 0), spells)


def _spells(recorded: Recorded, limit: Limit, source: Source) -> Spells:
    if not source.inputs:
        name = source.channel
        return spells_of(recorded.readings([name]), side_of(limit), recorded.stale_after_ms[name])
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
