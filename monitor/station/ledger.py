"""The way from the fold to the store: batches in order, and who is told after their commit.

The writer keeps and tries again what cannot be written for now; what it can hold no more
waits here, bounded. So a full disk delays the record and never stops the sampling.
"""

from __future__ import annotations

import asyncio
import logging
from collections import deque
from collections.abc import Awaitable, Callable
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any, Protocol

from monitor.errors import StoreError
from monitor.store.batch import Batch

log = logging.getLogger(__name__)

Rows = list[dict[str, Any]]
RETRY_S = 1.0
MOST_WAITING = 400_000  # readings kept here beside what the writer holds: many hours


class Writing(Protocol):
    """The store's one writer. `trouble` says why writing fails just now, None while it works."""

    trouble: StoreError | None

    def submit(self, batch: Batch, *, at_once: bool = False) -> Future[Rows]:
        """Queue a batch; the future gives its day-book rows after the commit. StoreError when it can hold no more."""
        ...


@dataclass
class Entry:
    """A batch on its way, and up to which instant all input is stored with it."""

    batch: Batch
    until_mono_ms: int
    waiter: asyncio.Future[None] | None = None


class Ledger:
    """Hands batches to the writer in order.

    Args:
        writer: the store's writer.
        on_stored: told after each commit, with the sealed day-book rows.
        pause: waits between two tries.

    Attributes:
        stored: how many batches were committed.
        refused: how many batches the store can never take, and why the last was not.
        lost_readings: readings given up because nothing could be written for many hours.
    """

    def __init__(
        self,
        writer: Writing,
        on_stored: Callable[[Entry, Rows], None],
        pause: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        self.stored = 0
        self.refused: list[StoreError] = []
        self.lost_readings = 0
        self._writer = writer
        self._on_stored = on_stored
        self._pause = pause
        self._queue: deque[Entry] = deque()
        self._waiting_readings = 0
        self._on_way = 0
        self._more = asyncio.Event()
        self._idle = asyncio.Event()
        self._idle.set()

    @property
    def trouble(self) -> StoreError | None:
        """Say why the store cannot be written just now, None while it can."""
        return self._writer.trouble

    @property
    def on_way(self) -> int:
        """Give how many batches are not yet stored."""
        return self._on_way

    def add(self, batch: Batch, until_mono_ms: int, *, wait: bool = False) -> asyncio.Future[None] | None:
        """Queue a batch; with `wait`, give a future that is done after its commit."""
        entry = Entry(batch, until_mono_ms, asyncio.get_running_loop().create_future() if wait else None)
        self._queue.append(entry)
        self._waiting_readings += len(batch.readings)
        self._on_way += 1
        self._idle.clear()
        self._more.set()
        self._bound()
        return entry.waiter

    async def idle(self) -> None:
        """Wait until everything added is stored, or nothing more can be."""
        if not self.refused:
            await self._idle.wait()

    async def run(self) -> None:
        """Hand over for ever."""
        while True:
            await self._more.wait()
            while self._queue and not self.refused:
                entry = self._queue[0]
                try:
                    written = self._writer.submit(entry.batch, at_once=True)
                except StoreError as error:
                    log.error("%s", error)
                    await self._pause(RETRY_S)
                    continue
                self._queue.popleft()
                self._waiting_readings -= len(entry.batch.readings)
                asyncio.wrap_future(written).add_done_callback(self._told(entry))
            self._more.clear()

    def _told(self, entry: Entry) -> Callable[[asyncio.Future[Rows]], None]:
        def told(written: asyncio.Future[Rows]) -> None:
            if written.cancelled():
                return
            self._on_way -= 1
            if self._on_way == 0:
                self._idle.set()
            error = written.exception()
            if error is not None:
                self._refuse(entry, error)
                return
            self.stored += 1
            try:
                self._on_stored(entry, written.result())
            finally:
                if entry.waiter is not None and not entry.waiter.done():
                    entry.waiter.set_result(None)

        return told

    def _refuse(self, entry: Entry, error: BaseException) -> None:
        """Say that a batch can never be stored: a fault of ours, which must not pass unseen.

        Nothing more is handed over: the record would no longer follow from its inputs. The
        station ends, and its next start goes on from what is stored.
        """
        log.critical("a batch with %d readings could not be stored: %s", len(entry.batch.readings), error)
        known = isinstance(error, StoreError)
        said = error if known else StoreError("store", repr(error), "a batch it takes", "Report this as a fault.")
        assert isinstance(said, StoreError)
        self.refused.append(said)
        self._idle.set()
        if entry.waiter is not None and not entry.waiter.done():
            entry.waiter.set_exception(said)

    def _bound(self) -> None:
        """Give up the oldest readings, counted, before memory runs out; never an event."""
        while self._waiting_readings > MOST_WAITING:
            entry = next(e for e in self._queue if e.batch.readings)
            self.lost_readings += len(entry.batch.readings)
            self._waiting_readings -= len(entry.batch.readings)
            entry.batch.readings = []
            log.error("the store could not be written for too long: %d readings given up", self.lost_readings)
