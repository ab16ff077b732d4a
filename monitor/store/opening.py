"""What a store must be before anyone reads or writes it."""

from __future__ import annotations

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from monitor.errors import StoreError
from monitor.store.tables import KNOWN_SCHEMAS, SCHEMA
from monitor.store.where import Where, connect_engine, not_writable, require_wal


def open_engine(where: Where, *, read_only: bool) -> Engine:
    """Open a store of exactly this program's version.

    Raises:
        StoreError: nothing there, another version, not writable, no write-ahead log.
    """
    if where.url is None:
        _require_file(where)
    engine = connect_engine(where, "read" if read_only else "write")
    try:
        with engine.begin() as connection:
            require_schema(connection, where.name)
            if where.url is None:
                require_wal(connection, where.name)
                if not read_only:
                    _try_to_write(connection)
    except sa.exc.DBAPIError as error:
        engine.dispose()
        raise not_writable(where.name, error) from error
    except StoreError:
        engine.dispose()
        raise
    return engine


def _require_file(where: Where) -> None:
    try:
        there = where.file.is_file()
    except OSError as error:
        raise not_writable(where.name, error) from error
    if there:
        return
    nearest = next(path for path in where.file.absolute().parents if path.exists())
    if not nearest.is_dir():
        raise not_writable(where.name, NotADirectoryError(f"{nearest} is a file"))
    raise no_store(where.name)


def _try_to_write(connection: sa.Connection) -> None:
    """Find out now, not at the first reading: some folders let a file be opened but not written."""
    connection.exec_driver_sql("UPDATE alembic_version SET version_num = version_num")
    connection.rollback()


def found_schema(connection: sa.Connection) -> str | None:
    """Give the store's schema version, or None where there is none."""
    if not sa.inspect(connection).has_table("alembic_version"):
        return None
    found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    return None if found is None else str(found)


def require_schema(connection: sa.Connection, name: str) -> None:
    """Refuse a store of another version; nothing is changed."""
    found = found_schema(connection)
    if found is None:
        raise no_store(name)
    if found not in KNOWN_SCHEMAS:
        raise newer(name, found)
    if found != SCHEMA:
        raise StoreError(name, f"version {found}", f"version {SCHEMA}", "Run `benchblotter migrate` first.")


def no_store(name: str) -> StoreError:
    """Word a place without a store."""
    return StoreError(name, "no store there", f"a store of version {SCHEMA}", "Make one: run `benchblotter migrate`.")


def newer(name: str, found: str) -> StoreError:
    """Word a store that a newer program has changed."""
    return StoreError(
        name, f"version {found}, newer than this program", f"version {SCHEMA} or older",
        "Use the newer program, or the copy made before its migration.",
    )  # fmt: skip
