"""Copy a SQLite store while it is in use."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from monitor.errors import StoreError


def back_up(source: Path, target: Path) -> None:
    """Copy a SQLite store while it may be in use; the copy appears whole or not at all.

    Raises:
        StoreError: the copy cannot be written.
    """
    part = target.with_name(target.name + ".part")
    try:
        part.unlink(missing_ok=True)
        old, new = sqlite3.connect(source), sqlite3.connect(part)
        try:
            old.backup(new)
        finally:
            old.close()
            new.close()
        part.replace(target)
    except (OSError, sqlite3.Error) as error:
        raise StoreError(
            str(target), f"the copy could not be written ({error})", "room and the right to write",
            "Make room; nothing was changed.",
        ) from error  # fmt: skip
