"""Make the entities anew from the day-book and compare; find rows that belong to nothing."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.clock import Segment
from monitor.store.columns import METADATA
from monitor.store.dating import date_entities
from monitor.store.problem import Problem
from monitor.store.projection import effects
from monitor.store.reading import iter_daybook
from monitor.store.tables import daybook

PROJECTED = ("paintings", "steps", "bindings", "contacts")

# what, the rows that are wrong
ORPHANS = (
    ("undated readings of a segment whose time is known or that does not exist",
     "SELECT count(*) FROM undated_readings u WHERE NOT EXISTS"
     " (SELECT 1 FROM clock_segments s WHERE s.segment = u.segment AND s.known = 0)"),
    ("undated readings without channel",
     "SELECT count(*) FROM undated_readings WHERE channel_id NOT IN (SELECT channel_id FROM channels)"),
    ("day-book rows without clock segment",
     "SELECT count(*) FROM daybook d WHERE NOT EXISTS"
     " (SELECT 1 FROM clock_segments s WHERE s.segment = d.segment AND s.boot = d.boot)"),
    ("estimates without step",
     "SELECT count(*) FROM estimates e WHERE NOT EXISTS"
     " (SELECT 1 FROM steps s WHERE s.board = e.board AND s.step = e.step)"),
    ("bindings without step",
     "SELECT count(*) FROM bindings b WHERE NOT EXISTS"
     " (SELECT 1 FROM steps s WHERE s.board = b.board AND s.step = b.step)"),
    ("contacts without step",
     "SELECT count(*) FROM contacts c WHERE NOT EXISTS"
     " (SELECT 1 FROM steps s WHERE s.board = c.board AND s.step = c.step)"),
    ("clock segments without boot",
     "SELECT count(*) FROM clock_segments WHERE boot NOT IN (SELECT boot FROM boots)"),
    ("intervals without channel",
     "SELECT count(*) FROM intervals WHERE channel_id NOT IN (SELECT channel_id FROM channels)"),
    ("rollups without channel",
     "SELECT count(*) FROM rollups WHERE channel_id NOT IN (SELECT channel_id FROM channels)"),
    ("channels without probe",
     "SELECT count(*) FROM channels c WHERE NOT EXISTS"
     " (SELECT 1 FROM probes p WHERE p.board = c.board AND p.probe = c.probe)"),
    ("probes without instrument",
     "SELECT count(*) FROM probes p WHERE NOT EXISTS"
     " (SELECT 1 FROM instruments i WHERE i.board = p.board AND i.instrument = p.instrument)"),
)  # fmt: skip


def check_orphans(engine: Engine) -> Iterator[Problem]:
    """Give rows that refer to what is not there."""
    with engine.connect() as connection:
        for words, statement in ORPHANS:
            count = connection.exec_driver_sql(statement).scalar_one()
            if count:
                yield Problem("orphans", words, f"{count} rows", "none")


def check_entities(engine: Engine) -> Iterator[Problem]:
    """Give the first row of each projected table that the day-book does not lead to."""
    anew = sa.create_engine("sqlite://", poolclass=sa.StaticPool)
    try:
        METADATA.create_all(anew)
        with anew.begin() as connection:
            _project(engine, connection)
        with anew.connect() as made, engine.connect() as kept:
            for name in PROJECTED:
                yield from _compare(METADATA.tables[name], made, kept)
    finally:
        anew.dispose()


def _project(engine: Engine, connection: sa.Connection) -> None:
    with engine.connect() as source:
        boards = source.execute(sa.select(daybook.c.board).distinct()).scalars().all()
    for board in boards:
        for row in iter_daybook(engine, board):
            for effect in effects(row):
                connection.execute(effect)
            if row["kind"] == "clock_known":
                body = row["body"]
                date_entities(connection, Segment(body["segment"], row["boot"], 0, body["offset_ms"], known=True))


def _compare(table: sa.Table, made: sa.Connection, kept: sa.Connection) -> Iterator[Problem]:
    chosen = sa.select(table).order_by(table.c.board, table.c.seq)
    for new, old in zip_longest(made.execute(chosen).mappings(), kept.execute(chosen).mappings()):
        if new is not None and old is not None:
            changed = next((name for name in new if new[name] != old[name]), None)
            if changed is None:
                continue
            where = f"{table.name} of day-book row {old['seq']}"
            yield Problem("entities", where, f"{changed} = {old[changed]!r}", f"{new[changed]!r} by the day-book")
        elif old is not None:
            yield Problem("entities", table.name, f"a row of day-book row {old['seq']}", "none by the day-book")
        elif new is not None:
            yield Problem("entities", table.name, f"no row of day-book row {new['seq']}", "one by the day-book")
        return
