"""The day-book's contract: sealed rows, a chain, and no way to change or remove one."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
import sqlalchemy as sa

from monitor.bench.kinds import KINDS
from monitor.errors import StoreError
from monitor.store.batch import Batch, Position, Snapshot
from monitor.store.integrity import check
from monitor.store.store import Store
from tests.support.drafts import STEP, note, whole_step
from tests.support.golden_rows import draft_of, golden
from tests.support.stores import NOON, segment


def test_rows_are_sealed_as_they_always_were(begun: Store) -> None:
    rows: list[dict[str, Any]] = []
    for row in golden():
        rows += begun.write(Batch(segment(), drafts=[draft_of(row)]))
    assert rows == golden()
    assert list(begun.daybook()) == golden()


def test_golden_rows_hash_by_the_published_rule() -> None:
    prev = "0" * 64
    for row in golden():
        assert row["prev"] == prev
        left = {key: value for key, value in row.items() if key != "hash"}
        text = json.dumps(left, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert hashlib.sha256(text.encode("utf-8")).hexdigest() == row["hash"]
        prev = row["hash"]


def test_golden_rows_show_every_version_of_every_kind() -> None:
    assert {(row["kind"], row["v"]) for row in golden()} == set(KINDS)


def test_a_stored_row_is_the_sealed_row_and_the_chain_goes_on_after_a_restart(begun: Store) -> None:
    first = begun.write(Batch(segment(), drafts=whole_step()))
    begun.begin_boot("hub", "second", NOON, 1, "0.1.0")
    second = begun.write(Batch(segment(2, 2, 5000), drafts=[note(6000)]))
    assert list(begun.daybook()) == first + second
    assert second[0]["prev"] == first[-1]["hash"]
    assert second[0]["id"] == f"hub-2-{len(first) + 1}"
    assert check(begun) == []


def test_rows_are_found_by_number_step_kind_and_from_the_end(begun: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("monitor.store.reading.DAYBOOK_PAGE", 3)
    rows = begun.write(Batch(segment(), drafts=[note(1), *whole_step(), note(99_000)]))
    assert list(begun.daybook(after_seq=4)) == rows[4:]
    assert list(begun.daybook(step=STEP)) == [row for row in rows if row["step"] == STEP]
    assert list(begun.daybook(kinds=["note_written", "place_judged"], newest_first=True)) == [
        row for row in reversed(rows) if row["kind"] in ("note_written", "place_judged")
    ]
    assert list(begun.daybook(newest_first=True, limit=5)) == rows[:-6:-1]
    assert list(begun.daybook(limit=0)) == []


CHANGES = (
    "UPDATE daybook SET body = '{}' WHERE seq = 2",
    "UPDATE daybook SET verified = 1",
    "UPDATE daybook SET seq = seq + 100",
    "DELETE FROM daybook WHERE seq = 3",
    "DELETE FROM daybook",
    "INSERT INTO daybook SELECT board, seq + 5, v, id, kind, at_ms, segment, boot, mono_ms, bench, step, {by},"
    " verified, via, body, prev, hash FROM daybook WHERE seq = 3",
    "INSERT INTO daybook SELECT board, 0, v, id, kind, at_ms, segment, boot, mono_ms, bench, step, {by},"
    " verified, via, body, prev, hash FROM daybook WHERE seq = 3",
)
SQLITE_CHANGES = (
    "REPLACE INTO daybook SELECT board, seq, v, id, kind, at_ms, segment, boot, mono_ms, bench, step, {by},"
    " verified, via, '{{}}', prev, hash FROM daybook WHERE seq = 2",
    "UPDATE OR REPLACE daybook SET seq = 3 WHERE seq = 2",
    "INSERT INTO daybook SELECT * FROM daybook WHERE seq = 2 ON CONFLICT DO UPDATE SET body = '{{}}'",
)
POSTGRES_CHANGES = (
    "TRUNCATE daybook",
    "TRUNCATE daybook CASCADE",
    "INSERT INTO daybook SELECT * FROM daybook WHERE seq = 2 ON CONFLICT (board, seq) DO UPDATE SET body = '{{}}'",
    "MERGE INTO daybook d USING daybook o ON d.seq = o.seq WHEN MATCHED THEN UPDATE SET body = '{{}}'",
)


def test_no_statement_changes_or_removes_a_row(begun: Store, writing: sa.Engine) -> None:
    rows = begun.write(Batch(segment(), drafts=whole_step()))
    own = SQLITE_CHANGES if writing.dialect.name == "sqlite" else POSTGRES_CHANGES
    for statement in CHANGES + own:
        words = statement.replace("{by}", '"by"').replace("{{}}", "{}")
        refused = pytest.raises(sa.exc.DBAPIError, match=r"day-book rows (are never|follow one another)")
        with refused, writing.begin() as connection:
            connection.exec_driver_sql(words)
        assert list(begun.daybook()) == rows, statement
    assert check(begun) == []


TAMPERING = {
    "a body": ("UPDATE daybook SET body = replace(body, 'reached', 'perfect') WHERE seq = 7", 7, "gives hash"),
    "a person": ("UPDATE daybook SET {by} = 'XX' WHERE seq = 2", 2, "gives hash"),
    "a time": ("UPDATE daybook SET at_ms = at_ms + 1 WHERE seq = 5", 5, "gives hash"),
    "a hash": ("UPDATE daybook SET hash = prev WHERE seq = 4", 4, "gives hash"),
    "a link": ("UPDATE daybook SET prev = hash WHERE seq = 6", 6, "gives hash"),
    "a row less": ("DELETE FROM daybook WHERE seq = 6", 6, "missing, row 7 follows row 5"),
    "the first row": ("DELETE FROM daybook WHERE seq = 1", 1, "missing, row 2 follows row 0"),
    "the last rows": ("DELETE FROM daybook WHERE seq > 12", 13, "missing, snapshots refer to row 14"),
    "no JSON": ("UPDATE daybook SET body = 'gone' WHERE seq = 3", 3, "no JSON"),
    "spaces": ("UPDATE daybook SET body = replace(body, ':', ': ') WHERE seq = 9", 9, "not canonical"),
    "the clock": ("UPDATE clock_segments SET offset_ms = offset_ms + 60000", 1, "has offset"),
    "a float": ("UPDATE daybook SET body = replace(body, '20000', '2.5') WHERE seq = 6", 6, "a float"),
}  # fmt: skip


@pytest.mark.parametrize("statement", TAMPERING)
def test_the_first_bad_row_is_named(begun: Store, writing: sa.Engine, statement: str) -> None:
    state = Snapshot(Position(1, 90_000, 3, "", 0), NOON, 1, "{}")
    begun.write(Batch(segment(), drafts=whole_step(), snapshot=state))
    words, seq, found = TAMPERING[statement]
    unguarded(writing, words.replace("{by}", '"by"'))
    problems = [problem for problem in check(begun) if problem.part == "day-book"]
    assert [(problem.seq, found in problem.found) for problem in problems] == [(seq, True)], problems


def test_a_row_forged_with_its_hash_breaks_the_next(begun: Store, writing: sa.Engine) -> None:
    rows = begun.write(Batch(segment(), drafts=whole_step()))
    forged = {**rows[3], "by": "XX"}
    left = {key: value for key, value in forged.items() if key != "hash"}
    text = json.dumps(left, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    digest = hashlib.sha256(text.encode()).hexdigest()
    unguarded(writing, f"UPDATE daybook SET \"by\" = 'XX', hash = '{digest}' WHERE seq = 4")
    assert [(p.seq, p.found[:10]) for p in check(begun)] == [(5, "it follows")]


def test_a_missing_guard_is_noticed(begun: Store, writing: sa.Engine) -> None:
    begun.write(Batch(segment(), drafts=[note(1)]))
    unguarded(writing, "SELECT 1", put_back=False)
    assert {problem.where for problem in check(begun)} == {
        f"trigger {name}"
        for name in (
            ("daybook_no_update", "daybook_no_delete", "daybook_in_order")
            if writing.dialect.name == "sqlite"
            else ("daybook_no_change", "daybook_no_truncate", "daybook_in_order")
        )
    }


ENTITY_CHANGES = (
    ("UPDATE contacts SET milliseconds = 99000 WHERE place = 1", "contacts of day-book row 5"),
    ("UPDATE contacts SET verdict = 'reached' WHERE seq = 10", "contacts of day-book row 10"),
    ("DELETE FROM contacts WHERE seq = 10", "contacts"),
    ("UPDATE steps SET finished_seq = NULL", "steps of day-book row 2"),
    ("UPDATE paintings SET name = 'Another'", "paintings of day-book row 1"),
    ("DELETE FROM bindings", "bindings"),
)


@pytest.mark.parametrize(("statement", "where"), ENTITY_CHANGES)
def test_an_entity_that_does_not_follow_from_the_rows_is_named(
    begun: Store, writing: sa.Engine, statement: str, where: str
) -> None:
    begun.write(Batch(segment(), drafts=whole_step()))
    with writing.begin() as connection:
        connection.exec_driver_sql(statement)
    assert [problem.where for problem in check(begun)] == [where]


def test_a_second_board_has_a_chain_of_its_own(begun: Store) -> None:
    first = begun.write(Batch(segment(), drafts=[note(1), note(2)]))
    begun.begin_boot("far board", "x", NOON, 1, "0.1.0")
    other = begun.write(Batch(segment(2, 2, 10), drafts=[note(11)]))
    assert [(row["board"], row["seq"]) for row in first + other] == [("hub", 1), ("hub", 2), ("far board", 1)]
    assert other[0]["prev"] == "0" * 64
    assert list(begun.daybook()) == other
    assert check(begun) == []


def test_an_unknown_segment_cannot_be_dated(begun: Store) -> None:
    with pytest.raises(StoreError, match="clock segment 9: not stored"):
        begun.date_segment(segment(9), 5)


def unguarded(engine: sa.Engine, statement: str, *, put_back: bool = True) -> None:
    """Run a statement as someone would who first puts the guards aside."""
    with engine.begin() as connection:
        if engine.dialect.name == "sqlite":
            found = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").all()
            before, after = [f"DROP TRIGGER {name}" for name, _ in found], [sql for _, sql in found]
        else:
            before = ["ALTER TABLE daybook DISABLE TRIGGER USER"]
            after = ["ALTER TABLE daybook ENABLE TRIGGER USER"]
        for words in [*before, statement, *(after if put_back else [])]:
            connection.exec_driver_sql(words)
