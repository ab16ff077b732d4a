"""Readings on their way into the tables, in one transaction, with their rollups."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from operator import attrgetter
from typing import Any

import sqlalchemy as sa

from monitor.bench.readings import Reading
from monitor.clock import Segment
from monitor.errors import StoreError
from monitor.store.rolling import FIELDS, Staleness, load_open, remake
from monitor.store.rollups import MINUTE_MS, OpenRollup, Rollup, floor_to
from monitor.store.tables import clock_segments, readings, rollups, undated_readings

Dated = tuple[int, int, int, float | None, int]


def insert_text(table: sa.Table, names: Sequence[str], connection: sa.Connection, suffix: str = "") -> str:
    """Write a plain INSERT for this driver: executing many tuples is twice as fast without the compiler."""
    mark = "?" if connection.dialect.paramstyle == "qmark" else "%s"
    return f"INSERT INTO {table.name} ({', '.join(names)}) VALUES ({', '.join([mark] * len(names))}){suffix}"


READING = ("channel_id", "at_ms", "segment", "value", "quality")
FIELDS_OF = attrgetter(*FIELDS)
REACH_MS = 60_000
UNDATED = ("channel_id", "segment", "mono_ms", "value", "quality")


class Ingest:
    """The readings of one transaction.

    Args:
        connection: in the transaction.
        opened: channel number -> open buckets; changed in place, so that a transaction that
            fails must be followed by `forget`.
        stale: how long readings hold.
        reached: segment -> its reach as last committed.
    """

    def __init__(
        self, connection: sa.Connection, opened: dict[int, OpenRollup], stale: Staleness, reached: dict[int, int]
    ) -> None:
        self._connection = connection
        self._opened = opened
        self._stale = stale
        self.newest_at_ms: int | None = None
        self._rows: list[Dated] = []
        self._late: list[Dated] = []
        self._undated: list[Dated] = []
        self._last_mono: dict[int, int] = {}
        self._reached = reached
        self.reached: dict[int, int] = {}
        self._closed_of: dict[int, list[Rollup]] = {}

    def take(self, batch: Sequence[Reading], segment: Segment, ids: dict[str, int]) -> None:
        """Take readings in the order they were folded.

        Raises:
            StoreError: a channel that was never declared, or a value that is no finite number.
        """
        if not batch:
            return
        last = max(reading.mono_ms for reading in batch)
        self._last_mono[segment.segment] = max(last, self._last_mono.get(segment.segment, last))
        number, offset = segment.segment, segment.offset_ms
        for reading in batch:
            channel_id = ids.get(reading.channel)
            if channel_id is None:
                raise undeclared(reading.channel)
            value = reading.value
            if value is not None:
                if not isfinite(value):
                    raise not_finite(reading)
                value += 0.0  # SQLite keeps no negative zero; both stores read back the same bits
            if segment.known:
                row = (channel_id, reading.mono_ms + offset, number, value, int(reading.quality))
                self._put(row, self._stale.stale_ms(self._connection, channel_id, segment.boot))
            else:
                self._undated.append((channel_id, number, reading.mono_ms, value, int(reading.quality)))

    def _put(self, row: Dated, stale_ms: int) -> None:
        channel_id, at_ms, _, value, quality = row
        closed = self._closed_of.get(channel_id)
        if closed is None:
            closed = self._touch(channel_id)
        opened = self._opened[channel_id]
        if opened.last_at_ms is not None and at_ms <= opened.last_at_ms:
            self._late.append(row)
            return
        self._rows.append(row)
        opened.add(at_ms, value, quality, stale_ms, closed)
        if self.newest_at_ms is None or at_ms > self.newest_at_ms:
            self.newest_at_ms = at_ms

    def _touch(self, channel_id: int) -> list[Rollup]:
        if channel_id not in self._opened:
            self._opened[channel_id] = load_open(self._connection, self._stale, channel_id)
        closed = self._closed_of[channel_id] = []
        return closed

    def forget(self) -> None:
        """Drop the open buckets this transaction has changed; they are read again from the store when needed."""
        for channel_id in self._closed_of:
            self._opened.pop(channel_id, None)

    def finish(self) -> None:
        """Write everything taken."""
        self._many(readings, READING, self._rows)
        closed = [
            (channel_id, *FIELDS_OF(rollup)) for channel_id, buckets in self._closed_of.items() for rollup in buckets
        ]
        self._many(rollups, ("channel_id", *FIELDS), closed)
        for number, last in self._last_mono.items():
            self._reach(number, last)
        if self._late:
            self._write_late()
        if self._undated:
            self._write_undated()

    def _reach(self, segment: int, last_mono_ms: int) -> None:
        """Keep an instant that no reading of the segment lies beyond; moved a minute ahead, so seldom written."""
        if last_mono_ms <= self._reached.get(segment, -1):
            return
        ahead = last_mono_ms + REACH_MS
        c = clock_segments.c
        here = (c.segment == segment, c.reach_mono_ms < last_mono_ms)
        self._connection.execute(sa.update(clock_segments).where(*here).values(reach_mono_ms=ahead))
        self.reached[segment] = self._connection.execute(
            sa.select(c.reach_mono_ms).where(c.segment == segment)
        ).scalar_one()

    def _many(self, table: sa.Table, names: Sequence[str], rows: Sequence[tuple[Any, ...]], suffix: str = "") -> None:
        if rows:
            self._connection.exec_driver_sql(insert_text(table, names, self._connection, suffix), list(rows))

    def _write_late(self) -> None:
        """Store readings older than their channel's newest, then remake what they changed."""
        changed: dict[int, set[int]] = {}
        for row in self._late:
            if not self._is_stored(readings, READING, row, keys=3):
                self._connection.execute(sa.insert(readings).values(dict(zip(READING, row, strict=True))))
                changed.setdefault(row[0], set()).add(floor_to(MINUTE_MS, row[1]))
        for channel_id, minutes in changed.items():
            remake(self._connection, self._stale, channel_id, minutes)
            self._opened[channel_id] = load_open(self._connection, self._stale, channel_id)

    def _write_undated(self) -> None:
        for row in self._undated:
            if not self._is_stored(undated_readings, UNDATED, row, keys=3):
                self._many(undated_readings, UNDATED, [row])

    def _is_stored(self, table: sa.Table, names: Sequence[str], row: Dated, keys: int) -> bool:
        """Tell whether this very reading is there already; another one under its key is an error."""
        key = [table.c[name] == value for name, value in zip(names[:keys], row[:keys], strict=True)]
        found = self._connection.execute(sa.select(table.c.value, table.c.quality).where(*key)).first()
        if found is None:
            return False
        if tuple(found) == tuple(row[keys:]):
            return True
        raise StoreError(
            f"channel {row[0]} at {dict(zip(names[1:keys], row[1:keys], strict=True))}",
            f"a second reading {row[3]} (quality {row[4]})", f"the stored {found[0]} (quality {found[1]})",
            "One channel gives one reading at one instant; a stored one is never changed.",
        )  # fmt: skip


def undeclared(channel: str) -> StoreError:
    """Word a channel the store does not know."""
    return StoreError(f"channel {channel}", "not in this store", "a declared channel", "Declare its probe first.")


def not_finite(reading: Reading) -> StoreError:
    """Word a value that is no number."""
    return StoreError(
        f"channel {reading.channel}", str(reading.value), "a finite number, or a gap with its quality",
        "Give a gap where the probe gave no number.",
    )  # fmt: skip
