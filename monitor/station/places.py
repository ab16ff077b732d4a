"""Where a station keeps its store and its sockets, and how a new store is made."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from monitor.errors import StoreError
from monitor.link.holding import hold
from monitor.store.migrating_apart import migrate_apart
from monitor.store.store import Store
from monitor.store.where import resolve

NO_STORE = "no store there"


def default_data_dir() -> Path:
    """Give the data directory used when none is named."""
    home = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(home) / "benchblotter"


def default_runtime_dir(data_dir: Path) -> Path:
    """Give the directory of the sockets of the station that keeps `data_dir`.

    The service manager's own (RUNTIME_DIRECTORY), else one in the user's runtime directory,
    named after the data directory so that several stations do not meet.
    """
    given = os.environ.get("RUNTIME_DIRECTORY")
    if given:
        return Path(given)
    base = os.environ.get("XDG_RUNTIME_DIR") or str(Path(tempfile.gettempdir()) / f"benchblotter-{os.getuid()}")
    mark = hashlib.sha256(str(data_dir.resolve()).encode()).hexdigest()[:10]
    return Path(base) / f"benchblotter-{mark}"


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
            yield store
        finally:
            if held is not None:
                held.release()
    finally:
        store.close()
