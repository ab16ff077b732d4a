"""A record recomputes to the letter, and whoever changes one thing in it is told where.

The forger here is able: he drops the triggers, and after changing a row he seals the whole
day-book anew, so that the chain holds. Only folding everything again can find him out.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from monitor.bench.events import GENESIS, canonical, row_hash
from monitor.station.uses import run_story
from monitor.store.checking import Checked, check_all
from monitor.store.sealing import COLUMNS, from_columns
from monitor.store.store import Store
from monitor.stories.script import read_story

STORY = Path(__file__).parent / "short" / "short.toml"
Rows = list[dict[str, Any]]
Forgery = Callable[[sqlite3.Connection, Rows], Rows]


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("record") / "data"
    run_story(read_story(STORY), folder)
    return folder


def checked(folder: Path) -> Checked:
    store = Store.open(folder, read_only=True)
    try:
        return check_all(store, again=True)
    finally:
        store.close()


def forge(record: Path, folder: Path, forgery: Forgery) -> Path:
    """Copy the record, let the forger at it, and seal the day-book anew."""
    shutil.copytree(record, folder)
    base = sqlite3.connect(folder / "benchblotter.db")
    base.row_factory = sqlite3.Row
    for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        base.execute(f"DROP TRIGGER {name}")
    rows = forgery(base, [from_columns(dict(r)) for r in base.execute("SELECT * FROM daybook ORDER BY seq")])
    base.execute("DELETE FROM daybook")
    prev = GENESIS
    for seq, row in enumerate(rows, start=1):
        row.update(seq=seq, id=f"{row['board']}-{row['boot']}-{seq}", prev=prev)
        prev = row["hash"] = row_hash(row)
        held = {**row, "verified": int(row["verified"]), "body": canonical(row["body"])}
        marks = ", ".join("?" for _ in COLUMNS)
        names = ", ".join(f'"{c}"' for c in COLUMNS)
        base.execute(f"INSERT INTO daybook ({names}) VALUES ({marks})", [held[c] for c in COLUMNS])
    base.commit()
    base.close()
    return folder


def change(kind: str, nth: int = 0, /, **fields: Any) -> Forgery:
    """Change the body, or with `mono_ms` the instant, of the nth row of a kind."""

    def forgery(base: sqlite3.Connection, rows: Rows) -> Rows:
        row = [r for r in rows if r["kind"] == kind][nth]
        for name, value in fields.items():
            if name == "mono_ms":
                row["at_ms"] += value - row["mono_ms"]
                row["mono_ms"] = value
            else:
                assert row["body"][name] != value
                row["body"][name] = value
        return rows

    return forgery


def outside_body(kind: str, nth: int, name: str, value: Any) -> Forgery:
    """Change a field of the envelope of the nth row of a kind."""

    def forgery(base: sqlite3.Connection, rows: Rows) -> Rows:
        [r for r in rows if r["kind"] == kind][nth][name] = value
        return rows

    return forgery


def drop(kind: str) -> Forgery:
    return lambda base, rows: [r for r in rows if r is not next(x for x in rows if x["kind"] == kind)]


def add_seen(base: sqlite3.Connection, rows: Rows) -> Rows:
    at = next(i for i, r in enumerate(rows) if r["kind"] == "alarm_raised")
    seen = {**rows[at], "kind": "alarm_seen", "by": "TR", "via": "command"}
    seen["body"] = {**{k: rows[at]["body"][k] for k in ("step", "limit", "channel")}, "state": "acknowledged"}
    return [*rows[: at + 1], seen, *rows[at + 1 :]]


def sql(statement: str) -> Forgery:
    def forgery(base: sqlite3.Connection, rows: Rows) -> Rows:
        assert base.execute(statement).rowcount == 1
        return rows

    return forgery


def soften(base: sqlite3.Connection, rows: Rows) -> Rows:
    """Set the limit of the tool that went cold lower, after the fact."""
    row = [r for r in rows if r["kind"] == "step_asked"][1]
    row["body"]["sheet"]["limits"]["tool-too-cold"]["levels"][0]["at"] = "20"
    return rows


TOOL = "(SELECT channel_id FROM channels WHERE channel = 'spatula.tool_temperature')"
AT = "1777885200000"
FORGERIES: dict[str, tuple[Forgery, str]] = {
    "a verdict made better": (change("place_judged", 0, verdict="reached", reason="held"), "row 19 (place_judged)"),
    "a contact made longer": (change("contact_ended", 0, milliseconds=20_000), "row 18 (contact_ended)"),
    "a warning raised later": (change("alarm_raised", mono_ms=140_000), "row 29 (alarm_raised)"),
    "a warning never raised": (drop("alarm_raised"), "row 29 (mark_asked): kind is 'mark_asked', the fold gives 'alarm_raised'"),  # noqa: E501
    "a fault never told": (drop("probe_fault"), "row 22 (probe_restored)"),
    "a warning seen at once": (add_seen, "row 30 (alarm_seen)"),
    "a mark moved": (change("mark_asked", 1, age_ms=0), "row 18 (contact_ended)"),
    "a limit softened": (soften, "row 29 (alarm_raised): kind is 'alarm_raised', the fold gives 'mark_asked'"),
    "a reading made warmer": (
        sql(f"UPDATE readings SET value = 90 WHERE channel_id = {TOOL} AND at_ms = {AT} + 55000"),
        "row 18 (contact_ended): tool_high",
    ),
    "a gap filled": (
        sql(f"UPDATE readings SET value = 75, quality = 0 WHERE channel_id = {TOOL} AND at_ms = {AT} + 75000"),
        "row 22 (probe_fault)",
    ),
    "a reading taken away": (
        sql(f"DELETE FROM readings WHERE channel_id = {TOOL} AND at_ms = {AT} + 55000"),
        "row 18 (contact_ended): readings",
    ),
    "an estimate made better": (
        sql("UPDATE estimates SET p50 = 70 WHERE mono_ms = 60000 AND depth = 'bond_line'"),
        "place 1, pass 1, bond_line at 60000 ms",
    ),
    "a verdict signed": (outside_body("place_judged", 0, "verified", True), "(place_judged): verified is True"),
    "a row dated otherwise": (outside_body("place_judged", 0, "at_ms", 1777885000000), "(place_judged): at_ms is"),
    "an estimate dated otherwise": (
        sql("UPDATE estimates SET at_ms = at_ms + 60000 WHERE mono_ms = 60000 AND depth = 'face'"),
        "place 1: at_ms is",
    ),
    "an estimate taken away": (
        sql("DELETE FROM estimates WHERE mono_ms = 60000 AND depth = 'face'"),
        "place 1, pass 1, face at 60000 ms: stored None",
    ),
}  # fmt: skip


def test_an_untouched_record_agrees_on_every_event_and_estimate(record: Path) -> None:
    found = checked(record)
    assert found.in_order, found.lines()
    assert found.again is not None
    assert found.again.events >= 40
    assert found.again.estimates >= 700


def test_a_resealed_copy_without_a_change_still_agrees(record: Path, tmp_path: Path) -> None:
    found = checked(forge(record, tmp_path / "copy", lambda base, rows: rows))
    assert found.again is not None
    assert not found.again.differences


@pytest.mark.parametrize("name", FORGERIES)
def test_the_first_event_that_differs_is_named(record: Path, tmp_path: Path, name: str) -> None:
    forgery, says = FORGERIES[name]
    found = checked(forge(record, tmp_path / "forged", forgery))
    assert found.again is not None
    assert says in found.again.differences[0], json.dumps(found.again.differences, indent=1)
    assert not found.in_order
