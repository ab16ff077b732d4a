"""The first form of the store, complete: tables, triggers, nothing of it provisional."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# name -> columns as "name type [key] [null]"
TABLES: dict[str, str] = {
    "benches": ("board text key, bench text key"),
    "instruments": ("board text key, instrument text key, bench text null, kind text, serial text"),
    "instrument_figures": (
        "board text key, instrument text key, quantity text key, figure text key, bench text null, value "
        "real, unit text, source text, grade text, locator text"
    ),
    "probes": (
        "board text key, probe text key, bench text null, part text, bus text, address int, thermocouple "
        "text, instrument text, source text"
    ),
    "channels": (
        "channel_id int key, board text, channel text, bench text null, probe text, quantity text, unit text, "
        "interval_ms int, source text"
    ),
    "paintings": (
        "board text key, number text key, bench text null, name text, support text, beware text, seq int, "
        "handed_back_seq int null, handed_back_segment int null, handed_back_mono_ms int null, "
        "handed_back_at_ms int null"
    ),
    "steps": (
        "board text key, step text key, bench text null, seq int, sheet text, title text, painting text null, "
        "stage text, side text null, places int null, started_by text null, segment int, started_mono_ms int, "
        "started_at_ms int null, finished_seq int null, finished_segment int null, finished_mono_ms int null, "
        "finished_at_ms int null"
    ),
    "bindings": (
        "board text key, seq int key, bench text null, step text, role text, probe text, touches text, "
        "channels text, segment int, from_mono_ms int, from_at_ms int null, to_segment int null, to_mono_ms "
        "int null, to_at_ms int null"
    ),
    "contacts": (
        "board text key, seq int key, bench text null, step text, side text, place int, pass_no int, probe "
        "text, segment int, start_mono_ms int, start_at_ms int null, end_segment int null, end_mono_ms int "
        "null, end_at_ms int null, ended_by text null, milliseconds int null, readings int null, gaps int "
        "null, tool_low text null, tool_mean text null, tool_high text null, verdict text null, reason text "
        "null, voided text null"
    ),
    "attachments": (
        "board text key, sha256 text key, bench text null, step text null, name text, media_type text, size "
        "int, seq int"
    ),
    "readings": ("channel_id int key, at_ms int key, segment int key, value real null, quality int"),
    "undated_readings": ("channel_id int key, segment int key, mono_ms int key, value real null, quality int"),
    "rollups": (
        "width_ms int key, channel_id int key, from_ms int key, n int, clipped int, gaps int, low real null, "
        "high real null, first real null, last real null, total real, weighted real, weight_ms int"
    ),
    "daybook": (
        "board text key, seq int key, v int, id text, kind text, at_ms int null, segment int, boot int, "
        "mono_ms int, bench text null, step text null, by text null, verified int, via text, body text, prev "
        "text, hash text"
    ),
    "boots": (
        "boot int key, board text, boot_id text, started_at_ms int null, engine int, version text, schema text"
    ),
    "clock_segments": (
        "segment int key, board text, boot int, from_mono_ms int, offset_ms int, known int, reach_mono_ms int"
    ),
    "intervals": ("channel_id int key, boot int key, interval_ms int"),
    "estimates": (
        "board text key, step text key, side text key, place int key, pass_no int key, segment int key, "
        "mono_ms int key, depth text key, bench text null, at_ms int null, p05 real, p50 real, p95 real, "
        "p_reached real null"
    ),
    "snapshots": (
        "board text key, number int key, boot int, mono_ms int, place int, channel text, seq int, at_ms int "
        "null, engine int, kept int, state text"
    ),
    "answers": ("request_id text key, board text, segment int, mono_ms int, at_ms int null, answer text"),
}

VALUE_RULE = "(value IS NULL) = (quality >= 10)"
RULES: dict[str, list[Any]] = {
    "readings": [sa.CheckConstraint(VALUE_RULE, name="readings_value")],
    "undated_readings": [sa.CheckConstraint(VALUE_RULE, name="undated_readings_value")],
    "clock_segments": [sa.ForeignKeyConstraint(["boot"], ["boots.boot"])],
    "channels": [sa.UniqueConstraint("board", "channel", name="channels_name")],
}
WITH_ROWID = {"channels", "snapshots"}

INDEXES = (
    ("daybook_step", "daybook", ["board", "step", "seq"]),
    ("daybook_kind", "daybook", ["board", "kind", "seq"]),
    ("clock_segments_boot", "clock_segments", ["boot", "segment"]),
    ("bindings_step", "bindings", ["board", "step", "seq"]),
    ("contacts_step", "contacts", ["board", "step", "seq"]),
)

TYPES: dict[str, Any] = {
    "int": sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
    "real": sa.Double().with_variant(sa.REAL(), "sqlite"),
    "text": sa.Text(),
}


def _columns(spec: str, *, numbered: bool) -> Iterator[sa.Column[Any]]:
    for column in spec.split(", "):
        name, kind, *marks = column.split(" ")
        key = "key" in marks
        yield sa.Column(name, TYPES[kind], primary_key=key, nullable="null" in marks, autoincrement=key and numbered)


# A row once sealed stays. INSERT is checked as well, because SQLite's INSERT OR REPLACE
# deletes without firing a DELETE trigger.
SQLITE_TRIGGERS = (
    "CREATE TRIGGER daybook_no_update BEFORE UPDATE ON daybook"
    " BEGIN SELECT RAISE(ABORT, 'day-book rows are never changed'); END",
    "CREATE TRIGGER daybook_no_delete BEFORE DELETE ON daybook"
    " BEGIN SELECT RAISE(ABORT, 'day-book rows are never deleted'); END",
    "CREATE TRIGGER daybook_in_order BEFORE INSERT ON daybook"
    " WHEN NEW.seq <> 1 + COALESCE((SELECT max(seq) FROM daybook WHERE board = NEW.board), 0)"
    " BEGIN SELECT RAISE(ABORT, 'day-book rows follow one another'); END",
)

POSTGRES_TRIGGERS = (
    "CREATE FUNCTION daybook_refuse() RETURNS trigger LANGUAGE plpgsql AS $$"
    " BEGIN RAISE EXCEPTION 'day-book rows are never changed or deleted (%)', TG_OP; END $$",
    "CREATE TRIGGER daybook_no_change BEFORE UPDATE OR DELETE ON daybook"
    " FOR EACH ROW EXECUTE FUNCTION daybook_refuse()",
    "CREATE TRIGGER daybook_no_truncate BEFORE TRUNCATE ON daybook"
    " FOR EACH STATEMENT EXECUTE FUNCTION daybook_refuse()",
    "CREATE FUNCTION daybook_order() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
    " IF NEW.seq <> 1 + COALESCE((SELECT max(seq) FROM daybook WHERE board = NEW.board), 0) THEN"
    " RAISE EXCEPTION 'day-book rows follow one another'; END IF; RETURN NEW; END $$",
    "CREATE TRIGGER daybook_in_order BEFORE INSERT ON daybook FOR EACH ROW EXECUTE FUNCTION daybook_order()",
)


def upgrade() -> None:
    """Make every table, index and trigger."""
    for name, spec in TABLES.items():
        op.create_table(
            name,
            *_columns(spec, numbered=name == "channels"),
            *RULES.get(name, []),
            sqlite_strict=True,
            sqlite_with_rowid=name in WITH_ROWID,
        )
    for index, table, columns in INDEXES:
        op.create_index(index, table, columns)
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    for statement in SQLITE_TRIGGERS if on_sqlite else POSTGRES_TRIGGERS:
        op.execute(sa.text(statement))


def downgrade() -> None:
    """Refuse: a store is taken back by its copy, never by dropping what was recorded."""
    raise NotImplementedError("restore the copy made before the migration")
