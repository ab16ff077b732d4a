"""Resume and recompute: snapshots, and the stored inputs after a position in their total order."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.bench.inputs import Input, order_key
from monitor.bench.kinds import KINDS
from monitor.bench.readings import Quality, Reading
from monitor.clock import Segment
from monitor.store.batch import Position, Snapshot
from monitor.store.reading import iter_daybook, iter_readings, iter_undated
from monitor.store.tables import clock_segments, snapshots
from monitor.store.writing import as_segment

INPUT_KINDS = frozenset(kind.key for kind in KINDS.values() if kind.role == "input")
PAGE = 1000

Key = tuple[int, int, int, str, int]
ReadRow = Callable[[dict[str, Any]], Input | None]


def newest_snapshot(engine: Engine, board: str) -> Snapshot | None:
    """Give the newest state, found by primary key."""
    chosen = sa.select(snapshots).where(snapshots.c.board == board).order_by(snapshots.c.number.desc()).limit(1)
    with engine.connect() as connection:
        row = connection.execute(chosen).first()
    return None if row is None else _snapshot(row)


def kept_snapshots(engine: Engine, board: str) -> list[Snapshot]:
    """Give the first state of each day and the newest, oldest first."""
    with engine.connect() as connection:
        rows = connection.execute(
            sa.select(snapshots).where(snapshots.c.board == board).order_by(snapshots.c.number)
        ).all()
    return [_snapshot(row) for row in rows]


def _snapshot(row: sa.Row[Any]) -> Snapshot:
    where = Position(row.boot, row.mono_ms, row.place, row.channel, row.seq)
    return Snapshot(where, row.at_ms, row.engine, row.state)


def segments_from(engine: Engine, board: str, boot: int) -> list[tuple[Segment, int]]:
    """Give the clock segments of a boot and all later ones in order, each with its reach: no reading lies beyond."""
    chosen = sa.select(clock_segments).where(clock_segments.c.board == board, clock_segments.c.boot >= boot)
    with engine.connect() as connection:
        rows = connection.execute(chosen.order_by(clock_segments.c.boot, clock_segments.c.segment)).all()
    return [(as_segment(row), row.reach_mono_ms) for row in rows]


def inputs(
    engine: Engine, board: str, channels: dict[str, int], after: Position | None, read_row: ReadRow
) -> Iterator[tuple[int, Input]]:
    """Give (boot, input) after a position, in total order, with bounded memory.

    Rows of the day-book come by number, readings by (boot, instant, channel).

    Args:
        channels: name -> number.
        after: a snapshot's position, or None for all there is.
        read_row: makes an input of a day-book row, or None.
    """
    key = (0, -1, -1, "") if after is None else (after.boot, after.mono_ms, after.order, after.channel)
    rows = _row_inputs(engine, board, 0 if after is None else after.seq, read_row)
    measured = _reading_inputs(engine, board, channels, key)
    for place, item in heapq.merge(rows, measured, key=lambda pair: pair[0]):
        yield place[0], item


def _row_inputs(engine: Engine, board: str, after_seq: int, read_row: ReadRow) -> Iterator[tuple[Key, Input]]:
    for row in iter_daybook(engine, board, after_seq=after_seq, kinds=INPUT_KINDS):
        item = read_row(row)
        if item is not None:
            yield (row["boot"], *order_key(item), row["seq"]), item


def _reading_inputs(
    engine: Engine, board: str, channels: dict[str, int], after: tuple[int, int, int, str]
) -> Iterator[tuple[Key, Input]]:
    for segment, last in segments_from(engine, board, after[0]):
        if segment.boot == after[0] and last < after[1]:
            continue
        streams = [_stream(engine, segment, last, name, number, after) for name, number in channels.items()]
        yield from heapq.merge(*streams, key=lambda pair: pair[0])


def _stream(
    engine: Engine, segment: Segment, last: int, name: str, number: int, after: tuple[int, int, int, str]
) -> Iterator[tuple[Key, Input]]:
    since = max(segment.from_mono_ms, after[1] if segment.boot == after[0] else -1)
    for mono_ms, value, quality in _stored(engine, segment, number, since, last):
        item = Reading(mono_ms, name, value, quality)
        key: Key = (segment.boot, *order_key(item), 0)
        if key[:4] > after:
            yield key, item


def _stored(
    engine: Engine, segment: Segment, number: int, since: int, last: int
) -> Iterator[tuple[int, float | None, Quality]]:
    if not segment.known:
        for waiting in iter_undated(engine, number, segment.segment, since - 1):
            yield waiting.mono_ms, waiting.value, waiting.quality
        return
    offset = segment.offset_ms
    for row in iter_readings(engine, number, since + offset, last + offset + 1, PAGE):
        if row.segment == segment.segment:  # after a step back two segments share the same hours
            yield row.at_ms - offset, row.value, row.quality
