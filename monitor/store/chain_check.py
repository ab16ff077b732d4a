"""Recompute the day-book's chain row by row; names the first row that does not follow."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.bench.events import GENESIS, canonical, row_hash
from monitor.bench.kinds import check_body
from monitor.store.columns import METADATA
from monitor.store.problem import Problem
from monitor.store.sealing import row_id
from monitor.store.tables import clock_segments, daybook, snapshots

PAGE = 500
SEALED_ENTITIES = ("paintings", "steps", "bindings", "contacts", "attachments")


def check_chains(engine: Engine) -> Iterator[Problem]:
    """Give the first bad row of each board's chain, and rows missing at its end."""
    with engine.connect() as connection:
        boards = connection.execute(sa.select(daybook.c.board).distinct()).scalars().all()
        named = connection.execute(sa.select(snapshots.c.board).distinct()).scalars().all()
        offsets = dict(
            (row.segment, row.offset_ms) for row in connection.execute(sa.select(clock_segments)) if row.known
        )
    for board in sorted({*boards, *named}):
        bad = _first_bad(engine, board, offsets)
        if bad is not None:
            yield bad
        else:
            yield from _tail(engine, board)


def _first_bad(engine: Engine, board: str, offsets: dict[int, int]) -> Problem | None:
    seq, prev = 0, GENESIS
    for row in _raw_rows(engine, board):
        if row["seq"] != seq + 1:
            return _bad(seq + 1, f"missing, row {row['seq']} follows row {seq}", f"row {seq + 1}")
        seq = row["seq"]
        bad = _content(row) or _link(row, prev) or _time(row, offsets)
        if bad is not None:
            return bad
        prev = row["hash"]
    return None


def _raw_rows(engine: Engine, board: str) -> Iterator[dict[str, Any]]:
    last = -1
    while True:
        chosen = sa.select(daybook).where(daybook.c.board == board, daybook.c.seq > last)
        with engine.connect() as connection:
            rows = connection.execute(chosen.order_by(daybook.c.seq).limit(PAGE)).mappings().all()
        for row in rows:
            yield dict(row)
        if len(rows) < PAGE:
            return
        last = rows[-1]["seq"]


def _content(row: dict[str, Any]) -> Problem | None:
    seq = row["seq"]
    try:
        body = json.loads(row["body"])
    except ValueError:
        return _bad(seq, "its body is no JSON", "canonical JSON")
    try:
        if canonical(body) != row["body"]:
            return _bad(seq, "its body is not canonical", "sorted keys, no spaces")
        row["body"], row["verified"] = body, bool(row["verified"])
        computed = row_hash(row)
    except TypeError as error:
        return _bad(seq, str(error), "a decimal string")
    if computed != row["hash"]:
        return _bad(seq, f"its content gives hash {computed[:12]}", f"the stored {row['hash'][:12]}")
    return None


def _link(row: dict[str, Any], prev: str) -> Problem | None:
    seq = row["seq"]
    if row["prev"] != prev:
        return _bad(seq, f"it follows {row['prev'][:12]}", f"the hash of row {seq - 1}, {prev[:12]}")
    if row["id"] != row_id(row["board"], row["boot"], seq):
        return _bad(seq, f"id {row['id']}", row_id(row["board"], row["boot"], seq))
    try:
        check_body(row["kind"], row["body"], row["v"])
    except ValueError as error:
        return _bad(seq, str(error), "a body of a registered kind")
    return None


def _time(row: dict[str, Any], offsets: dict[int, int]) -> Problem | None:
    if row["at_ms"] is None:
        return None
    offset = offsets.get(row["segment"])
    if offset is not None and row["at_ms"] == row["mono_ms"] + offset:
        return None
    told = "no known time" if offset is None else f"offset {offset} ms"
    return _bad(row["seq"], f"at {row['at_ms']} ms, but segment {row['segment']} has {told}", "both to agree")


def _bad(seq: int, found: str, expected: str) -> Problem:
    return Problem("day-book", f"row {seq}", found, expected, seq)


def _tail(engine: Engine, board: str) -> Iterator[Problem]:
    """Find rows cut off at the end by what else refers to them: a chain alone cannot show that."""
    with engine.connect() as connection:
        last = connection.execute(sa.select(sa.func.max(daybook.c.seq)).where(daybook.c.board == board)).scalar() or 0
        for name in ("snapshots", *SEALED_ENTITIES):
            table = METADATA.tables[name]
            chosen = sa.select(sa.func.max(table.c.seq)).where(table.c.board == board)
            known = connection.execute(chosen).scalar() or 0
            if known > last:
                yield _bad(last + 1, f"missing, {name} refer to row {known}", f"rows up to {known}")
                return
