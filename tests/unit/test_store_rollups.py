"""Rollups against a slow computation that shares no code with them."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from monitor.store.rollups import HOUR_MS, MINUTE_MS, OpenRollup, Rollup

Row = tuple[int, float | None, int, int]  # at_ms, value, quality, stale_ms


@st.composite
def series(draw: st.DrawFn) -> list[Row]:
    """Draw readings in order of time, with gaps, clipped ones, pauses and changing intervals."""
    at, rows = draw(st.integers(-5 * HOUR_MS, 5 * HOUR_MS)), []
    for _ in range(draw(st.integers(0, 60))):
        at += draw(st.sampled_from([1, 200, 1000, 10_000, 59_999, 60_000, 61_000, 600_000, HOUR_MS, 3 * HOUR_MS]))
        quality = draw(st.sampled_from([0, 0, 0, 0, 1, 10, 13]))
        value = None if quality >= 10 else draw(st.integers(-4000, 12_000)) / 128
        rows.append((at, value, quality, draw(st.sampled_from([600, 30_000, 90_000_000]))))
    return rows


def slow(rows: list[Row], width: int) -> dict[int, dict[str, Any]]:
    """Work out every bucket but the newest reading's, each by itself and exactly."""
    made: dict[int, dict[str, Any]] = {}
    for start in {math.floor(at / width) * width for at, *_ in rows}:
        inside = [(i, row) for i, row in enumerate(rows) if start <= row[0] < start + width]
        seen = [row[1] for _, row in inside if row[1] is not None]
        good = [(i, row) for i, row in inside if row[2] == 0]
        holds = [
            (Fraction(row[1] or 0), min(rows[i + 1][0] - row[0], row[3])) for i, row in good if i + 1 < len(rows)
        ]
        made[start] = {
            "n": len(good),
            "clipped": sum(1 for _, row in inside if row[2] == 1),
            "gaps": sum(1 for _, row in inside if row[2] >= 10),
            "low": min(seen, default=None),
            "high": max(seen, default=None),
            "first": seen[0] if seen else None,
            "last": seen[-1] if seen else None,
            "total": sum((Fraction(row[1] or 0) for _, row in good), Fraction(0)),
            "weighted": sum((value * hold for value, hold in holds), Fraction(0)),
            "weight_ms": sum(hold for _, hold in holds),
        }
    return made


def rolled(rows: list[Row]) -> tuple[OpenRollup, list[Rollup]]:
    """Give what the running computation closes."""
    opened, closed = OpenRollup(), list[Rollup]()
    for row in rows:
        opened.add(*row, closed)
    return opened, closed


@given(series())
def test_rollups_equal_a_slow_independent_computation(rows: list[Row]) -> None:
    opened, closed = rolled(rows)
    for width in (MINUTE_MS, HOUR_MS):
        wanted = slow(rows, width)
        found = {rollup.from_ms: rollup for rollup in closed if rollup.width_ms == width}
        still_open = {math.floor(rows[-1][0] / width) * width} if rows else set()
        assert set(found) == set(wanted) - still_open
        assert list(found) == sorted(found)
        for start, rollup in found.items():
            for name, value in wanted[start].items():
                # values are whole 128ths and sums stay far below 2^53 of them, so floats are exact here
                assert getattr(rollup, name) == value, (start, name)
    if rows:
        assert opened.minute is not None
        assert opened.minute.from_ms == math.floor(rows[-1][0] / MINUTE_MS) * MINUTE_MS


def test_a_gap_ends_the_time_weight_and_a_clipped_value_is_in_no_mean() -> None:
    rows: list[Row] = [
        (0, 20.0, 0, 3000), (1000, None, 12, 3000), (2000, 22.0, 0, 3000), (3000, 100.0, 1, 3000),
        (4000, 24.0, 0, 3000), (59_000, 26.0, 0, 3000), (61_000, 30.0, 0, 3000),
    ]  # fmt: skip
    _, (minute,) = rolled(rows)
    assert (minute.n, minute.clipped, minute.gaps) == (4, 1, 1)
    assert (minute.low, minute.high, minute.first, minute.last) == (20.0, 100.0, 20.0, 26.0)
    assert minute.total / minute.n == 23.0
    # 20 holds 1 s until the gap, 22 holds 1 s until the clipped one, 24 is stale after 3 s, 26 holds 2 s
    assert minute.weight_ms == 1000 + 1000 + 3000 + 2000
    assert minute.weighted == 20e3 + 22e3 + 3 * 24e3 + 2 * 26e3
