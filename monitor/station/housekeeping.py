"""What tidies up by the clock on the wall: answers older than a day, the store's statistics and log.

Nothing here samples, judges or warns: a scheduler that follows the wall clock falls silent
when that is set back. Its jobs are declared anew after each step of the clock.
"""

from __future__ import annotations

import asyncio
import logging
import sqlite3
from collections.abc import Awaitable, Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from monitor.clock import Clock
from monitor.store.store import Store

log = logging.getLogger(__name__)

PRUNE_HOURS = 1
TIDY_HOURS = 24
GRACE_S = 3600
BUSY_S = 5.0


@dataclass(frozen=True)
class Trial:
    """The daily trial of the ways to be told: in how long it is due, None for not at all, and how it is made."""

    due_in_ms: Callable[[], int | None]
    make: Callable[[], Awaitable[None]]


class Housekeeping:
    """Jobs of a running station.

    Args:
        store: the store to tidy.
        file: its SQLite file, None on PostgreSQL, which tidies itself.
        clock: tells UTC for what is old.
        trial: the daily trial of the ways to be told.
    """

    def __init__(self, store: Store, file: Path | None, clock: Clock, trial: Trial | None = None) -> None:
        self._trial = trial
        self._store = store
        self._file = file
        self._clock = clock
        self._scheduler: Any = None

    def start(self) -> None:
        """Start the scheduler on the running loop; APScheduler is imported only now."""
        from apscheduler.schedulers.asyncio import AsyncIOScheduler

        self._scheduler = AsyncIOScheduler(
            timezone=UTC, job_defaults={"coalesce": True, "misfire_grace_time": GRACE_S, "max_instances": 1}
        )
        self.declare()
        self._scheduler.start()

    def declare(self) -> None:
        """Put the jobs in anew, counted from now."""
        if self._scheduler is None:
            return
        for job, hours in ((self.prune, PRUNE_HOURS), (self.tidy, TIDY_HOURS)):
            first = datetime.now(UTC) + timedelta(hours=hours)
            self._scheduler.add_job(
                job, "interval", hours=hours, next_run_time=first, id=job.__name__, replace_existing=True
            )
        self._declare_trial()

    def _declare_trial(self) -> None:
        due_in_ms = self._trial.due_in_ms() if self._trial else None
        if due_in_ms is not None and self._scheduler is not None:
            at = datetime.now(UTC) + timedelta(milliseconds=due_in_ms)
            self._scheduler.add_job(self.try_ways, "date", run_date=at, id="try_ways", replace_existing=True)

    def stop(self) -> None:
        """Stop the scheduler; a job under way ends by itself."""
        if self._scheduler is not None:
            self._scheduler.shutdown(wait=False)
            self._scheduler = None

    async def prune(self) -> None:
        """Forget answers that are older than a day."""
        gone = await asyncio.to_thread(self._store.prune_answers, self._clock.wall_ms())
        log.info("%d answers forgotten", gone)

    async def try_ways(self) -> None:
        """Make the daily trial of the ways to be told, and declare the next."""
        assert self._trial is not None
        try:
            await self._trial.make()
        finally:
            self._declare_trial()

    async def tidy(self) -> None:
        """Let SQLite renew its statistics and empty its write-ahead log."""
        if self._file is not None:
            await asyncio.to_thread(tidy_file, self._file)


def tidy_file(file: Path) -> None:
    """Renew a SQLite file's statistics and empty its write-ahead log."""
    with closing(sqlite3.connect(file, timeout=BUSY_S)) as connection:
        connection.execute("PRAGMA optimize")
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
