"""Bring a store to this program's version. Run it in a process of its own: it loads alembic."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config

from monitor.store.copying import back_up
from monitor.store.opening import found_schema, newer
from monitor.store.tables import KNOWN_SCHEMAS, SCHEMA
from monitor.store.where import Where, connect_engine, not_writable, require_wal, resolve


def migrate(where: str | Path) -> tuple[str | None, str]:
    """Make a new store or bring an old one up, all or nothing; give the versions before and after.

    An existing SQLite store is copied first, to `benchblotter.db.before-VERSION` beside it.
    A PostgreSQL database is not copied: dump it before.

    Raises:
        StoreError: the place cannot be written, or holds a newer version.
    """
    place = resolve(where)
    _make_folder(place)
    engine = connect_engine(place, "create")
    try:
        with engine.connect() as connection:
            if place.url is None:
                require_wal(connection, place.name)
            before = found_schema(connection)
        if before == SCHEMA:
            return before, SCHEMA
        if before is not None and before not in KNOWN_SCHEMAS:
            raise newer(place.name, before)
        if before is not None and place.url is None:
            back_up(place.file, place.file.with_name(f"{place.file.name}.before-{SCHEMA}"))
        with engine.begin() as connection:
            _upgrade(connection)
    except sa.exc.DBAPIError as error:
        raise not_writable(place.name, error) from error
    finally:
        engine.dispose()
    return before, SCHEMA


def _make_folder(place: Where) -> None:
    if place.folder is None:
        return
    try:
        place.folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise not_writable(place.name, error) from error


def _upgrade(connection: sa.Connection) -> None:
    config = Config()
    config.set_main_option("script_location", "monitor.store:migrations")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
