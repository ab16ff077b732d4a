"""Date what was stored before the time was known, in one recorded transaction."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from monitor.bench.outputs import Draft
from monitor.clock import Segment
from monitor.errors import StoreError
from monitor.store.columns import METADATA
from monitor.store.entities import Binding, Contact, Painting, Step
from monitor.store.rolling import remake
from monitor.store.rollups import MINUTE_MS
from monitor.store.tables import answers, clock_segments, estimates, readings, snapshots, undated_readings
from monitor.store.writing import Memory, Transaction, stored_segment


def date_segment(
    connection: sa.Connection, memory: Memory, segment: Segment, mono_ms: int, by: str | None, via: str
) -> tuple[Transaction, dict[str, Any]]:
    """Give a segment its offset, move its readings and record it; give the work and the sealed row.

    Day-book rows keep no time for ever; they are dated through their segment.

    Raises:
        StoreError: no such segment, or its time is already known.
    """
    stored = stored_segment(connection, segment.segment)
    if stored is None or stored.known or not segment.known:
        found = "not stored" if stored is None else "time already known" if stored.known else "no offset given"
        raise StoreError(
            f"clock segment {segment.segment}", found, "a stored segment without time", "Begin a new segment instead."
        )
    connection.execute(
        sa.update(clock_segments)
        .where(clock_segments.c.segment == segment.segment)
        .values(offset_ms=segment.offset_ms, known=1)
    )
    dated = Segment(stored.segment, stored.boot, stored.from_mono_ms, segment.offset_ms, known=True)
    work = Transaction(connection, memory)
    moved = _move_readings(connection, memory, dated)
    date_entities(connection, dated)
    _date_the_rest(connection, dated)
    body = {"segment": dated.segment, "offset_ms": dated.offset_ms, "readings": moved}
    row = work.seal(Draft("clock_known", mono_ms, body, by=by, via=via), dated)
    memory.segments.pop(dated.segment, None)
    return work, row


def _move_readings(connection: sa.Connection, memory: Memory, dated: Segment) -> int:
    old = undated_readings.c
    mine = old.segment == dated.segment
    channels = connection.execute(sa.select(old.channel_id).where(mine).distinct()).scalars().all()
    at_ms = old.mono_ms + sa.literal(dated.offset_ms, sa.BigInteger())
    chosen = sa.select(old.channel_id, at_ms, old.segment, old.value, old.quality).where(mine)
    moved = connection.execute(sa.select(sa.func.count()).select_from(undated_readings).where(mine)).scalar_one()
    names = ["channel_id", "at_ms", "segment", "value", "quality"]
    connection.execute(sa.insert(readings).from_select(names, chosen))
    connection.execute(sa.delete(undated_readings).where(mine))
    for channel_id in channels:
        here = (readings.c.channel_id == channel_id, readings.c.segment == dated.segment)
        minute = readings.c.at_ms - readings.c.at_ms % MINUTE_MS
        minutes = connection.execute(sa.select(minute).where(*here).distinct()).scalars().all()
        remake(connection, memory.stale, channel_id, minutes)
        memory.opened.pop(channel_id, None)
    return int(moved)


def date_entities(connection: sa.Connection, dated: Segment) -> None:
    """Fill in the times of entities that began or ended in a segment."""
    for entity, segment, mono, at in (
        (Painting, "handed_back_segment", "handed_back_mono_ms", "handed_back_at_ms"),
        (Step, "segment", "started_mono_ms", "started_at_ms"),
        (Step, "finished_segment", "finished_mono_ms", "finished_at_ms"),
        (Binding, "segment", "from_mono_ms", "from_at_ms"),
        (Binding, "to_segment", "to_mono_ms", "to_at_ms"),
        (Contact, "segment", "start_mono_ms", "start_at_ms"),
        (Contact, "end_segment", "end_mono_ms", "end_at_ms"),
    ):
        table = METADATA.tables[str(entity.__tablename__)]
        _date(connection, table, table.c[segment] == dated.segment, mono, at, dated.offset_ms)


def _date_the_rest(connection: sa.Connection, dated: Segment) -> None:
    for table in (estimates, answers):
        _date(connection, table, table.c.segment == dated.segment, "mono_ms", "at_ms", dated.offset_ms)
    of_boot = sa.and_(snapshots.c.boot == dated.boot, snapshots.c.mono_ms >= dated.from_mono_ms)
    _date(connection, snapshots, of_boot, "mono_ms", "at_ms", dated.offset_ms)


def _date(
    connection: sa.Connection, table: sa.Table, which: sa.ColumnElement[bool], mono: str, at: str, offset_ms: int
) -> None:
    undated = table.c[at].is_(None)
    connection.execute(sa.update(table).where(which, undated).values({at: table.c[mono] + offset_ms}))
