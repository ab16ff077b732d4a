"""The one thread that writes. Nothing is lost on the way: a batch waits until it is stored.

A full disk or a lock is tried again with the same batches, and said aloud meanwhile. Only a
batch that can never be stored fails, alone, in its own future.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any

import sqlalchemy as sa

from monitor.clock import Segment
from monitor.errors import StoreError
from monitor.store.batch import Batch
from monitor.store.store import Store

Rows = list[dict[str, Any]]
PERMANENT = (
    sa.exc.IntegrityError, sa.exc.DataError, sa.exc.ProgrammingError, sa.exc.StatementError,
    StoreError, ValueError, TypeError,
)  # fmt: skip


class _Job:
    """A batch or the dating of a segment, with the future that tells its rows."""

    def __init__(self, work: Batch | Callable[[Store], Rows]) -> None:
        self.work = work
        self.future: Future[Rows] = Future()
        self.future.set_running_or_notify_cancel()  # whoever waits may go, the batch is written all the same


def may_pass(error: BaseException) -> bool:
    """Tell whether the same batch may be stored later: disk full, locked, database away."""
    if isinstance(error, sa.exc.DBAPIError):
        return not isinstance(error, PERMANENT[:3])
    return isinstance(error, OSError) or not isinstance(error, PERMANENT)


class Writer:
    """Writes batches in the order they were submitted.

    Args:
        store: opened for writing; boot begun, channels declared.
        age_s: how old a batch of readings alone may become before it is committed.
        retry_s: how long to wait before trying again.
        limit: how many batches may wait; beyond it `submit` refuses.
        on_trouble: called in the writer's thread with the error when writing fails, with None when it works again.
    """

    def __init__(
        self,
        store: Store,
        *,
        age_s: float = 1.0,
        retry_s: float = 1.0,
        limit: int = 3600,
        on_trouble: Callable[[StoreError | None], None] | None = None,
    ) -> None:
        self.store = store
        self.trouble: StoreError | None = None
        self._age_s, self._retry_s, self._limit = age_s, retry_s, limit
        self._on_trouble = on_trouble
        self._jobs: deque[_Job] = deque()
        self._due: float | None = None
        self._busy = False
        self._closing = False
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._run, name="store-writer", daemon=True)
        self._thread.start()

    @property
    def stored_at_ms(self) -> int | None:
        """Give the instant of the newest stored reading, UTC ms; None before the first dated one."""
        return self.store.newest_at_ms

    @property
    def waiting(self) -> int:
        """Tell how many batches are not stored yet."""
        with self._changed:
            return len(self._jobs) + self._busy

    def submit(self, batch: Batch, *, at_once: bool = False) -> Future[Rows]:
        """Hand over a batch; the future gives its sealed rows after the commit.

        A batch with day-book rows, or one told to be written at once, waits for nothing and
        takes all earlier ones with it.

        Raises:
            StoreError: closed, or too many batches wait; the caller keeps the batch.
        """
        return self._put(_Job(batch), at_once=at_once or bool(batch.drafts))

    def date_segment(
        self, segment: Segment, mono_ms: int, by: str | None = None, via: str = "station"
    ) -> Future[Rows]:
        """Date a segment after all batches submitted before; the future gives the sealed row alone."""
        return self._put(_Job(lambda store: [store.date_segment(segment, mono_ms, by, via)]), at_once=True)

    def flush(self, timeout_s: float | None = None) -> bool:
        """Write all that waits and return when it is stored; False when that took too long."""
        with self._changed:
            if self._jobs:
                self._due = 0.0
            self._changed.notify_all()
            return self._changed.wait_for(lambda: not self._jobs and not self._busy, timeout_s)

    def close(self) -> None:
        """Write what waits, once more if writing was failing, and end the thread."""
        with self._changed:
            self._closing = True
            self._changed.notify_all()
        self._thread.join()

    def _put(self, job: _Job, *, at_once: bool) -> Future[Rows]:
        with self._changed:
            if self._closing:
                raise StoreError(
                    self.store.name, "the writer is closed", "an open writer", "Start the station again."
                )
            if len(self._jobs) >= self._limit:
                raise StoreError(
                    self.store.name, f"{len(self._jobs)} batches wait to be written", f"fewer than {self._limit}",
                    f"Mend the store first: {self.trouble or 'it is too slow'}.",
                )  # fmt: skip
            self._jobs.append(job)
            due = 0.0 if at_once else time.monotonic() + self._age_s
            self._due = due if self._due is None else min(self._due, due)
            self._changed.notify_all()
        return job.future

    def _run(self) -> None:
        while (jobs := self._next()) is not None:
            self._write(jobs)
            with self._changed:
                self._busy = False
                self._changed.notify_all()

    def _next(self) -> list[_Job] | None:
        """Wait until something is due; give what one transaction may hold, or None at the end."""
        with self._changed:
            while not self._closing and (self._due is None or (left := self._due - time.monotonic()) > 0):
                self._changed.wait(None if self._due is None else left)
            if not self._jobs:
                return None if self._closing else []
            jobs = [self._jobs.popleft()]
            while self._jobs and isinstance(jobs[-1].work, Batch) and isinstance(self._jobs[0].work, Batch):
                jobs.append(self._jobs.popleft())
            self._due = 0.0 if self._jobs else None
            self._busy = True
            return jobs

    def _write(self, jobs: list[_Job]) -> None:
        while True:
            last_try = self._closing
            try:
                results = self._commit(jobs)
            except Exception as error:
                if may_pass(error) and not last_try:
                    self._say(error)
                    self._pause()
                    continue
                self._fail(jobs, error)
                return
            self._recover()
            for job, rows in zip(jobs, results, strict=True):
                job.future.set_result(rows)
            return

    def _commit(self, jobs: list[_Job]) -> list[Rows]:
        first = jobs[0].work
        if not isinstance(first, Batch):
            return [first(self.store)]
        return self.store.write_all([job.work for job in jobs if isinstance(job.work, Batch)])

    def _fail(self, jobs: list[_Job], error: Exception) -> None:
        """Let the batch that cannot be stored fail alone: the others are tried one by one."""
        if len(jobs) > 1 and not may_pass(error):
            for job in jobs:
                self._write([job])
            return
        self._say(error)
        for job in jobs:
            job.future.set_exception(worded(self.store.name, error))

    def _pause(self) -> None:
        with self._changed:
            self._changed.wait_for(lambda: self._closing, self._retry_s)

    def _say(self, error: Exception) -> None:
        self.trouble = worded(self.store.name, error)
        if self._on_trouble is not None:
            self._on_trouble(self.trouble)

    def _recover(self) -> None:
        if self.trouble is not None:
            self.trouble = None
            if self._on_trouble is not None:
                self._on_trouble(None)


def worded(name: str, error: Exception) -> StoreError:
    """Word what a failing commit says."""
    if isinstance(error, StoreError):
        return error
    found = str(getattr(error, "orig", None) or error).strip().splitlines() or [type(error).__name__]
    if may_pass(error):
        do = "Make room or free the store; the readings are kept in memory and tried again."
        return StoreError(name, f"writing failed ({found[0]})", "a store that can be written", do)
    return StoreError(name, f"a batch was refused ({found[0]})", "rows the store accepts", "Report this as a fault.")
