"""Reads probes on absolute monotonic deadlines; what fails, hangs or doubts becomes a gap."""

from __future__ import annotations

import asyncio
import logging
import math
from collections.abc import Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Protocol

from monitor.bench.quantities import channel_name
from monitor.bench.readings import Quality
from monitor.config import Studio
from monitor.probes.opening import OpenedProbes
from monitor.probes.probe import Probe, Sample
from monitor.probes.wired import on_grid

log = logging.getLogger(__name__)

READ_DEADLINE_S = 1.0


class Worker(Protocol):
    """A bus's one thread, as the sampler uses it."""

    def submit(self, probe: Probe) -> Future[list[Sample]]:
        """Queue one read of a probe."""
        ...

    def replace(self) -> None:
        """Leave the hung thread to itself, open the bus anew and go on."""
        ...


@dataclass(frozen=True, slots=True)
class Value:
    """What one read gave for one channel, before it has its instant."""

    channel: str
    value: float | None
    quality: Quality


class Schedule:
    """The deadlines of each probe: a fixed grid from `start_ms`. A missed deadline is skipped."""

    def __init__(self, intervals_ms: dict[str, int], start_ms: int) -> None:
        self._intervals = intervals_ms
        self._start_ms = start_ms
        self._next = dict.fromkeys(intervals_ms, start_ms)

    def next_deadline(self) -> int | None:
        """Give the earliest deadline, None without probes."""
        return min(self._next.values(), default=None)

    def due(self, mono_ms: int) -> list[str]:
        """Name the probes due at `mono_ms` and set each one's next deadline after it."""
        names = [name for name, at in self._next.items() if at <= mono_ms]
        for name in names:
            interval = self._intervals[name]
            self._next[name] = self._start_ms + ((mono_ms - self._start_ms) // interval + 1) * interval
        return names


async def read_together(worker: Worker, probes: Sequence[Probe], deadline_s: float) -> list[Value]:
    """Read several probes of one bus; a read that is not done in time gives gaps and a new thread."""
    reads = [worker.submit(probe) for probe in probes]
    running = [asyncio.wrap_future(read) for read in reads if not read.done()]
    if running:
        await asyncio.wait(running, timeout=deadline_s)
    late = [probe.name for probe, read in zip(probes, reads, strict=True) if not read.done()]
    if late:
        log.error("no answer from %s in %g s; its bus gets a new thread", ", ".join(late), deadline_s)
        values = [value for probe, read in zip(probes, reads, strict=True) for value in _values(probe, read)]
        for future in running:
            future.cancel()
        worker.replace()
        return values
    return [value for probe, read in zip(probes, reads, strict=True) for value in _values(probe, read)]


def _values(probe: Probe, read: Future[list[Sample]]) -> list[Value]:
    samples: list[Sample] = []
    if read.done() and not read.cancelled():
        error = read.exception()
        if error is None:
            samples = read.result()
        else:
            log.error("probe %s: %r", probe.name, error)
    given = {sample.quantity: sample for sample in samples}
    return [_value(probe.name, quantity, given.get(quantity)) for quantity in probe.quantities]


def _value(probe: str, quantity: str, sample: Sample | None) -> Value:
    """Put a sample on its quantity's grid; nothing, or no finite number, is a gap."""
    channel = channel_name(probe, quantity)
    if sample is None or (sample.value is None and not sample.quality.is_gap):
        return Value(channel, None, Quality.BUS)
    if sample.value is None or sample.quality.is_gap:
        return Value(channel, None, sample.quality)
    if not math.isfinite(sample.value):
        return Value(channel, None, Quality.OUT_OF_RANGE)
    return Value(channel, on_grid(quantity, sample.value), sample.quality)


class Round:
    """The probes of one worker with their deadlines."""

    def __init__(self, worker: Worker, probes: Sequence[Probe], intervals_ms: dict[str, int], start_ms: int) -> None:
        self.schedule = Schedule({p.name: intervals_ms[p.name] for p in probes}, start_ms)
        self._worker = worker
        self._probes = list(probes)

    def overdue_ms(self, mono_ms: int) -> int:
        """Give for how long its next deadline has passed, 0 or less while it is ahead."""
        deadline = self.schedule.next_deadline()
        return 0 if deadline is None else mono_ms - deadline

    async def read(self, mono_ms: int) -> list[Value]:
        """Read the probes that are due at `mono_ms`, together."""
        due = set(self.schedule.due(mono_ms))
        probes = [p for p in self._probes if p.name in due]
        return await read_together(self._worker, probes, READ_DEADLINE_S) if probes else []


def rounds_of(opened: OpenedProbes, studio: Studio, start_ms: int) -> list[Round]:
    """Give one round for each worker, all on the same grid from `start_ms`."""
    configured = {p.name: p for p in studio.probes}
    intervals = {p.name: p.interval_ms for p in studio.probes}
    by_worker: dict[int, tuple[Worker, list[Probe]]] = {}
    for probe in opened.probes:
        worker = opened.workers[configured[probe.name].bus]
        by_worker.setdefault(id(worker), (worker, []))[1].append(probe)
    return [Round(worker, probes, intervals, start_ms) for worker, probes in by_worker.values()]
