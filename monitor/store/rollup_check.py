"""Compute every closed rollup again from the readings; they must be equal to the last bit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from itertools import zip_longest

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.clock import iso
from monitor.store.columns import METADATA
from monitor.store.problem import Problem
from monitor.store.reading import iter_readings
from monitor.store.rolling import Staleness, stored
from monitor.store.rollups import HOUR_MS, MINUTE_MS, OpenRollup, Rollup
from monitor.store.tables import clock_segments, readings, rollups

CHUNK = 2000
EVER = 2**53


def check_rollups(engine: Engine) -> Iterator[Problem]:
    """Give the first bucket of each channel and width that is missing, surplus or different."""
    channels = METADATA.tables["channels"]
    with engine.connect() as connection:
        named = {row[0]: row[1] for row in connection.execute(sa.select(channels.c.channel_id, channels.c.channel))}
    for number, name in sorted(named.items()):
        for width in (MINUTE_MS, HOUR_MS):
            computed = (rollup for rollup in closed_rollups(engine, number) if rollup.width_ms == width)
            for made, kept in zip_longest(computed, _stored(engine, number, width)):
                problem = _compare(name, width, made, kept)
                if problem is not None:
                    yield problem
                    break


def closed_rollups(engine: Engine, channel_id: int) -> Iterator[Rollup]:
    """Compute a channel's closed buckets from all of its readings, in order."""
    stale, opened, closed = Staleness(), OpenRollup(), list[Rollup]()
    holds: dict[int, int] = {}
    for row in iter_readings(engine, channel_id, -EVER, EVER):
        if row.segment not in holds:
            with engine.connect() as connection:
                holds[row.segment] = stale.of_segment(connection, channel_id, row.segment)
        opened.add(row.at_ms, row.value, row.quality, holds[row.segment], closed)
        yield from closed
        closed.clear()


def _stored(engine: Engine, channel_id: int, width: int) -> Iterator[Rollup]:
    begin = -EVER
    while True:
        with engine.connect() as connection:
            chosen = sa.select(rollups.c.from_ms).where(
                rollups.c.width_ms == width, rollups.c.channel_id == channel_id, rollups.c.from_ms >= begin
            )
            starts = connection.execute(chosen.order_by(rollups.c.from_ms).limit(CHUNK)).scalars().all()
            if not starts:
                return
            found = stored(connection, channel_id, width, begin, starts[-1] + 1)
        yield from found
        begin = starts[-1] + 1


def _compare(name: str, width: int, made: Rollup | None, kept: Rollup | None) -> Problem | None:
    if made == kept:
        return None
    words = "minute" if width == MINUTE_MS else "hour"
    if kept is None or (made is not None and made.from_ms < kept.from_ms):
        assert made is not None
        return Problem("rollups", f"{name}, {words} from {iso(made.from_ms)}", "missing", f"n = {made.n}")
    where = f"{name}, {words} from {iso(kept.from_ms)}"
    if made is None or kept.from_ms < made.from_ms:
        return Problem("rollups", where, f"n = {kept.n}", "nothing: no reading closes it")
    for field in fields(Rollup):
        found, expected = getattr(kept, field.name), getattr(made, field.name)
        if found != expected:
            return Problem("rollups", where, f"{field.name} = {found}", f"{expected} from the readings")
    return None


def check_reach(engine: Engine) -> Iterator[Problem]:
    """Give readings whose channel or segment does not exist, or that lie beyond their segment's reach."""
    channels = METADATA.tables["channels"]
    chosen = sa.select(readings.c.channel_id, readings.c.segment, sa.func.max(readings.c.at_ms), sa.func.count())
    with engine.connect() as connection:
        known = set(connection.execute(sa.select(channels.c.channel_id)).scalars())
        segments = {row.segment: row for row in connection.execute(sa.select(clock_segments))}
        groups = connection.execute(chosen.group_by(readings.c.channel_id, readings.c.segment)).all()
    for number, segment, newest, count in groups:
        where = f"{count} readings of channel {number} in segment {segment}"
        row = segments.get(segment)
        if number not in known:
            yield Problem("orphans", where, "the channel does not exist", "a declared channel")
        elif row is None or not row.known:
            told = "does not exist" if row is None else "has no known time"
            yield Problem("orphans", where, f"the segment {told}", "a dated segment")
        elif newest > row.reach_mono_ms + row.offset_ms:
            yield Problem("orphans", where, f"the newest is at {iso(newest)}", "none beyond the segment's reach")
