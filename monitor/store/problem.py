"""What a check of the store can find."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing that is not in order.

    Attributes:
        part: database, day-book, rollups, entities or orphans.
        where: the row, bucket or table.
        found, expected: what stands there, and what should.
        seq: the day-book row's number, where it is one.
    """

    part: str
    where: str
    found: str
    expected: str
    seq: int | None = None

    def __str__(self) -> str:
        return f"{self.part}: {self.where}: {self.found}; expected {self.expected}"
