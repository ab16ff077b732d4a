"""Envelope and stored rollups on both stores: nothing high, low or missing is left out."""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from monitor.bench.outputs import Draft
from monitor.bench.readings import Quality, Reading
from monitor.config import ProbeConfig, Studio
from monitor.store import charting
from monitor.store.batch import Batch
from monitor.store.charting import Bucket
from monitor.store.integrity import check
from monitor.store.store import Store
from tests.support.stores import BOARD, NOON, RH, TOOL, begin, segment

HOUR = 3_600_000


def scan(store: Store, channel: str, from_ms: int, to_ms: int) -> list[tuple[int, float | None]]:
    """Give every reading of a span."""
    return [(row.at_ms, row.value) for row in store.readings(channel, from_ms, to_ms)]


def hold_against(rows: list[tuple[int, float | None]], buckets: list[Bucket], from_ms: int, to_ms: int) -> None:
    """Hold an envelope against all the readings of its span."""
    instants = [at for at, _ in rows]
    for early, late in pairwise(buckets):
        assert early.to_ms <= late.from_ms
    for bucket in buckets:
        assert from_ms <= bucket.from_ms < bucket.to_ms <= to_ms
        inside = [v for _, v in rows[bisect_left(instants, bucket.from_ms) : bisect_left(instants, bucket.to_ms)]]
        values = [value for value in inside if value is not None]
        assert bucket.n == len(values)
        assert bucket.gaps == len(inside) - len(values)
        assert bucket.n + bucket.gaps > 0
        assert (bucket.low, bucket.high) == (min(values, default=None), max(values, default=None))
        assert bucket.first == (values[0] if values else None)
        assert bucket.last == (values[-1] if values else None)
    assert sum(b.n + b.gaps for b in buckets) == len(rows)


