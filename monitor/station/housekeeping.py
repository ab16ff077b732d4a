"""What tidies up by the clock on the wall: answers older than a day, the store's statistics and log.

Nothing here samples, judges or warns: a scheduler that follows the wall clock falls silent
when that is set back. Its jobs are declared anew after each step of the clock.
"""

from __future__ import annotations

import asyncio
import logging
import sqlite3
from contextlib import closing
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


class Housekeeping:
    """Jobs of a running station.

    Args:
        store: the store to tidy.
        file: its SQLite file, None on PostgreSQL, which tidies itself.
        clock: tells UTC for what is old.
    """

    def __init__(self, store: Store, file: Path | None, clock: Clock) -> None:
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

    def stop(self) -> None:
        """Stop the scheduler; a job under way ends by itself."""
        if self._scheduler is not None:
            self._scheduler.shutdown(wait=False)
            self._scheduler = None

    async def prune(self) -> None:
        """Forget answers that are older than a day."""
        gone = await asyncio.to_thread(self._store.prune_answers, self._clock.wall_ms())
        log.info("%d answers forgotten", gone)

    async def tidy(self) -> None:
        """Let SQLite renew its statistics and empty its write-ahead log."""
        if self._file is not None:
            await asyncio.to_thread(tidy_file, self._file)


def tidy_file(file: Path) -> None:
    """Renew a SQLite file's statistics and empty its write-ahead log."""
    with closing(sqlite3.connect(file, timeout=BUSY_S)) as connection:
        connection.execute("PRAGMA optimize")
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
