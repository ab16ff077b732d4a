"""Digests: what a file and a stretch of the day-book were, in 64 signs each."""

from __future__ import annotations

import hashlib
from pathlib import Path

from monitor.report.record import Row


def sha256_of(path: Path) -> str:
    """Give the SHA-256 of a file's bytes in hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def last_row(rows: list[Row]) -> tuple[str, str]:
    """Give id and hash of the last day-book row; through `prev` it stands for all before it."""
    return (str(rows[-1]["id"]), str(rows[-1]["hash"])) if rows else ("", "")
