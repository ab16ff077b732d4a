"""Minutes as rollups have them: what can be said of a minute's readings without looking at each."""

from __future__ import annotations

from collections.abc import Collection
from math import inf
from typing import NamedTuple

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.bench.spells import Side
from monitor.clock import iso
from monitor.errors import StoreError
from monitor.store.rollups import MINUTE_MS
from monitor.store.tables import readings, rollups


class Minute(NamedTuple):
    """What a rollup says of one minute; `low` and `high` None where there were only gaps."""

    from_ms: int
    low: float | None
    high: float | None
    n: int
    clipped: int
    gaps: int
    weight_ms: int

    @property
    def span(self) -> tuple[float, float]:
        """Give lowest and highest value; between the two that stand for none lies nothing."""
        return (inf, -inf) if self.low is None or self.high is None else (self.low, self.high)

    def lies(self, sides: Collection[Side]) -> tuple[bool, ...] | None:
        """Tell for each level whether all its values are past it; None where they lie on both sides, or may."""
        if self.clipped:
            return None
        if self.low is None or self.high is None:
            return tuple(False for _ in sides)
        found = []
        for side in sides:
            nearest, furthest = (self.low, self.high) if side.high else (self.high, self.low)
            past = side.beyond(nearest)
            if past is not side.beyond(furthest):
                return None
            found.append(past)
        return tuple(found)


def minutes(engine: Engine, number: int, from_ms: int, to_ms: int) -> list[Minute]:
    """Give the stored minutes of a channel that begin in [from, to), in order; none for one without readings."""
    c = rollups.c
    chosen = sa.select(c.from_ms, c.low, c.high, c.n, c.clipped, c.gaps, c.weight_ms).where(
        c.width_ms == MINUTE_MS, c.channel_id == number, c.from_ms >= from_ms, c.from_ms < to_ms
    )
    with engine.connect() as connection:
        return [Minute(*row) for row in connection.execute(chosen.order_by(c.from_ms))]


def first_at(engine: Engine, number: int, from_ms: int) -> int:
    """Give the instant of a channel's first reading from an instant on.

    Raises:
        StoreError: there is none, though the caller knows of one from a rollup.
    """
    c = readings.c
    chosen = sa.select(c.at_ms).where(c.channel_id == number, c.at_ms >= from_ms)
    with engine.connect() as connection:
        found = connection.execute(chosen.order_by(c.at_ms).limit(1)).scalar()
    if found is None:
        lacks = f"channel {number} has no reading from {iso(from_ms)} on, though a rollup counts some"
        raise StoreError("store", lacks, "rollups of what is stored", "Look with `benchblotter check-store`.")
    return int(found)
