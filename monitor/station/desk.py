"""The one place where inputs are folded: stamps them in one total order and routes what follows."""

from __future__ import annotations

import asyncio
import json
import logging
from collections.abc import Sequence
from typing import Any, Protocol

from monitor.bench.engine import ENGINE_VERSION, may_be_kept
from monitor.bench.events import canonical
from monitor.bench.inputs import ORDER, Asked, Break, Input, order_key
from monitor.bench.outputs import Draft, Estimate, Output, Refusal, Signal
from monitor.bench.readings import Reading
from monitor.bench.state import State
from monitor.bench.state_json import dump
from monitor.bench.ticking import Fold
from monitor.clock import Clock, Segment
from monitor.station.ledger import Ledger
from monitor.station.sampler import Value
from monitor.store.batch import Batch, Position, Snapshot

log = logging.getLogger(__name__)

BATCH_MS = 1000
SNAPSHOT_MS = 60_000


class Audience(Protocol):
    """Who is told at once what was read and decided, before it is stored."""

    def readings(self, rows: list[list[Any]]) -> None:
        """Hear readings: [channel, at_ms, value, quality word]."""
        ...

    def estimates(self, rows: list[list[Any]]) -> None:
        """Hear estimates: [step, depth, p05, p50, p95, at_ms]."""
        ...

    def signal(self, name: str, body: dict[str, Any]) -> None:
        """Hear a signal for eye or ear."""
        ...

    def changed(self, *, at_once: bool) -> None:
        """Hear that the view has changed; `at_once` when something happened."""
        ...


