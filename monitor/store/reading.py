"""Read what is stored, a page at a time: no long read keeps the write-ahead log from being emptied."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any, NamedTuple

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.bench.readings import Quality
from monitor.clock import Segment
from monitor.store.sealing import COLUMNS, from_columns
from monitor.store.tables import daybook, estimates, readings, undated_readings

PAGE = 5000
DAYBOOK_PAGE = 500
QUALITIES = {int(quality): quality for quality in Quality}


class Stored(NamedTuple):
    """A stored reading; `value` is None in a gap."""

    at_ms: int
    segment: int
    value: float | None
    quality: Quality


class Undated(NamedTuple):
    """A reading that waits for the time to be known."""

    channel_id: int
    segment: int
    mono_ms: int
    value: float | None
    quality: Quality


def iter_readings(engine: Engine, channel_id: int, from_ms: int, to_ms: int, page: int = PAGE) -> Iterator[Stored]:
    """Give a channel's readings with from <= at < to, in order of time and segment."""
    at, segment = readings.c.at_ms, readings.c.segment
    last: tuple[int, int] = (from_ms, -1)
    chosen = sa.select(at, segment, readings.c.value, readings.c.quality).where(
        readings.c.channel_id == channel_id, at < to_ms, sa.tuple_(at, segment) > sa.tuple_(*_bound("at", "segment"))
    )
    chosen = chosen.order_by(at, segment).limit(page)
    while True:
        with engine.connect() as connection:
            rows = connection.execute(chosen, {"at": last[0], "segment": last[1]}).all()
        for row in rows:
            yield Stored(row[0], row[1], row[2], QUALITIES[row[3]])
        if len(rows) < page:
            return
        last = (rows[-1][0], rows[-1][1])


def _bound(*names: str) -> list[sa.BindParameter[int]]:
    return [sa.bindparam(name, type_=sa.BigInteger()) for name in names]


def iter_undated(engine: Engine, channel_id: int, segment: int, after_ms: int = -1) -> Iterator[Undated]:
    """Give the undated readings of a channel in a segment that lie after an instant of it, in order."""
    table = undated_readings.c
    last = after_ms
    while True:
        chosen = sa.select(undated_readings).where(
            table.channel_id == channel_id, table.segment == segment, table.mono_ms > last
        )
        with engine.connect() as connection:
            rows = connection.execute(chosen.order_by(table.mono_ms).limit(PAGE)).all()
        for row in rows:
            yield Undated(row.channel_id, row.segment, row.mono_ms, row.value, Quality(row.quality))
        if len(rows) < PAGE:
            return
        last = rows[-1].mono_ms


def last_mono_ms(connection: sa.Connection, channel_id: int, segment: Segment) -> int | None:
    """Give the instant of a channel's last reading in a segment; found from the end."""
    c, u = readings.c, undated_readings.c
    if segment.known:
        begin = segment.from_mono_ms + segment.offset_ms
        chosen = sa.select(c.at_ms - sa.literal(segment.offset_ms, sa.BigInteger())).where(
            c.channel_id == channel_id, c.segment == segment.segment, c.at_ms >= begin
        )
        chosen = chosen.order_by(c.at_ms.desc())
    else:
        chosen = sa.select(u.mono_ms).where(u.channel_id == channel_id, u.segment == segment.segment)
        chosen = chosen.order_by(u.mono_ms.desc())
    found = connection.execute(chosen.limit(1)).scalar()
    return None if found is None else int(found)


def iter_daybook(
    engine: Engine,
    board: str,
    *,
    after_seq: int = 0,
    step: str | None = None,
    kinds: Collection[str] | None = None,
    newest_first: bool = False,
    limit: int | None = None,
) -> Iterator[dict[str, Any]]:
    """Give sealed rows with seq > after_seq, in order of their numbers or from the newest back."""
    seq = daybook.c.seq
    chosen = sa.select(*(daybook.c[name] for name in COLUMNS)).where(daybook.c.board == board, seq > after_seq)
    if step is not None:
        chosen = chosen.where(daybook.c.step == step)
    if kinds is not None:
        chosen = chosen.where(daybook.c.kind.in_(list(kinds)))
    chosen = chosen.order_by(seq.desc() if newest_first else seq)
    given, last = 0, None
    while limit is None or given < limit:
        page = DAYBOOK_PAGE if limit is None else min(DAYBOOK_PAGE, limit - given)
        after = sa.true() if last is None else seq < last if newest_first else seq > last
        with engine.connect() as connection:
            rows = connection.execute(chosen.where(after).limit(page)).mappings().all()
        for row in rows:
            yield from_columns(row)
        if len(rows) < page:
            return
        given, last = given + len(rows), rows[-1]["seq"]


def iter_estimates(engine: Engine, board: str, step: str) -> Iterator[sa.Row[Any]]:
    """Give the estimate rows of a step in order of side, place, pass, time and depth."""
    key = [estimates.c[name] for name in ("side", "place", "pass_no", "segment", "mono_ms", "depth")]
    last: tuple[Any, ...] | None = None
    while True:
        chosen = sa.select(estimates).where(estimates.c.board == board, estimates.c.step == step)
        if last is not None:
            chosen = chosen.where(sa.tuple_(*key) > sa.tuple_(*last))
        with engine.connect() as connection:
            rows = connection.execute(chosen.order_by(*key).limit(PAGE)).all()
        yield from rows
        if len(rows) < PAGE:
            return
        last = tuple(getattr(rows[-1], column.name) for column in key)
