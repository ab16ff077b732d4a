"""Reads the reference rows in tests/reference."""

from __future__ import annotations

import csv
from pathlib import Path

FOLDER = Path(__file__).parent.parent / "reference"


def rows(name: str) -> list[dict[str, str]]:
    """Give the rows of `tests/reference/NAME.csv`."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
