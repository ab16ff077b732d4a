"""The Core tables: what is written many times a second, and what is hashed.

A reading is found by channel and time; no reading stores a monotonic time, because
`at_ms = mono_ms + offset_ms` of its segment is exact. Entities are in `entities`.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from monitor.store.columns import INT, KEYED, METADATA, REAL, STRICT, TEXT

SCHEMA = "0001"
KNOWN_SCHEMAS = ("0001",)


def _need(name: str, kind: sa.types.TypeEngine[Any], *, key: bool = False) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=False, primary_key=key, autoincrement=False)


def _may(name: str, kind: sa.types.TypeEngine[Any]) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=True)


VALUE_RULE = "(value IS NULL) = (quality >= 10)"

readings = sa.Table(
    "readings",
    METADATA,
    _need("channel_id", INT, key=True),
    _need("at_ms", INT, key=True),
    _need("segment", INT, key=True),
    _may("value", REAL),
    _need("quality", INT),
    sa.CheckConstraint(VALUE_RULE, name="readings_value"),
    **KEYED,
)

undated_readings = sa.Table(
    "undated_readings",
    METADATA,
    _need("channel_id", INT, key=True),
    _need("segment", INT, key=True),
    _need("mono_ms", INT, key=True),
    _may("value", REAL),
    _need("quality", INT),
    sa.CheckConstraint(VALUE_RULE, name="undated_readings_value"),
    **KEYED,
)

rollups = sa.Table(
    "rollups",
    METADATA,
    _need("width_ms", INT, key=True),
    _need("channel_id", INT, key=True),
    _need("from_ms", INT, key=True),
    _need("n", INT),
    _need("clipped", INT),
    _need("gaps", INT),
    _may("low", REAL),
    _may("high", REAL),
    _may("first", REAL),
    _may("last", REAL),
    _need("total", REAL),
    _need("weighted", REAL),
    _need("weight_ms", INT),
    **KEYED,
)

daybook = sa.Table(
    "daybook",
    METADATA,
    _need("board", TEXT, key=True),
    _need("seq", INT, key=True),
    _need("v", INT),
    _need("id", TEXT),
    _need("kind", TEXT),
    _may("at_ms", INT),
    _need("segment", INT),
    _need("boot", INT),
    _need("mono_ms", INT),
    _may("bench", TEXT),
    _may("step", TEXT),
    _may("by", TEXT),
    _need("verified", INT),
    _need("via", TEXT),
    _need("body", TEXT),
    _need("prev", TEXT),
    _need("hash", TEXT),
    sa.Index("daybook_step", "board", "step", "seq"),
    sa.Index("daybook_kind", "board", "kind", "seq"),
    **KEYED,
)

boots = sa.Table(
    "boots",
    METADATA,
    _need("boot", INT, key=True),
    _need("board", TEXT),
    _need("boot_id", TEXT),
    _may("started_at_ms", INT),
    _need("engine", INT),
    _need("version", TEXT),
    _need("schema", TEXT),
    **KEYED,
)

clock_segments = sa.Table(
    "clock_segments",
    METADATA,
    _need("segment", INT, key=True),
    _need("board", TEXT),
    sa.Column("boot", INT, sa.ForeignKey("boots.boot"), nullable=False),
    _need("from_mono_ms", INT),
    _need("offset_ms", INT),
    _need("known", INT),
    _need("reach_mono_ms", INT),
    sa.Index("clock_segments_boot", "boot", "segment"),
    **KEYED,
)

intervals = sa.Table(
    "intervals",
    METADATA,
    _need("channel_id", INT, key=True),
    _need("boot", INT, key=True),
    _need("interval_ms", INT),
    **KEYED,
)

estimates = sa.Table(
    "estimates",
    METADATA,
    _need("board", TEXT, key=True),
    _need("step", TEXT, key=True),
    _need("side", TEXT, key=True),
    _need("place", INT, key=True),
    _need("pass_no", INT, key=True),
    _need("segment", INT, key=True),
    _need("mono_ms", INT, key=True),
    _need("depth", TEXT, key=True),
    _may("bench", TEXT),
    _may("at_ms", INT),
    _need("p05", REAL),
    _need("p50", REAL),
    _need("p95", REAL),
    _may("p_reached", REAL),
    **KEYED,
)

snapshots = sa.Table(
    "snapshots",
    METADATA,
    _need("board", TEXT, key=True),
    _need("number", INT, key=True),
    _need("boot", INT),
    _need("mono_ms", INT),
    _need("place", INT),
    _need("channel", TEXT),
    _need("seq", INT),
    _may("at_ms", INT),
    _need("engine", INT),
    _need("kept", INT),
    _need("state", TEXT),
    **STRICT,
)

answers = sa.Table(
    "answers",
    METADATA,
    _need("request_id", TEXT, key=True),
    _need("board", TEXT),
    _need("segment", INT),
    _need("mono_ms", INT),
    _may("at_ms", INT),
    _need("answer", TEXT),
    **KEYED,
)
