"""The store: one writer, many readers, on SQLite or PostgreSQL."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.clock import Segment
from monitor.config import Studio
from monitor.errors import StoreError
from monitor.store import declaring
from monitor.store.batch import Batch
from monitor.store.dating import date_segment
from monitor.store.declaring import Series
from monitor.store.opening import open_engine
from monitor.store.queries import Queries
from monitor.store.rolling import load_open
from monitor.store.tables import answers, clock_segments
from monitor.store.where import connect_engine, resolve
from monitor.store.writing import Memory, Transaction

ANSWER_KEPT_MS = 86_400_000
WRITER_LOCK = 8460


class Store(Queries):
    """Everything recorded. Readers may be on any thread; writes are made one at a time.

    Attributes:
        name: the place, for messages.
        read_only: whether writing is refused.
        always_full: commit readings to the disk as firmly as day-book rows.
    """

    def __init__(self, name: str, readers: Engine, writer: Engine | None) -> None:
        self.name = name
        self.read_only = writer is None
        self.always_full = False
        self.newest_at_ms: int | None = None
        self._writer = writer
        self._lock = threading.Lock()
        super().__init__(readers)

    @classmethod
    def open(cls, where: str | Path, *, read_only: bool = False) -> Store:
        """Open a data directory or a `postgresql://` database of this program's version.

        Raises:
            StoreError: no store there, another version, not writable, no write-ahead log.
        """
        place = resolve(where)
        checked = open_engine(place, read_only=read_only)
        if read_only:
            return cls(place.name, checked, None)
        return cls(place.name, connect_engine(place, "read"), checked)

    def close(self) -> None:
        """Close every connection."""
        self._readers.dispose()
        if self._writer is not None:
            self._writer.dispose()

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Be the only writer of a PostgreSQL store meanwhile; a SQLite store is held by its folder.

        Raises:
            StoreError: another station writes there.
        """
        if self._writer is None or self._writer.dialect.name != "postgresql":
            yield
            return
        with self._writer.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            if not connection.execute(sa.select(sa.func.pg_try_advisory_lock(WRITER_LOCK))).scalar():
                found = "another station writes there"
                raise StoreError(self.name, found, "one station a store", "Stop it, or name another store.")
            yield

    @contextmanager
    def _transaction(self, *, full: bool = True) -> Iterator[sa.Connection]:
        if self._writer is None:
            raise StoreError(self.name, "opened for reading", "opened for writing", "Ask the station to write.")
        with self._lock, self._writer.connect() as connection:
            set_sync(connection, full=full)
            with connection.begin():
                if connection.dialect.name == "postgresql" and not full:
                    connection.exec_driver_sql("SET LOCAL synchronous_commit = off")
                yield connection

    def begin_boot(self, board: str, boot_id: str, started_at_ms: int | None, engine: int, version: str) -> int:
        """Record a start of the station; give its boot number."""
        with self._transaction() as connection:
            boot = declaring.begin_boot(connection, board, boot_id, started_at_ms, engine, version)
        self.boot, self._memory = boot, Memory(board)
        return boot

    def declare(self, studio: Studio, serials: dict[str, str], sources: dict[str, str]) -> None:
        """Enter benches, instruments, probes and channels of a studio; rebuild their open rollups.

        Args:
            studio: the configuration.
            serials: probe -> serial number, "" or missing where there is none.
            sources: probe -> where its readings come from, in words.

        Raises:
            StoreError: a part whose quantities are not known.
        """
        self.declare_series(declaring.studio_series(studio, serials, sources), studio.benches)

    def declare_series(self, series: list[Series], benches: tuple[str, ...] = ()) -> None:
        """Enter probes by what they measure, for series that no configuration describes."""
        with self._transaction() as connection:
            declaring.declare(connection, self._memory.board, self.boot, benches, series)
        self._memory.stale.forget()
        self._memory.channel_ids = {row.channel: int(row.channel_id or 0) for row in self.channels()}
        with self._readers.connect() as connection:
            for number in self._memory.channel_ids.values():
                self._memory.opened[number] = load_open(connection, self._memory.stale, number)

    def write(self, batch: Batch) -> list[dict[str, Any]]:
        """Write a batch in one transaction; give its sealed day-book rows.

        Raises:
            StoreError: something in it cannot be stored as it stands; nothing of it is.
            sqlalchemy.exc.OperationalError: disk full, locked or away; it may be tried again.
        """
        return self.write_all([batch])[0]

    def write_all(self, batches: list[Batch]) -> list[list[dict[str, Any]]]:
        """Write several batches in one transaction; give the sealed rows of each."""
        full = self.always_full or any(batch.drafts for batch in batches)
        work = None
        try:
            with self._transaction(full=full) as connection:
                work = Transaction(connection, self._memory)
                rows = [work.take(batch) for batch in batches]
                work.finish()
        except BaseException:
            if work is not None:
                work.ingest.forget()
            raise
        self._adopt(work)
        return rows

    def _adopt(self, work: Transaction) -> None:
        work.adopt()
        newest = work.ingest.newest_at_ms
        if newest is not None and (self.newest_at_ms is None or newest > self.newest_at_ms):
            self.newest_at_ms = newest

    def date_segment(
        self, segment: Segment, mono_ms: int, by: str | None = None, via: str = "station"
    ) -> dict[str, Any]:
        """Date a segment stored without time; give the sealed `clock_known` row.

        Args:
            segment: its number, with the offset that is known now.
            mono_ms: when it became known.
            by, via: who gave the time and how.
        """
        with self._transaction() as connection:
            work, row = date_segment(connection, self._memory, segment, mono_ms, by, via)
        self._adopt(work)
        return row

    def prune_answers(self, now_ms: int) -> int:
        """Forget answers older than 24 h, and undated ones of earlier boots; give how many."""
        earlier = sa.select(clock_segments.c.segment).where(clock_segments.c.boot < self.boot)
        undated = answers.c.at_ms.is_(None) & answers.c.segment.in_(earlier)
        old = answers.c.at_ms < now_ms - ANSWER_KEPT_MS
        with self._transaction(full=False) as connection:
            return int(connection.execute(sa.delete(answers).where(old | undated)).rowcount)


def set_sync(connection: sa.Connection, *, full: bool) -> None:
    """Choose before a SQLite transaction whether its commit waits for the disk."""
    inner = connection.connection.driver_connection
    wanted = "FULL" if full else "NORMAL"
    if isinstance(inner, sqlite3.Connection) and connection.info.get("synchronous") != wanted:
        inner.execute(f"PRAGMA synchronous={wanted}")
        connection.info["synchronous"] = wanted
