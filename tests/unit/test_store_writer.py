"""The writer's thread: batches wait, are joined, are tried again, and are never lost."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

from monitor.bench.outputs import Draft
from monitor.bench.readings import Reading
from monitor.errors import StoreError
from monitor.store.batch import Batch
from monitor.store.integrity import check
from monitor.store.migrating import migrate
from monitor.store.store import Store
from monitor.store.where import FILE_NAME
from monitor.store.writer import Writer
from tests.support.drafts import note
from tests.support.stores import NOON, RH, begin, segment

PATIENT = 3600.0  # batches of readings alone never become old in a test


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    migrate(tmp_path)
    store = begin(Store.open(tmp_path))
    yield store
    store.close()


@pytest.fixture
def writer(store: Store) -> Iterator[Writer]:
    writer = Writer(store, age_s=PATIENT, retry_s=0.001)
    yield writer
    writer.close()


def test_readings_wait_and_a_day_book_row_takes_them_along(
    store: Store, writer: Writer, monkeypatch: pytest.MonkeyPatch
) -> None:
    joined: list[int] = []
    real = store.write_all
    monkeypatch.setattr(store, "write_all", lambda batches: (joined.append(len(batches)), real(batches))[1])
    early = [writer.submit(Batch(segment(), [Reading(t, RH, 50.0)])) for t in range(5)]
    assert not any(future.done() for future in early)
    assert writer.waiting == 5
    assert writer.stored_at_ms is None
    rows = writer.submit(Batch(segment(), [Reading(9, RH, 51.0)], [note(9)])).result(10)
    assert [row["seq"] for row in rows] == [1]
    assert [future.result(0) for future in early] == [[]] * 5
    assert joined == [6]
    assert writer.stored_at_ms == NOON + 9


def test_an_old_batch_is_written_without_being_asked(store: Store) -> None:
    writer = Writer(store, age_s=0.01)
    assert writer.submit(Batch(segment(), [Reading(1, RH, 50.0)])).result(10) == []
    writer.close()


def test_at_once_and_flush_do_not_wait(store: Store, writer: Writer) -> None:
    assert writer.submit(Batch(segment(), [Reading(1, RH, 50.0)]), at_once=True).result(10) == []
    later = writer.submit(Batch(segment(), [Reading(2, RH, 50.0)]))
    assert writer.flush(10)
    assert later.done()
    assert writer.flush(0)


def test_closing_writes_what_waits_and_then_refuses(store: Store) -> None:
    writer = Writer(store, age_s=PATIENT)
    waiting = writer.submit(Batch(segment(), [Reading(1, RH, 50.0)]))
    writer.close()
    assert waiting.result(0) == []
    with pytest.raises(StoreError, match="the writer is closed"):
        writer.submit(Batch(segment()))


class Failing:
    """Lets a store's writing fail as often as told, then pass."""

    def __init__(self, store: Store, monkeypatch: pytest.MonkeyPatch, times: int) -> None:
        self.left, self.tried, self.failing = times, 0, threading.Event()
        self._real = store.write_all
        monkeypatch.setattr(store, "write_all", self)

    def __call__(self, batches: list[Batch]) -> object:
        self.tried += 1
        if self.left > 0:
            self.left -= 1
            self.failing.set()
            raise sa.exc.OperationalError("INSERT", None, sqlite3.OperationalError("database or disk is full"))
        return self._real(batches)


