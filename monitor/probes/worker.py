"""One thread a bus: jobs queue up, nobody else touches the sensors, a thread that hangs is replaced."""

from __future__ import annotations

import contextlib
import queue
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, InvalidStateError
from typing import Any, TypeVar

from monitor.errors import BusError
from monitor.probes.probe import Probe, Sample

T = TypeVar("T")
_Jobs = queue.SimpleQueue["tuple[Future[Any], Callable[[], Any]] | None"]


class BusWorker:
    """Runs jobs of one bus one after the other.

    Args:
        name: the bus, for the thread's name and messages.
        drop: gives up the open buses when a thread is abandoned inside one.
        threaded: False runs every job at once in the caller's thread, which suits a story whose
            clock stands while it reads: the same code, no hand-over.
    """

    def __init__(self, name: str, drop: Callable[[], None], *, threaded: bool = True) -> None:
        self.name = name
        self.replaced = 0
        self._drop = drop
        self._threaded = threaded
        self._closed = False
        self._guard = threading.Lock()
        self._current: Future[Any] | None = None
        self._abandoned: list[threading.Thread] = []
        self._thread: threading.Thread | None = None
        self._jobs: _Jobs = queue.SimpleQueue()
        if threaded:
            self._start()

    def submit(self, probe: Probe) -> Future[list[Sample]]:
        """Queue one read of a probe; who waits for it sets a deadline and calls `replace` when it passes."""
        return self.run(probe.read)

    def run(self, job: Callable[[], T]) -> Future[T]:
        """Queue any job; RuntimeError once closed."""
        if self._closed:
            raise RuntimeError(f"worker of {self.name} is closed")
        future: Future[T] = Future()
        if self._threaded:
            self._jobs.put((future, job))
        else:
            _do(future, job)
        return future

    def replace(self) -> None:
        """Abandon the thread with the job it hangs in, open the bus anew, go on with the queued jobs."""
        if not self._threaded:
            return
        with self._guard:
            hung, self._current = self._current, None
            old_thread, old_jobs = self._thread, self._jobs
            self._drop()
            self._jobs = queue.SimpleQueue()
            with contextlib.suppress(queue.Empty):
                while True:
                    self._jobs.put(old_jobs.get_nowait())
            old_jobs.put(None)
            if old_thread is not None:
                self._abandoned.append(old_thread)
            self.replaced += 1
            self._start()
        if hung is not None:
            gone = BusError(self.name, "no answer before the deadline", "an answer", "The bus was opened anew.")
            with contextlib.suppress(InvalidStateError):
                hung.set_exception(gone)

    def close(self, within_s: float = 2.0) -> bool:
        """Finish the queued jobs and join the threads; False if one still hangs after `within_s` seconds."""
        self._closed = True
        self._jobs.put(None)
        until = time.monotonic() + within_s
        threads = [t for t in (self._thread, *self._abandoned) if t is not None]
        for thread in threads:
            thread.join(max(0.0, until - time.monotonic()))
        return not any(t.is_alive() for t in threads)

    def _start(self) -> None:
        # A daemon: a thread that hangs in the kernel must not keep the process from ending.
        self._thread = threading.Thread(target=self._work, args=(self._jobs,), name=f"bus {self.name}", daemon=True)
        self._thread.start()

    def _work(self, jobs: _Jobs) -> None:
        while (entry := jobs.get()) is not None:
            future, job = entry
            with self._guard:
                if jobs is self._jobs:
                    self._current = future
            _do(future, job)
            with self._guard:
                if self._current is future:
                    self._current = None


def _do(future: Future[T], job: Callable[[], T]) -> None:
    if not future.set_running_or_notify_cancel():
        return
    try:
        result = job()
    except BaseException as why:  # handed to whoever waits, as any executor does
        with contextlib.suppress(InvalidStateError):
            future.set_exception(why)
    else:
        with contextlib.suppress(InvalidStateError):
            future.set_result(result)
