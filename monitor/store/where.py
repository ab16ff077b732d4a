"""Where a store is, and connections to it: SQLite in a data directory, or PostgreSQL."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal
from urllib.parse import quote

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.engine import Engine

from monitor.errors import StoreError

FILE_NAME = "benchblotter.db"
OLDEST_SQLITE = (3, 37, 0)
BUSY_MS = 5000

Mode = Literal["read", "write", "create"]


@dataclass(frozen=True)
class Where:
    """A store's place: `url` for PostgreSQL, else `folder` holding the SQLite file."""

    url: str | None
    folder: Path | None

    @property
    def file(self) -> Path:
        """Give the SQLite file's path."""
        assert self.folder is not None
        return self.folder / FILE_NAME

    @property
    def name(self) -> str:
        """Name the place in messages, a password left out."""
        if self.url is not None:
            return sa.make_url(self.url).render_as_string(hide_password=True)
        return str(self.file)


def resolve(where: str | Path) -> Where:
    """Read a data directory's path or a `postgresql://` address."""
    text = str(where)
    if text.startswith(("postgresql://", "postgres://")):
        return Where("postgresql://" + text.split("://", 1)[1], None)
    if "://" in text:
        raise StoreError(
            "store", text.split("://", 1)[0] + "://", "a folder or a postgresql:// address", "Correct the place."
        )
    return Where(None, Path(text))


def connect_engine(where: Where, mode: Mode) -> Engine:
    """Make an engine; nothing is opened yet.

    Raises:
        StoreError: SQLite too old, or psycopg not installed.
    """
    return _sqlite(where, mode) if where.url is None else _postgres(where.url, mode)


def _sqlite(where: Where, mode: Mode) -> Engine:
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise StoreError("SQLite", sqlite3.sqlite_version, "3.37 or newer", "Install a newer SQLite library.")
    letters = {"read": "ro", "write": "rw", "create": "rwc"}[mode]
    address = f"file:{quote(str(where.file.absolute()))}?mode={letters}"

    def opened() -> sqlite3.Connection:
        connection = sqlite3.connect(
            address, uri=True, check_same_thread=False, isolation_level=None, timeout=BUSY_MS / 1000
        )
        try:
            _pragmas(connection, mode)
        except BaseException:
            connection.close()
            raise
        return connection

    engine = sa.create_engine("sqlite://", creator=opened, poolclass=sa.QueuePool, pool_size=4, max_overflow=-1)
    begin = "BEGIN" if mode == "read" else "BEGIN IMMEDIATE"

    @event.listens_for(engine, "begin")
    def _begin(connection: sa.Connection) -> None:
        inner = connection.connection.driver_connection
        assert isinstance(inner, sqlite3.Connection)
        try:
            inner.execute(begin)
        except sqlite3.OperationalError as error:
            raise sa.exc.OperationalError(begin, None, error) from error

    return engine


def _pragmas(connection: sqlite3.Connection, mode: Mode) -> None:
    if mode == "create":
        connection.execute("PRAGMA journal_mode=WAL")
    for name, value in (("synchronous", "NORMAL"), ("foreign_keys", "ON"), ("busy_timeout", BUSY_MS),
                        ("wal_autocheckpoint", 1000), ("temp_store", "MEMORY")):  # fmt: skip
        connection.execute(f"PRAGMA {name}={value}")
    if mode == "read":
        connection.execute("PRAGMA query_only=ON")


def _postgres(url: str, mode: Mode) -> Engine:
    args: dict[str, Any] = {"application_name": "benchblotter"}
    if mode == "read":
        args["options"] = "-c default_transaction_read_only=on"
    level: Any = "REPEATABLE READ" if mode == "read" else "READ COMMITTED"
    try:
        return sa.create_engine(
            sa.make_url(url).set(drivername="postgresql+psycopg"),
            connect_args=args, isolation_level=level, pool_size=4, max_overflow=-1, pool_pre_ping=True,
        )  # fmt: skip
    except ModuleNotFoundError as error:
        raise StoreError(
            "PostgreSQL store", "psycopg is not installed", "the extra `postgresql`",
            "Install it: pip install 'benchblotter[postgresql]'.",
        ) from error  # fmt: skip


def require_wal(connection: sqlite3.Connection | sa.Connection, name: str) -> None:
    """Refuse a SQLite store that cannot keep a write-ahead log (some network folders cannot)."""
    statement = "PRAGMA journal_mode"
    answer = (
        connection.execute(statement)
        if isinstance(connection, sqlite3.Connection)
        else connection.exec_driver_sql(statement)
    )
    row = answer.fetchone()
    found = str(row[0]) if row is not None else "nothing"
    if found != "wal":
        raise StoreError(
            name, f"journal mode {found!r}", "a write-ahead log ('wal')",
            "Put the data directory on a local disk, not a network folder.",
        )  # fmt: skip


def not_writable(name: str, error: BaseException) -> StoreError:
    """Word a place that cannot be written."""
    found = str(getattr(error, "orig", None) or error).strip().splitlines()[0]
    if "malformed" in found or "not a database" in found:
        return StoreError(
            name, f"damaged ({found})", "a whole database",
            "Keep the file as it is, and go on with the copy made before the last migration or with a backup.",
        )  # fmt: skip
    return StoreError(
        name, f"cannot be opened or written ({found})", "a folder or database this user may write",
        "Choose another place with --data, or give this user the right to write there.",
    )  # fmt: skip