class Desk:
    """Folds inputs, gathers what follows into batches and hands them to the ledger.

    All methods but `lock` are plain functions; hold `lock` while calling them.

    Args:
        clock: stamps the inputs.
        fold: the fold, resumed.
        segment: the clock segment in force; `begin` records it.
        ledger: writes the batches.
        audience: told at once.
        batch_ms: how old a batch without events may grow.
    """

    def __init__(
        self,
        clock: Clock,
        fold: Fold,
        segment: Segment,
        ledger: Ledger,
        audience: Audience,
        batch_ms: int = BATCH_MS,
    ) -> None:
        self.lock = asyncio.Lock()
        self.segment = segment
        self.estimates: dict[tuple[str, str], Estimate] = {}
        self._clock = clock
        self._fold = fold
        self._ledger = ledger
        self._audience = audience
        self._batch_ms = batch_ms
        self._batch = Batch(segment)
        self._batch_from = self._snapshot_at = segment.from_mono_ms
        self._last: tuple[int, int, str] = (segment.from_mono_ms - 1, 0, "")
        self._nothing_read = True
        self._fresh: list[list[Any]] = []
        self._fresh_estimates: list[list[Any]] = []

    @property
    def state(self) -> State:
        """Give the fold's state; only to be read."""
        return self._fold.state

    def at_ms(self, mono_ms: int | None) -> int | None:
        """Give UTC ms of an instant of this boot, None while the time is not known."""
        return None if mono_ms is None else self.segment.at_ms(mono_ms)

    def begin(self, segment: Segment, gap_ms: int | None) -> None:
        """Begin a clock segment; at the start of a boot, or with `gap_ms` 0 at a step of the wall clock."""
        self._hand_over()
        mono_ms = self._stamp(ORDER[Break], "")
        self.segment = Segment(segment.segment, segment.boot, mono_ms, segment.offset_ms, segment.known)
        self._batch = Batch(self.segment)
        offset_ms = segment.offset_ms if segment.known else None
        self._take(Break(mono_ms, segment.boot, segment.segment, offset_ms, gap_ms))

    def date(self, segment: Segment) -> None:
        """Go on in the same segment with its offset, which has become known; call after the store has dated it."""
        self._hand_over()
        self.segment = segment
        self._batch = Batch(segment)
        self._audience.changed(at_once=True)

    def read(self, values: Sequence[Value]) -> None:
        """Fold what one round of reads gave; all of it gets the present instant.

        The first round of a start does not wait for its batch to grow old.
        """
        if self._nothing_read and values:
            self._nothing_read, self._batch_from = False, self._clock.mono_ms() - self._batch_ms
        ordered = sorted(values, key=lambda v: v.channel)
        now = self._stamp(ORDER[Reading], ordered[0].channel) if ordered else 0
        for value in ordered:
            reading = Reading(now, value.channel, value.value, value.quality)
            self._take(reading)
            self._fresh.append([value.channel, self.at_ms(reading.mono_ms), value.value, value.quality.word])

    def ask(
        self,
        kind: str,
        body: dict[str, Any],
        *,
        by: str | None,
        via: str,
        expects: int | None = None,
        age_ms: int = 0,
    ) -> Refusal | None:
        """Fold a completed request; a Refusal tells that it changed nothing.

        The body is folded as the day-book will give it back, the order of its keys included:
        what is folded again from the record must come out the same.
        """
        recorded = json.loads(canonical(body))
        asked = Asked(self._stamp(ORDER[Asked], ""), kind, by, via, recorded, expects, age_ms)
        return self._take(asked)

    def note(self, kind: str, body: dict[str, Any], *, by: str | None = None, via: str = "station") -> None:
        """Add a day-book row that stands beside the fold."""
        self._batch.drafts.append(Draft(kind, self._clock.mono_ms(), body, by=by, via=via))

    def pass_time(self) -> None:
        """Let delays elapse that lie before the present instant."""
        self._route(self._fold.pass_time(self._clock.mono_ms()))

    def settle(
        self, *, answers: dict[str, dict[str, Any]] | None = None, wait: bool = False
    ) -> asyncio.Future[None] | None:
        """Tell the audience, and hand the batch over if something happened or it is old enough.

        Args:
            answers: to be stored with the batch, by request id.
            wait: give a future that is done after the commit.
        """
        self._tell()
        self._batch.answers.update(answers or {})
        happened = bool(self._batch.drafts or self._batch.answers)
        self._audience.changed(at_once=happened)
        if wait or happened or self._clock.mono_ms() - self._batch_from >= self._batch_ms:
            return self._hand_over(wait=wait)
        return None

    def _tell(self) -> None:
        if self._fresh:
            self._audience.readings(self._fresh)
        if self._fresh_estimates:
            self._audience.estimates(self._fresh_estimates)
        self._fresh, self._fresh_estimates = [], []

    def _stamp(self, order: int, channel: str) -> int:
        """Give the present instant, moved on by 1 ms where the total order needs it."""
        now = max(self._clock.mono_ms(), self._last[0])
        return now if (now, order, channel) > self._last else now + 1

    def _take(self, item: Input) -> Refusal | None:
        outputs = self._fold.feed(item)
        refusal = outputs[-1] if outputs and isinstance(outputs[-1], Refusal) else None
        if refusal is None:
            self._last = order_key(item)
            if isinstance(item, Reading):
                self._batch.readings.append(item)
        self._route(outputs)
        return refusal

    def _route(self, outputs: list[Output]) -> None:
        for output in outputs:
            if isinstance(output, Estimate):
                self._batch.estimates.append(output)
                self.estimates[output.step, output.depth] = output
                band = [output.p05, output.p50, output.p95]
                self._fresh_estimates.append([output.step, output.depth, *band, self.at_ms(output.mono_ms)])
            elif isinstance(output, Signal):
                self._audience.signal(output.name, output.body)
            elif isinstance(output, Draft):
                self._batch.drafts.append(output)
                if output.kind in ("contact_started", "contact_ended", "contact_voided"):
                    self.estimates = {k: v for k, v in self.estimates.items() if k[0] != output.step}

    def _hand_over(self, *, wait: bool = False) -> asyncio.Future[None] | None:
        """Close the batch and queue it; with a snapshot where one is due and the state may be kept."""
        batch = self._batch
        now = self._clock.mono_ms()
        if not wait and not (batch.readings or batch.drafts or batch.answers or batch.estimates):
            self._batch_from = now
            return None
        if (batch.drafts or now - self._snapshot_at >= SNAPSHOT_MS) and may_be_kept(self.state):
            batch.snapshot = self._snapshot()
            self._snapshot_at = now
        self._batch, self._batch_from = Batch(self.segment), now
        return self._ledger.add(batch, self._last[0], wait=wait)

    def _snapshot(self) -> Snapshot | None:
        mono_ms, order, channel = self._last
        try:
            text = dump(self.state)
        except ValueError as error:
            log.error("no snapshot is kept, so the next start takes longer: %s", error)
            return None
        position = Position(self.state.boot, mono_ms, order, channel, 0)
        return Snapshot(position, self.at_ms(mono_ms), ENGINE_VERSION, text)