def test_a_full_disk_is_told_and_tried_again_with_the_same_batches(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []
    writer = Writer(store, age_s=PATIENT, retry_s=0.001, on_trouble=lambda e: told.append(str(e) if e else "well"))
    Failing(store, monkeypatch, 3)
    first = writer.submit(Batch(segment(), [Reading(1, RH, 50.0)], [note(1)]))
    second = writer.submit(Batch(segment(), [Reading(2, RH, 51.0)], [note(2)]))
    assert [row["seq"] for row in first.result(10) + second.result(10)] == [1, 2]
    writer.close()
    assert len(told) == 4
    assert all("database or disk is full" in words and "kept in memory" in words for words in told[:3])
    assert told[3] == "well"
    assert writer.trouble is None
    assert [row.value for row in store.readings(RH, 0, 2 * NOON)] == [50.0, 51.0]
    assert check(store) == []


def test_a_really_full_disk_leaves_rollups_and_chain_whole(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite itself runs out of pages in mid-transaction, is given room, and goes on where it was."""
    full, in_trouble = threading.Event(), threading.Event()
    full.set()

    def bounded(connection: sa.Connection, **_: object) -> None:
        inner = connection.connection.driver_connection
        assert isinstance(inner, sqlite3.Connection)
        used = inner.execute("PRAGMA page_count").fetchone()[0]
        inner.execute(f"PRAGMA max_page_count={used + 1 if full.is_set() else 2**30}")

    store.write(Batch(segment(), [Reading(t * 1000, RH, 50.0) for t in range(100)]))
    monkeypatch.setattr("monitor.store.store.set_sync", bounded)
    writer = Writer(store, age_s=PATIENT, retry_s=0.01, on_trouble=lambda e: in_trouble.set())
    rows = [Reading(t * 1000, RH, 50 + t / 100) for t in range(100, 5000)]
    future = writer.submit(Batch(segment(), rows, [note(5_000_000, "x" * 20_000)]))
    assert in_trouble.wait(10)
    assert "full" in str(writer.trouble)
    full.clear()
    assert future.result(10)[0]["seq"] == 1
    writer.close()
    assert len(list(store.readings(RH, 0, 2 * NOON))) == 5000
    assert check(store) == []


def test_a_really_locked_store_is_waited_for(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program holds SQLite's lock; the batch is stored as soon as it lets go."""
    in_trouble = threading.Event()
    monkeypatch.setattr("monitor.store.store.set_sync", lambda connection, full: impatient(connection))
    writer = Writer(store, age_s=PATIENT, retry_s=0.01, on_trouble=lambda e: in_trouble.set())
    other = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    future = writer.submit(Batch(segment(), [Reading(1, RH, 50.0)], [note(1)]))
    assert in_trouble.wait(10)
    assert writer.trouble is not None
    assert "locked" in str(writer.trouble)
    other.execute("ROLLBACK")
    other.close()
    assert future.result(10)[0]["seq"] == 1
    writer.close()


def impatient(connection: sa.Connection) -> None:
    """Let this connection not wait for a lock."""
    inner = connection.connection.driver_connection
    assert isinstance(inner, sqlite3.Connection)
    inner.execute("PRAGMA busy_timeout=0")


def test_only_the_batch_that_can_never_be_stored_fails(store: Store, writer: Writer) -> None:
    good = writer.submit(Batch(segment(), [Reading(1, RH, 50.0)]))
    bad = writer.submit(Batch(segment(), [Reading(1, RH, 60.0)]))
    last = writer.submit(Batch(segment(), [Reading(2, RH, 51.0)], [note(2)]))
    assert last.result(10)[0]["seq"] == 1
    assert good.result(0) == []
    with pytest.raises(StoreError, match="a second reading"):
        bad.result(0)
    wrong = writer.submit(Batch(segment(), drafts=[Draft("made_up", 1, {})]))
    with pytest.raises(StoreError, match="not registered"):
        wrong.result(10)
    assert [row.value for row in store.readings(RH, 0, 2 * NOON)] == [50.0, 51.0]


def test_too_many_waiting_batches_are_refused_and_kept_by_the_caller(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    failing = Failing(store, monkeypatch, 10**9)
    writer = Writer(store, age_s=PATIENT, retry_s=0.001, limit=3)
    writer.submit(Batch(segment(), drafts=[note(0)]))
    assert failing.failing.wait(10)
    futures = [writer.submit(Batch(segment(), [Reading(t, RH, 50.0)])) for t in range(3)]
    with pytest.raises(StoreError, match=r"3 batches wait to be written.*disk is full"):
        writer.submit(Batch(segment(), [Reading(9, RH, 50.0)]))
    failing.left = 0
    assert writer.flush(10)
    assert all(future.done() for future in futures)
    writer.close()


def test_closing_on_a_full_disk_tries_once_more_and_says_what_was_not_stored(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    failing = Failing(store, monkeypatch, 10**9)
    writer = Writer(store, age_s=PATIENT, retry_s=PATIENT)
    future = writer.submit(Batch(segment(), drafts=[note(1)]))
    assert failing.failing.wait(10)
    writer.close()
    assert failing.tried == 2
    with pytest.raises(StoreError, match="disk is full"):
        future.result(0)


def test_a_segment_is_dated_in_its_turn(store: Store, writer: Writer) -> None:
    undated = segment(known=False)
    futures = [writer.submit(Batch(undated, [Reading(t, RH, 50.0)])) for t in range(3)]
    dating = writer.date_segment(segment(), 5, by="MK", via="browser:1")
    late = writer.submit(Batch(undated, [Reading(7, RH, 50.0)]), at_once=True)
    assert dating.result(10)[0]["body"]["readings"] == 3
    assert late.result(10) == []
    assert all(future.done() for future in futures)
    assert [row.at_ms - NOON for row in store.readings(RH, 0, 2 * NOON)] == [0, 1, 2, 7]
    assert check(store) == []


def test_a_waiter_that_goes_away_does_not_take_its_batch_with_it(store: Store, writer: Writer) -> None:
    future = writer.submit(Batch(segment(), [Reading(1, RH, 50.0)]))
    assert not future.cancel()
    assert writer.flush(10)
    assert [row.value for row in store.readings(RH, 0, 2 * NOON)] == [50.0]
