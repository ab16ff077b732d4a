"""The day-book a story left when it was last looked at, row by row."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from monitor.bench.events import canonical

FOLDER = Path(__file__).parents[1] / "stories" / "golden"


def lines(events: Sequence[dict[str, Any]]) -> list[str]:
    """Write a day-book, one canonical row a line."""
    return [canonical(row) for row in events]


def path(name: str) -> Path:
    """Give the file of a story."""
    return FOLDER / f"{name}.jsonl"


def kept(name: str) -> list[str]:
    """Read the lines kept of a story."""
    return path(name).read_text(encoding="utf-8").splitlines()


def keep(name: str, events: Sequence[dict[str, Any]]) -> None:
    """Keep a story's day-book from now on."""
    FOLDER.mkdir(exist_ok=True)
    path(name).write_text("\n".join(lines(events)) + "\n", encoding="utf-8")
