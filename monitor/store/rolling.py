"""Rollups and the tables: load what is open, remake what a late reading has changed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import sqlalchemy as sa

from monitor.store.rollups import HOUR_MS, MINUTE_MS, STALE_INTERVALS, OpenRollup, Rollup, floor_to
from monitor.store.tables import clock_segments, intervals, readings, rollups

FIELDS = tuple(column.name for column in rollups.columns if column.name not in ("channel_id",))


class Staleness:
    """After how long a reading is stale: 3 times its channel's interval in its boot."""

    def __init__(self) -> None:
        self._boot_of: dict[int, int] = {}
        self._stale_ms: dict[tuple[int, int], int] = {}

    def stale_ms(self, connection: sa.Connection, channel_id: int, boot: int) -> int:
        """Give it in ms; 0 when the channel was never declared."""
        key = (channel_id, boot)
        if key not in self._stale_ms:
            wanted = sa.select(intervals.c.interval_ms).where(
                intervals.c.channel_id == channel_id, intervals.c.boot <= boot
            )
            found = connection.execute(wanted.order_by(intervals.c.boot.desc()).limit(1)).scalar()
            self._stale_ms[key] = STALE_INTERVALS * int(found or 0)
        return self._stale_ms[key]

    def of_segment(self, connection: sa.Connection, channel_id: int, segment: int) -> int:
        """Give it for a reading of a segment."""
        if segment not in self._boot_of:
            wanted = sa.select(clock_segments.c.boot).where(clock_segments.c.segment == segment)
            self._boot_of[segment] = int(connection.execute(wanted).scalar() or 0)
        return self.stale_ms(connection, channel_id, self._boot_of[segment])

    def forget(self) -> None:
        """Drop what is remembered, after intervals were declared anew."""
        self._stale_ms.clear()


def newest_at(connection: sa.Connection, channel_id: int, before_ms: int | None = None) -> int | None:
    """Give the instant of a channel's newest reading, or of the newest before an instant."""
    wanted = sa.select(readings.c.at_ms).where(readings.c.channel_id == channel_id)
    if before_ms is not None:
        wanted = wanted.where(readings.c.at_ms < before_ms)
    found = connection.execute(wanted.order_by(readings.c.at_ms.desc()).limit(1)).scalar()
    return None if found is None else int(found)


def load_open(connection: sa.Connection, stale: Staleness, channel_id: int) -> OpenRollup:
    """Rebuild a channel's open buckets; reads one minute of readings and one hour of minutes."""
    opened = OpenRollup()
    newest = newest_at(connection, channel_id)
    if newest is None:
        return opened
    minute_from, hour_from = floor_to(MINUTE_MS, newest), floor_to(HOUR_MS, newest)
    opened.hour = _hour(connection, channel_id, hour_from, minute_from)
    for row in _raw(connection, channel_id, minute_from, minute_from + MINUTE_MS):
        stale_ms = stale.of_segment(connection, channel_id, row.segment)
        opened.add(row.at_ms, row.value, row.quality, stale_ms, [])
    return opened


def remake(connection: sa.Connection, stale: Staleness, channel_id: int, minutes: Iterable[int]) -> None:
    """Compute anew the stored buckets that readings in these minutes have changed.

    The minute before each is remade too, because the hold of its last reading may have ended earlier.
    """
    newest = newest_at(connection, channel_id)
    if newest is None:
        return
    touched = set(minutes)
    for minute in tuple(touched):
        before = newest_at(connection, channel_id, minute)
        if before is not None:
            touched.add(floor_to(MINUTE_MS, before))
    made: list[Rollup] = []
    for minute in sorted(touched):
        if minute < floor_to(MINUTE_MS, newest):
            made.append(minute_from_raw(connection, stale, channel_id, minute))
    _replace(connection, channel_id, made)
    hours = sorted({floor_to(HOUR_MS, m) for m in touched if floor_to(HOUR_MS, m) < floor_to(HOUR_MS, newest)})
    _replace(connection, channel_id, [_hour(connection, channel_id, h, h + HOUR_MS) for h in hours])


def minute_from_raw(connection: sa.Connection, stale: Staleness, channel_id: int, minute: int) -> Rollup:
    """Compute one closed minute from its readings and the one that ends its last hold."""
    opened, closed = OpenRollup(), list[Rollup]()
    for row in _raw(connection, channel_id, minute, minute + MINUTE_MS):
        opened.add(row.at_ms, row.value, row.quality, stale.of_segment(connection, channel_id, row.segment), closed)
    after = sa.select(readings.c.at_ms).where(
        readings.c.channel_id == channel_id, readings.c.at_ms >= minute + MINUTE_MS
    )
    following = connection.execute(after.order_by(readings.c.at_ms).limit(1)).scalar()
    if opened.minute is not None and following is not None:
        opened.add(following, None, 10, 0, closed)
    return closed[0] if closed else Rollup(MINUTE_MS, minute)


def _raw(connection: sa.Connection, channel_id: int, from_ms: int, to_ms: int) -> Iterable[Any]:
    wanted = sa.select(readings.c.at_ms, readings.c.segment, readings.c.value, readings.c.quality).where(
        readings.c.channel_id == channel_id, readings.c.at_ms >= from_ms, readings.c.at_ms < to_ms
    )
    return connection.execute(wanted.order_by(readings.c.at_ms, readings.c.segment)).all()


def _hour(connection: sa.Connection, channel_id: int, from_ms: int, to_ms: int) -> Rollup:
    hour = Rollup(HOUR_MS, from_ms)
    for minute in stored(connection, channel_id, MINUTE_MS, from_ms, to_ms):
        hour.merge(minute)
    return hour


def stored(connection: sa.Connection, channel_id: int, width_ms: int, from_ms: int, to_ms: int) -> list[Rollup]:
    """Give the stored buckets that begin in [from, to), in order."""
    wanted = sa.select(*(rollups.c[name] for name in FIELDS)).where(
        rollups.c.width_ms == width_ms, rollups.c.channel_id == channel_id,
        rollups.c.from_ms >= from_ms, rollups.c.from_ms < to_ms,
    )  # fmt: skip
    return [Rollup(*row) for row in connection.execute(wanted.order_by(rollups.c.from_ms))]


def _replace(connection: sa.Connection, channel_id: int, made: list[Rollup]) -> None:
    for rollup in made:
        key = (rollups.c.width_ms == rollup.width_ms, rollups.c.channel_id == channel_id)
        connection.execute(sa.delete(rollups).where(*key, rollups.c.from_ms == rollup.from_ms))
        if rollup.n or rollup.clipped or rollup.gaps:
            connection.execute(sa.insert(rollups).values(as_row(channel_id, rollup)))


def as_row(channel_id: int, rollup: Rollup) -> dict[str, object]:
    """Give a bucket as the table holds it."""
    return {"channel_id": channel_id, **{name: getattr(rollup, name) for name in FIELDS}}
