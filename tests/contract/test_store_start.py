"""A start reads the same few rows however much is stored: every statement of it is found by a key."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from monitor.bench.readings import Reading
from monitor.store import store as store_module
from monitor.store.batch import Batch, Position, Snapshot
from monitor.store.store import Store
from monitor.store.where import FILE_NAME, connect_engine
from tests.support.drafts import note, whole_step
from tests.support.stores import NOON, RH, TEMPERATURE, TOOL, begin, segment

GROWING = ("readings", "undated_readings", "rollups", "daybook", "snapshots", "estimates", "answers")


def test_no_statement_of_a_start_walks_through_a_table_that_grows(
    migrated_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    where = tmp_path / "data"
    shutil.copytree(migrated_folder, where)
    store = begin(Store.open(where))
    state = Snapshot(Position(1, 90_000, 3, "", 0), NOON, 1, "{}")
    rows = [Reading(t * 1000, channel, 20.0) for t in range(4000) for channel in (RH, TEMPERATURE, TOOL)]
    store.write(Batch(segment(), rows, whole_step(), snapshot=state))
    store.close()
    said: list[tuple[str, Any]] = []
    made: list[sa.Engine] = []

    def listening(*arguments: Any, **more: Any) -> sa.Engine:
        engine = connect_engine(*arguments, **more)
        sa.event.listen(engine, "before_cursor_execute", lambda c, k, text, given, x, many: said.append(
            (text, given[0] if many and given else given)
        ))  # fmt: skip
        made.append(engine)
        return engine

    monkeypatch.setattr("monitor.store.opening.connect_engine", listening)
    monkeypatch.setattr(store_module, "connect_engine", listening)
    store = begin(Store.open(where))
    newest = store.newest_snapshot()
    last = store.newest_segment()
    assert newest is not None
    assert last is not None
    for _ in zip(range(5), store.inputs(newest.position, lambda row: None), strict=False):
        pass
    assert store.answer("r1") is None
    list(store.daybook(newest_first=True, limit=50))
    store.write(Batch(segment(2, 2, 0, NOON + 10**7), [Reading(1, RH, 20.0)], [note(1)], snapshot=state))
    store.close()

    assert len(said) > 40
    explained = sqlite3.connect(where / FILE_NAME)
    for text, given in said:
        if text.lstrip().upper().startswith(("PRAGMA", "BEGIN", "CREATE")):
            continue
        for *_, step in explained.execute(f"EXPLAIN QUERY PLAN {text}", given):
            walked = step.split()[1] if step.startswith("SCAN") else ""
            assert walked not in GROWING, (step, text)
            assert "TEMP B-TREE" not in step or not any(f"FROM {name}" in text for name in GROWING), (step, text)
    explained.close()
    assert {engine.dialect.name for engine in made} == {"sqlite"}


def test_rebuilding_the_open_rollups_reads_the_open_hour_alone(begun: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten hours are stored; what is read anew is the minutes of the last hour and the readings of the last minute."""
    begun.write(Batch(segment(), [Reading(t * 1000, RH, 20.0) for t in range(10 * 3600 + 30 * 60 + 15)]))
    counted: list[int] = []
    from monitor.store import rolling

    def count(name: str) -> None:
        real = getattr(rolling, name)

        def wrapped(*arguments: Any) -> Any:
            found = list(real(*arguments))
            counted.append(len(found))
            return found

        monkeypatch.setattr(rolling, name, wrapped)

    count("_raw")
    count("stored")
    begin(begun)
    assert sorted(counted) == [15, 30]
