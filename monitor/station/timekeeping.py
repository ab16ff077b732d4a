"""Begins a clock segment when the wall clock is stepped, and dates the present one when the time becomes known."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any

from monitor.clock import Clock, Segment
from monitor.station.clock_watch import ClockWatch
from monitor.station.desk import Desk
from monitor.store.writer import Writer

log = logging.getLogger(__name__)

Rows = list[dict[str, Any]]
DATED_WITHIN_S = 1.0  # waited for in one go; the dating itself goes on


class Timekeeping:
    """Looks at the clock every second.

    Args:
        clock, watch: the clock and what is thought of it.
        desk: where a new segment begins.
        writer: dates what was stored without time.
        on_change: told after the wall clock's scale has changed, with the day-book rows of a dating.
    """

    def __init__(
        self, clock: Clock, watch: ClockWatch, desk: Desk, writer: Writer, on_change: Callable[[Rows], None]
    ) -> None:
        self._clock = clock
        self._watch = watch
        self._desk = desk
        self._writer = writer
        self._on_change = on_change
        self._dating: tuple[Segment, Future[Rows]] | None = None

    async def look(self) -> None:
        """Do what the clock asks for now."""
        segment = self._desk.segment
        if self._watch.stepped(segment):
            await self._step(segment)
        elif self._dating is None and self._writer.trouble is None:
            dated = self._watch.dated(segment)
            if dated is not None:
                self._dating = dated, self._writer.date_segment(dated, self._clock.mono_ms())
        if self._dating is not None:
            await self._date(*self._dating)

    async def _step(self, segment: Segment) -> None:
        async with self._desk.lock:
            offset_ms = self._watch.offset_ms()
            following = Segment(segment.segment + 1, segment.boot, self._clock.mono_ms(), offset_ms, True)
            self._desk.begin(following, 0)
            self._desk.settle()
        self._on_change([])

    async def _date(self, dated: Segment, dating: Future[Rows]) -> None:
        """Go on with the offset once the store has dated the segment, in one recorded transaction."""
        await asyncio.wait([asyncio.wrap_future(dating)], timeout=DATED_WITHIN_S)
        if not dating.done():
            return
        self._dating = None
        error = dating.exception()
        if error is not None:
            log.error("what was measured without time could not be dated yet: %s", error)
            return
        async with self._desk.lock:
            self._desk.date(dated)
        self._on_change(dating.result())
