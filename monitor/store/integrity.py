"""Is the store in order? Database, triggers, chain, entities, rollups, and nothing that belongs to nothing."""

from __future__ import annotations

from collections.abc import Iterator

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.store.chain_check import check_chains
from monitor.store.columns import METADATA
from monitor.store.entity_check import check_entities, check_orphans
from monitor.store.problem import Problem
from monitor.store.queries import Queries
from monitor.store.rollup_check import check_reach, check_rollups

TRIGGERS = {
    "sqlite": {"daybook_no_update", "daybook_no_delete", "daybook_in_order"},
    "postgresql": {"daybook_no_change", "daybook_no_truncate", "daybook_in_order"},
}


def check(store: Queries, *, quick: bool = False) -> list[Problem]:
    """Check everything; `quick` leaves out what reads every reading.

    Returns:
        What is not in order; empty when all is.
    """
    engine = store.engine
    damaged = list(_database(engine, quick=quick))
    if damaged:
        return damaged
    problems = [*_triggers(engine), *check_chains(engine)]
    if not any(problem.part == "day-book" for problem in problems):
        problems += check_entities(engine)
    problems += check_orphans(engine)
    if not quick:
        problems += [*check_reach(engine), *check_rollups(engine)]
    return problems


def counts(store: Queries) -> dict[str, int]:
    """Count the rows of every table, for the report of a check."""
    with store.engine.connect() as connection:
        return {
            table.name: connection.execute(sa.select(sa.func.count()).select_from(table)).scalar_one()
            for table in METADATA.sorted_tables
        }


def _database(engine: Engine, *, quick: bool) -> Iterator[Problem]:
    """Let SQLite check its file. PostgreSQL has no such statement; its pages carry their own checksums."""
    if engine.dialect.name != "sqlite":
        return
    try:
        with engine.connect() as connection:
            words = connection.exec_driver_sql("PRAGMA quick_check" if quick else "PRAGMA integrity_check")
            for (word,) in words:
                if word != "ok":
                    yield Problem("database", "file", str(word), "ok")
    except sa.exc.DatabaseError as error:
        yield Problem("database", "file", str(error.orig), "a readable database")


def _triggers(engine: Engine) -> Iterator[Problem]:
    name = engine.dialect.name
    statement = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'daybook'"
        if name == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE tgrelid = 'daybook'::regclass AND tgenabled <> 'D'"
    )
    with engine.connect() as connection:
        found = set(connection.exec_driver_sql(statement).scalars())
    for missing in sorted(TRIGGERS[name] - found):
        yield Problem("database", f"trigger {missing}", "missing", "rows of the day-book to be guarded by it")
