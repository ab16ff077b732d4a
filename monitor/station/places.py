"""The store of the one station that writes it; an empty place gets a new one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from monitor.errors import StoreError
from monitor.link.holding import hold
from monitor.store.migrating_apart import migrate_apart
from monitor.store.store import Store
from monitor.store.where import resolve

NO_STORE = "no store there"


@contextmanager
def opened_store(where: str | Path) -> Iterator[Store]:
    """Open a store for the one station that writes it; an empty place gets a new one.

    Raises:
        StoreError: another version, not writable; LinkError: another station writes there.
    """
    try:
        store = Store.open(where)
    except StoreError as error:
        if error.found != NO_STORE:
            raise
        migrate_apart(where)
        store = Store.open(where)
    folder = resolve(where).folder
    try:
        held = hold(folder, "data directory") if folder is not None else None
        try:
            with store.alone():
                yield store
        finally:
            if held is not None:
                held.release()
    finally:
        store.close()