@pytest.fixture
def long_series(begun: Store) -> Store:
    """Give 40 days of a reading each 10 minutes with spikes, gaps, pauses; and ten minutes at 5 Hz at their end."""
    dice = random.Random(7)
    readings: list[Reading] = []
    for t in range(0, 40 * 24 * HOUR, 600_000):
        if dice.random() < 0.02:
            readings.append(Reading(t, RH, None, Quality.CHECKSUM))
        elif not 15 * 24 * HOUR < t < 17 * 24 * HOUR:
            spike = dice.choice([-30, 30]) if dice.random() < 0.003 else 0
            readings.append(Reading(t, RH, round(50 + 5 * dice.random() + spike, 2)))
    last = readings[-1].mono_ms
    readings += [Reading(last + t, RH, 50.0 + (t == 20_000)) for t in range(200, HOUR // 6, 200)]
    begun.write(Batch(segment(), readings))
    return begun


SPANS = (
    (0, 40 * 24 * HOUR + 2 * HOUR),
    (3 * HOUR + 12_345, 39 * 24 * HOUR + 54_321),
    (17, 24 * HOUR),
    (24 * HOUR - 1, 10 * 24 * HOUR + 1),
    (39 * 24 * HOUR, 41 * 24 * HOUR),
    (40 * 24 * HOUR - 400_000, 40 * 24 * HOUR + 60_000),
    (15 * 24 * HOUR + 2 * HOUR, 16 * 24 * HOUR),
)


def test_an_envelope_of_any_span_keeps_every_excursion_and_gap(long_series: Store) -> None:
    for begin_ms, end_ms in SPANS:
        from_ms, to_ms = NOON + begin_ms, NOON + end_ms
        buckets = long_series.envelope(RH, from_ms, to_ms)
        assert len(buckets) <= 1001
        hold_against(scan(long_series, RH, from_ms, to_ms), buckets, from_ms, to_ms)
    assert check(long_series) == []


def test_a_long_span_is_read_from_rollups(long_series: Store) -> None:
    """At most the rows of its hours, and finer ones around the edges: never all the readings."""
    rows: list[int] = []
    real = charting._raw

    def counted(connection: sa.Connection, channel: int, from_ms: int, to_ms: int) -> Iterator[Any]:
        found = list(real(connection, channel, from_ms, to_ms))
        rows.append(len(found))
        yield from found

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(charting, "_raw", counted)
        buckets = long_series.envelope(RH, NOON, NOON + 41 * 24 * HOUR)
    assert len(buckets) > 400
    assert sum(rows) <= 300  # of more than 8,000


def test_empty_spans_and_empty_channels_give_nothing(begun: Store) -> None:
    assert begun.envelope(TOOL, 0, 2 * NOON) == []
    begun.write(Batch(segment(), [Reading(1000, TOOL, 20.0)]))
    assert begun.envelope(TOOL, NOON + 1000, NOON + 1000) == []
    assert begun.envelope(TOOL, NOON + 2000, NOON + 1000) == []
    assert begun.envelope(TOOL, NOON + 1001, 2 * NOON) == []
    assert begun.envelope(TOOL, NOON, NOON + 2000, points=1) == [
        Bucket(NOON, NOON + 2000, 20.0, 20.0, 20.0, 20.0, 1, 0)
    ]


ROW = st.tuples(
    st.integers(50, 70).map(lambda n: n * 1000) | st.integers(0, 300).map(lambda n: n * 7000),
    st.sampled_from([None, 1.0, 99.0, 45.5, 45.25, -8.0]),
)


@pytest.mark.long
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    batches=st.lists(st.lists(ROW, max_size=12, unique_by=lambda row: row[0]), max_size=5),
    edges=st.tuples(st.integers(-10_000, 2_200_000), st.integers(1, 2_200_000)),
    points=st.sampled_from([2, 5, 20, 2000]),
    base=st.sampled_from(["raw", "minute"]),
)
def test_readings_in_any_order_lead_to_the_same_rollups_and_envelope(
    new_place: Callable[[], str],
    batches: list[list[tuple[int, float | None]]],
    edges: tuple[int, int],
    points: int,
    base: str,
) -> None:
    """Late readings among them: stored rollups are checked against a whole recomputation, charts against a scan."""
    store = begin(Store.open(new_place()))
    given_rows: dict[int, float | None] = {}
    try:
        for rows in batches:
            new = [(t, v) for t, v in rows if t not in given_rows]
            given_rows.update(new)
            store.write(Batch(segment(), [_reading(t, v) for t, v in new]))
        assert scan(store, RH, 0, 2 * NOON) == [(NOON + t, v) for t, v in sorted(given_rows.items())]
        assert [problem for problem in check(store) if problem.part == "rollups"] == []
        from_ms, to_ms = NOON + edges[0], NOON + edges[0] + edges[1]
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("monitor.store.charting.FEWEST_BUCKETS", 1 if base == "minute" else 10**9)
            buckets = store.envelope(RH, from_ms, to_ms, points)
        assert len(buckets) <= points // 2 + 1
        hold_against(scan(store, RH, from_ms, to_ms), buckets, from_ms, to_ms)
    finally:
        store.close()


def test_a_late_reading_shortens_the_hold_of_the_minute_before(begun: Store) -> None:
    """The reading at 59 s held for its whole 3 s, until one at 61 s turns up behind the one at 200 s."""
    for t in (0, 59_000, 200_000, 300_000, 61_000):
        begun.write(Batch(segment(), [Reading(t, RH, 50.0)]))
        assert check(begun) == []
    with begun.engine.connect() as connection:
        found = connection.exec_driver_sql(
            f"SELECT weight_ms FROM rollups WHERE width_ms = 60000 AND from_ms = {NOON}"
        ).scalar_one()
    assert found == 3000 + 2000


def test_a_failed_transaction_leaves_no_trace_in_the_open_rollups(begun: Store) -> None:
    """What it had closed in memory is closed again by what follows, and what it had counted is not."""
    begun.write(Batch(segment(), [Reading(t, RH, 50.0) for t in (1000, 2000)]))
    with pytest.raises(ValueError, match="not registered"):
        begun.write(Batch(segment(), [Reading(70_000, RH, 99.0)], [Draft("made_up", 1, {})]))
    begun.write(Batch(segment(), [Reading(80_000, RH, 51.0)]))
    begun.write(Batch(segment(), [Reading(200_000, RH, 52.0)]))
    assert check(begun) == []
    assert [(b.low, b.high) for b in begun.envelope(RH, NOON, NOON + 120_000, 2)] == [(50.0, 51.0)]


def _reading(t: int, value: float | None) -> Reading:
    return Reading(t, RH, value, Quality.GOOD if value is not None else Quality.OPEN)


def test_another_interval_holds_from_its_boot_on(begun: Store) -> None:
    """Old rollups stay as they were and can be computed again after a probe was set to another interval."""
    begun.write(Batch(segment(), [Reading(t, RH, 50.0) for t in range(0, 200_000, 10_000)]))
    slower = Studio("x", BOARD, ("easel",), (ProbeConfig("air", "easel", "sht45", "i2c-1", 30_000, 0x44),))
    begin(begun, slower)
    later = segment(2, 2, 0, NOON + 200_000)
    begun.write(Batch(later, [Reading(t, RH, 50.0) for t in range(0, 400_000, 40_000)]))
    assert check(begun) == []
    with begun.engine.connect() as connection:
        weights = connection.exec_driver_sql(
            "SELECT sum(weight_ms) FROM rollups WHERE width_ms = 60000 AND weight_ms > 20000"
        ).scalar_one()
    assert weights > 0


TAMPERED = (
    ("UPDATE readings SET value = 51.0 WHERE at_ms = {at}", "minute from 2026-05-04T12:01:00.000Z", "high = 50.0"),
    ("DELETE FROM readings WHERE at_ms = {at}", "minute from 2026-05-04T12:00:00.000Z", "weighted"),
    ("UPDATE rollups SET high = 50.5 WHERE from_ms = {at}", "minute from 2026-05-04T12:01:00.000Z", "high"),
    ("DELETE FROM rollups WHERE from_ms = {at}", "minute from 2026-05-04T12:01:00.000Z", "missing"),
    ("UPDATE rollups SET weight_ms = 1 WHERE width_ms = 3600000", "hour from 2026-05-04T12:00:00.000Z", "weight_ms"),
    ("INSERT INTO rollups SELECT width_ms, channel_id, from_ms - 1800000, n, clipped, gaps, low, high, first, last,"
     " total, weighted, weight_ms FROM rollups WHERE from_ms = {at}",
     "minute from 2026-05-04T11:31:00.000Z", "n = 60"),
    ("INSERT INTO readings VALUES (99, {at}, 1, 1.0, 0)", "1 readings of channel 99 in segment 1", "does not exist"),
    ("INSERT INTO readings VALUES (2, {at}, 7, 1.0, 0)", "1 readings of channel 2 in segment 7", "does not exist"),
    ("INSERT INTO undated_readings VALUES (2, 1, 5, 1.0, 0)", "undated readings of a segment", "1 rows"),
)  # fmt: skip


@pytest.mark.parametrize(("statement", "where", "found"), TAMPERED)
def test_what_was_changed_behind_the_stores_back_is_named(
    begun: Store, writing: sa.Engine, statement: str, where: str, found: str
) -> None:
    begun.write(Batch(segment(), [Reading(t * 1000, RH, 50.0) for t in range(3700)]))
    assert check(begun) == []
    with writing.begin() as connection:
        connection.exec_driver_sql(statement.replace("{at}", str(NOON + 60_000)))
    problems = check(begun)
    assert any(where in p.where and found in p.found for p in problems), problems


@pytest.mark.parametrize("row", ["(2, 1, 1, NULL, 0)", "(2, 1, 1, 5.0, 11)"])
def test_a_value_and_its_quality_must_agree(begun: Store, writing: sa.Engine, row: str) -> None:
    with pytest.raises(sa.exc.IntegrityError, match="readings_value"), writing.begin() as connection:
        connection.exec_driver_sql(f"INSERT INTO readings VALUES {row}")


@pytest.mark.parametrize("row", ["('two', 1, 1, 5.0, 0)", "(2, 1.5, 1, 'warm', 0)"])
def test_a_value_of_another_type_is_refused(begun: Store, writing: sa.Engine, row: str) -> None:
    with pytest.raises(sa.exc.DBAPIError), writing.begin() as connection:
        connection.exec_driver_sql(f"INSERT INTO readings VALUES {row}")
