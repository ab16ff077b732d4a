"""Seal a day-book row: number it, chain it to the one before, hash it."""

from __future__ import annotations

import json
from typing import Any

import sqlalchemy as sa

from monitor.bench.events import ENVELOPE, GENESIS, canonical, row_hash
from monitor.bench.kinds import NEWEST, check_body
from monitor.bench.outputs import Draft
from monitor.clock import Segment
from monitor.store.tables import daybook

COLUMNS = (*ENVELOPE, "hash")


def row_id(board: str, boot: int, seq: int) -> str:
    """Give a row's id."""
    return f"{board}-{boot}-{seq}"


def seal(draft: Draft, board: str, segment: Segment, seq: int, prev: str) -> dict[str, Any]:
    """Give the sealed row.

    The body goes through its canonical form first, so that what is hashed is what will be read back.

    Raises:
        ValueError: the body does not fit its kind.
        TypeError: a float in the body.
    """
    check_body(draft.kind, draft.body, draft.v)
    row: dict[str, Any] = {
        "v": draft.v or NEWEST[draft.kind].version,
        "seq": seq,
        "id": row_id(board, segment.boot, seq),
        "kind": draft.kind,
        "at_ms": segment.at_ms(draft.mono_ms),
        "segment": segment.segment,
        "boot": segment.boot,
        "mono_ms": draft.mono_ms,
        "board": board,
        "bench": draft.bench,
        "step": draft.step,
        "by": draft.by,
        "verified": False,
        "via": draft.via,
        "body": json.loads(canonical(draft.body)),
        "prev": prev,
    }
    row["hash"] = row_hash(row)
    return row


def to_columns(row: dict[str, Any]) -> dict[str, Any]:
    """Give a sealed row as the table holds it."""
    return {**row, "verified": int(row["verified"]), "body": canonical(row["body"])}


def from_columns(row: sa.RowMapping) -> dict[str, Any]:
    """Give a stored row as it was sealed."""
    found = {name: row[name] for name in COLUMNS}
    return {**found, "verified": bool(found["verified"]), "body": json.loads(found["body"])}


def head(connection: sa.Connection, board: str) -> tuple[int, str]:
    """Give the chain's last number and hash, by primary key; (0, GENESIS) when it is empty."""
    last = sa.select(daybook.c.seq, daybook.c.hash).where(daybook.c.board == board)
    row = connection.execute(last.order_by(daybook.c.seq.desc()).limit(1)).first()
    return (0, GENESIS) if row is None else (row.seq, row.hash)
