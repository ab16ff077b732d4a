"""Fold the stored inputs again and hold every event and estimate against what was written then."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from monitor.bench.engine import ENGINE_VERSION
from monitor.bench.events import canonical
from monitor.bench.inputs import Asked, Break, Input, order_key
from monitor.bench.kinds import NEWEST
from monitor.bench.outputs import Draft, Estimate, Output, Refusal
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from monitor.clock import Segment
from monitor.store.batch import Position, Snapshot
from monitor.store.store import Store

EstimateKey = tuple[str, int, int, int, int, str]


@dataclass
class Recomputed:
    """What came of it.

    Attributes:
        events, estimates: how many were compared.
        spans: how many stretches from a kept state to the next were folded.
        not_comparable: stretches of another version of the engine, not folded.
        differences: one sentence each, the first of every stretch that differs.
    """

    events: int = 0
    estimates: int = 0
    spans: int = 0
    not_comparable: int = 0
    differences: list[str] = field(default_factory=list)


def recompute(store: Store, from_ms: int | None = None) -> Recomputed:
    """Fold each stretch from its kept state and compare.

    Args:
        store: opened for reading.
        from_ms: UTC; begins at the last state kept before it. None for the whole record.
    """
    result = Recomputed()
    starts: list[Snapshot | None] = [None, *store.kept_snapshots()]
    if from_ms is not None:
        early = [s for s in starts if s is None or (s.at_ms is not None and s.at_ms <= from_ms)]
        starts = starts[len(early) - 1 :]
    for begin, end in pairwise([*starts, None]):
        if begin is not None and begin.engine != ENGINE_VERSION:
            result.not_comparable += 1
            continue
        _Span(store, begin, end, result).run()
    return result


class _Span:
    """One stretch of the record, from a kept state to the next."""

    def __init__(self, store: Store, begin: Snapshot | None, end: Snapshot | None, result: Recomputed) -> None:
        self._store = store
        self._begin = begin
        self._end = end
        self._result = result
        self._fold = Fold(load(begin.state)) if begin else Fold()
        self._rows = self._written(begin.position.seq if begin else 0)
        self._next = next(self._rows, None)
        self._estimates: dict[str, dict[EstimateKey, tuple[float | None, ...]]] = {}
        self._segment = self._fold.state.segment
        self._segments = store.segments()

    def run(self) -> None:
        """Fold and compare until the first difference, or until another version of the engine took over."""
        try:
            self._run()
            self._result.spans += 1
        except _OtherEngineError:
            self._result.not_comparable += 1
        except _DiffersError as difference:
            self._result.spans += 1
            self._result.differences.append(str(difference))

    def _run(self) -> None:
        for boot, item in self._store.inputs(self._begin.position if self._begin else None):
            if self._end is not None and _beyond(boot, item, self._end.position):
                break
            if isinstance(item, Break) and item.boot != self._fold.state.boot:
                self._catch_up(item)
            self._take(self._feed(item))
        if self._end is None:
            self._catch_up(None)
        else:
            self._come_to_kept(self._end)
        if self._next is not None:
            raise _DiffersError(f"{_name(self._next)} is written but does not follow from the inputs before it")
        if self._end is not None and dump(self._fold.state) != self._end.state:
            raise _DiffersError(f"the state kept after row {self._end.position.seq} does not follow from the inputs")
        self._compare_estimates()

    def _come_to_kept(self, end: Snapshot) -> None:
        """Make the ticks made before the state was kept: that of its very instant may have come after."""
        mono_ms = load(end.state).mono_ms
        self._take(self._fold.pass_time(mono_ms))
        if dump(self._fold.state) != end.state:
            self._take(self._fold.pass_time(mono_ms + 1))

    def _written(self, after_seq: int) -> Iterator[dict[str, Any]]:
        last = self._end.position.seq if self._end else None
        for row in self._store.daybook(after_seq=after_seq):
            if last is not None and row["seq"] > last:
                return
            if NEWEST[row["kind"]].role != "note":
                yield row

    def _feed(self, item: Input) -> list[Output]:
        if isinstance(item, Break):
            self._segment = item.segment
        if isinstance(item, Asked) and item.kind == "settings_in_force" and item.body["engine"] != ENGINE_VERSION:
            raise _OtherEngineError
        try:
            return self._fold.feed(item)
        except ValueError as error:
            raise _DiffersError(f"before {self._where()}: {error}") from error

    def _catch_up(self, item: Break | None) -> None:
        """Make the ticks whose outcome was written before the station stopped."""
        while self._next is not None and self._next["boot"] == self._fold.state.boot:
            if item is not None and self._next["kind"] == "segment_started":
                break
            before = self._next
            self._take(self._fold.catch_up(self._next["mono_ms"]))
            if self._next is before:
                raise _DiffersError(f"{_name(before)} is written but does not follow from the inputs before it")

    def _take(self, outputs: list[Output]) -> None:
        for output in outputs:
            if isinstance(output, Draft):
                self._compare(output)
            elif isinstance(output, Estimate):
                self._remember(output)
            elif isinstance(output, Refusal):
                raise _DiffersError(f"before {self._where()}: a recorded request is refused ({output.found})")

    def _compare(self, draft: Draft) -> None:
        row = self._next
        if row is None:
            raise _DiffersError(f"{draft.kind} at {draft.mono_ms} ms follows from the inputs but is not written")
        for name, given in self._envelope(draft).items():
            if row[name] != given:
                raise _DiffersError(f"{_name(row)}: {name} is {row[name]!r}, the fold gives {given!r}")
        self._compare_time(row, draft.mono_ms)
        if canonical(row["body"]) != canonical(draft.body):
            raise _DiffersError(f"{_name(row)}: {_first_field(row['body'], draft.body)}")
        self._result.events += 1
        self._next = next(self._rows, None)

    def _envelope(self, draft: Draft) -> dict[str, Any]:
        names = ("kind", "mono_ms", "step", "bench", "by", "via")
        segment = self._segment_at(draft.mono_ms)
        place = {"boot": segment.boot, "segment": segment.segment, "verified": False}
        return {**{name: getattr(draft, name) for name in names}, **place}

    def _segment_at(self, mono_ms: int) -> Segment:
        """Give the segment an instant of the fold's boot lies in, among those begun so far."""
        boot = self._fold.state.boot
        begun = [s for s in self._segments if s.boot == boot and s.segment <= self._segment]
        return next((s for s in reversed(begun) if s.from_mono_ms <= mono_ms), begun[0])

    def _compare_time(self, row: dict[str, Any], mono_ms: int) -> None:
        """A row written before the time was known has none for ever; any other has its segment's."""
        at_ms = self._segment_at(mono_ms).at_ms(mono_ms)
        if row["at_ms"] is not None and row["at_ms"] != at_ms:
            raise _DiffersError(f"{_name(row)}: at_ms is {row['at_ms']}, its clock segment gives {at_ms}")

    def _where(self) -> str:
        return _name(self._next) if self._next else "the end of the day-book"

    def _remember(self, e: Estimate) -> None:
        key = (e.side, e.place, e.pass_no, self._segment, e.mono_ms, e.depth)
        self._estimates.setdefault(e.step, {})[key] = _numbers(e)

    def _compare_estimates(self) -> None:
        for step in sorted({*self._estimates, *self._steps_touched()}):
            stored = {k: v for k, v in self._stored(step) if self._inside(k)}
            given = self._estimates.get(step, {})
            for key in sorted({*stored, *given}):
                if stored.get(key) != given.get(key):
                    side, place, pass_no, _, mono_ms, depth = key
                    where = f"step {step}, side {side}, place {place}, pass {pass_no}, {depth} at {mono_ms} ms"
                    raise _DiffersError(
                        f"estimate of {where}: stored {stored.get(key)}, the fold gives {given.get(key)}"
                    )
            self._result.estimates += len(stored)

    def _steps_touched(self) -> set[str]:
        after = self._begin.position.seq if self._begin else 0
        last = self._end.position.seq if self._end else None
        rows = self._store.daybook(after_seq=after, kinds=("contact_started",))
        return {row["step"] for row in rows if last is None or row["seq"] <= last}

    def _stored(self, step: str) -> Iterator[tuple[EstimateKey, tuple[float | None, ...]]]:
        offsets = {s.segment: s for s in self._segments}
        for row in self._store.estimates(step):
            due = offsets[row.segment].at_ms(row.mono_ms) if row.segment in offsets else None
            if row.at_ms is not None and row.at_ms != due:
                raise _DiffersError(f"estimate of step {step}, place {row.place}: at_ms is {row.at_ms}, not {due}")
            yield (row.side, row.place, row.pass_no, row.segment, row.mono_ms, row.depth), _numbers(row)

    def _inside(self, key: EstimateKey) -> bool:
        """Tell whether a stored estimate belongs to this stretch: contacts never cross a kept state."""
        at = key[3], key[4]
        after = self._begin is None or at > (self._segment_of(self._begin), self._begin.position.mono_ms)
        before = self._end is None or at <= (self._segment_of(self._end), self._end.position.mono_ms)
        return after and before

    def _segment_of(self, kept: Snapshot) -> int:
        return load(kept.state).segment


class _OtherEngineError(Exception):
    """What follows was folded by another version of the engine."""


class _DiffersError(Exception):
    """The first difference of a stretch."""


def _beyond(boot: int, item: Input, end: Position) -> bool:
    return (boot, *order_key(item)) > (end.boot, end.mono_ms, end.order, end.channel)


def _numbers(row: Any) -> tuple[float | None, ...]:  # noqa: ANN401
    return row.p05, row.p50, row.p95, row.p_reached


def _name(row: dict[str, Any]) -> str:
    return f"day-book row {row['seq']} ({row['kind']})"


def _first_field(stored: dict[str, Any], given: dict[str, Any]) -> str:
    for key in sorted({*stored, *given}):
        if stored.get(key) != given.get(key):
            return f"{key} is {stored.get(key)!r}, the fold gives {given.get(key)!r}"
    return "its fields stand in another order"
