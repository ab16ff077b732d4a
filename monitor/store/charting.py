"""The envelope a chart is drawn from: few points, every excursion and every gap kept."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.store.rolling import newest_at
from monitor.store.rollups import HOUR_MS, MINUTE_MS, floor_to
from monitor.store.tables import readings, rollups

POINTS_A_BUCKET = 2
FEWEST_BUCKETS = 500


class Bucket(NamedTuple):
    """A piece of an envelope; low, high, first and last are None where there were only gaps.

    Attributes:
        from_ms, to_ms: its bounds, UTC ms.
        low, high, first, last: of good and clipped values in it.
        n: how many values.
        gaps: how many missing readings.
    """

    from_ms: int
    to_ms: int
    low: float | None
    high: float | None
    first: float | None
    last: float | None
    n: int
    gaps: int


Piece = tuple[int, float | None, float | None, float | None, float | None, int, int]


def envelope(engine: Engine, channel_id: int, from_ms: int, to_ms: int, points: int) -> list[Bucket]:
    """Give the readings with from <= at < to as at most points / 2 buckets (one more at an edge).

    Each bucket gives a chart two points, low and high. Hours are used where at least 500 of
    them are wanted, then minutes, then readings; the edges and the open bucket always come from
    finer rows, so that nothing outside the span is shown and nothing inside it is left out.
    Where nothing was read there is no bucket.
    """
    if to_ms <= from_ms:
        return []
    coarse = base_width(from_ms, to_ms)
    width = bucket_width(to_ms - from_ms, max(1, points // POINTS_A_BUCKET), coarse)
    with engine.connect() as connection:
        newest = newest_at(connection, channel_id)
        if newest is None:
            return []
        pieces = list(_pieces(connection, channel_id, from_ms, min(to_ms, newest + 1), coarse, newest))
    return list(gather(pieces, width, from_ms, to_ms))


def base_width(from_ms: int, to_ms: int) -> int:
    """Give the coarsest rows to read: hours, minutes, or 1 for the readings themselves."""
    for width in (HOUR_MS, MINUTE_MS):
        if (to_ms - from_ms) // width >= FEWEST_BUCKETS:
            return width
    return 1


def bucket_width(span_ms: int, buckets: int, coarse: int) -> int:
    """Give the width of a bucket: a whole multiple of the rows it is made of."""
    return max(1, -(-span_ms // (buckets * coarse))) * coarse


def _pieces(
    connection: sa.Connection, channel_id: int, from_ms: int, to_ms: int, width: int, newest: int
) -> Iterator[Piece]:
    """Give rows in order of time: coarse ones where they lie whole in the span, finer ones around them."""
    if to_ms <= from_ms:
        return
    if width == 1:
        yield from _raw(connection, channel_id, from_ms, to_ms)
        return
    begin = floor_to(width, from_ms + width - 1)
    end = min(floor_to(width, to_ms), floor_to(width, newest))
    finer = MINUTE_MS if width == HOUR_MS else 1
    if end <= begin:
        yield from _pieces(connection, channel_id, from_ms, to_ms, finer, newest)
        return
    yield from _pieces(connection, channel_id, from_ms, begin, finer, newest)
    yield from _rolled(connection, channel_id, begin, end, width)
    yield from _pieces(connection, channel_id, end, to_ms, finer, newest)


def _raw(connection: sa.Connection, channel_id: int, from_ms: int, to_ms: int) -> Iterator[Piece]:
    chosen = sa.select(readings.c.at_ms, readings.c.value).where(
        readings.c.channel_id == channel_id, readings.c.at_ms >= from_ms, readings.c.at_ms < to_ms
    )
    for at_ms, value in connection.execute(chosen.order_by(readings.c.at_ms, readings.c.segment)):
        there = value is not None
        yield at_ms, value, value, value, value, int(there), int(not there)


def _rolled(connection: sa.Connection, channel_id: int, from_ms: int, to_ms: int, width: int) -> Iterable[Piece]:
    c = rollups.c
    chosen = sa.select(c.from_ms, c.low, c.high, c.first, c.last, c.n + c.clipped, c.gaps).where(
        c.width_ms == width, c.channel_id == channel_id, c.from_ms >= from_ms, c.from_ms < to_ms
    )
    for row in connection.execute(chosen.order_by(c.from_ms)):
        yield tuple(row)


def gather(pieces: Iterable[Piece], width: int, from_ms: int, to_ms: int) -> Iterator[Bucket]:
    """Join pieces in order of time into buckets of one width, cut off at the span's ends."""
    start, low, high, first, last, n, gaps = None, None, None, None, None, 0, 0
    for at, p_low, p_high, p_first, p_last, p_n, p_gaps in pieces:
        place = at - at % width
        if place != start:
            if start is not None:
                yield Bucket(max(start, from_ms), min(start + width, to_ms), low, high, first, last, n, gaps)
            start, low, high, first, last, n, gaps = place, p_low, p_high, p_first, p_last, p_n, p_gaps
            continue
        n += p_n
        gaps += p_gaps
        if p_low is None or p_high is None:
            continue
        low = p_low if low is None or p_low < low else low
        high = p_high if high is None or p_high > high else high
        first = p_first if first is None else first
        last = p_last
    if start is not None:
        yield Bucket(max(start, from_ms), min(start + width, to_ms), low, high, first, last, n, gaps)
