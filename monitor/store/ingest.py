"""Readings on their way into the tables, in one transaction, with their rollups."""

from __future__ import annotations

import math
from collections.abc import Sequence
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
UNDATED = ("channel_id", "segment", "mono_ms", "value", "quality")


class Ingest:
    """The readings of one transaction.

    Args:
        connection: in the transaction.
        opened: channel number -> open buckets as last committed; copied before they change.
        stale: how long readings hold.
    """

    def __init__(self, connection: sa.Connection, opened: dict[int, OpenRollup], stale: Staleness) -> None:
        self._connection = connection
        self._opened = opened
        self._stale = stale
        self.touched: dict[int, OpenRollup] = {}
        self.newest_at_ms: int | None = None
        self._rows: list[Dated] = []
        self._late: list[Dated] = []
        self._undated: list[Dated] = []
        self._last_mono: dict[int, int] = {}
        self._closed_of: dict[int, list[Rollup]] = {}

    def take(self, batch: Sequence[Reading], segment: Segment, ids: dict[str, int]) -> None:
        """Take readings in the order they were folded.

        Raises:
            StoreError: a channel that was never declared, or a value that is no finite number.
        """
        stale_ms: dict[int, int] = {}
        if batch:
            last = max(reading.mono_ms for reading in batch)
            self._last_mono[segment.segment] = max(last, self._last_mono.get(segment.segment, last))
        for reading in batch:
            channel_id = ids.get(reading.channel)
            if channel_id is None:
                raise undeclared(reading.channel)
            value = _finite(reading)
            if not segment.known:
                row = (channel_id, segment.segment, reading.mono_ms, value, int(reading.quality))
                self._undated.append(row)
                continue
            at_ms = reading.mono_ms + segment.offset_ms
            if channel_id not in stale_ms:
                stale_ms[channel_id] = self._stale.stale_ms(self._connection, channel_id, segment.boot)
            self._put(channel_id, at_ms, segment.segment, value, int(reading.quality), stale_ms[channel_id])

    def _put(self, channel_id: int, at_ms: int, segment: int, value: float | None, quality: int, stale: int) -> None:
        opened = self.touched.get(channel_id) or self._touch(channel_id)
        row = (channel_id, at_ms, segment, value, quality)
        if opened.last_at_ms is not None and at_ms <= opened.last_at_ms:
            self._late.append(row)
            return
        self._rows.append(row)
        opened.add(at_ms, value, quality, stale, self._closed_of[channel_id])
        if self.newest_at_ms is None or at_ms > self.newest_at_ms:
            self.newest_at_ms = at_ms

    def _touch(self, channel_id: int) -> OpenRollup:
        known = self._opened.get(channel_id)
        opened = load_open(self._connection, self._stale, channel_id) if known is None else known.copy()
        self.touched[channel_id] = opened
        self._closed_of[channel_id] = []
        return opened

    def finish(self) -> None:
        """Write everything taken."""
        self._many(readings, READING, self._rows)
        closed = [
            (channel_id, *(getattr(rollup, name) for name in FIELDS))
            for channel_id, buckets in self._closed_of.items()
            for rollup in buckets
        ]
        self._many(rollups, ("channel_id", *FIELDS), closed)
        for segment, last in self._last_mono.items():
            self._connection.exec_driver_sql(self._reach(), (last, segment, last))
        if self._late:
            self._write_late()
        if self._undated:
            self._write_undated()

    def _reach(self) -> str:
        mark = "?" if self._connection.dialect.paramstyle == "qmark" else "%s"
        name = clock_segments.name
        return f"UPDATE {name} SET last_mono_ms = {mark} WHERE segment = {mark} AND last_mono_ms < {mark}"

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
            self.touched[channel_id] = load_open(self._connection, self._stale, channel_id)

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


def _finite(reading: Reading) -> float | None:
    value = reading.value
    if value is None:
        return None
    if not math.isfinite(value):
        raise StoreError(
            f"channel {reading.channel}", str(value), "a finite number, or a gap with its quality",
            "Give a gap where the probe gave no number.",
        )  # fmt: skip
    return value + 0.0  # SQLite keeps no negative zero; both stores read back the same bits
