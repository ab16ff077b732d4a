"""Everything a store can be held against, in one answer."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from monitor.store.integrity import check, counts
from monitor.store.recompute import Recomputed, recompute
from monitor.store.store import Store


@dataclass
class Checked:
    """What was found. `counts` holds rows by table; `problems` one sentence each."""

    counts: dict[str, int]
    problems: list[str] = field(default_factory=list)
    again: Recomputed | None = None

    @property
    def in_order(self) -> bool:
        """Tell whether nothing is amiss."""
        return not self.problems and not (self.again and self.again.differences)

    def as_json(self) -> dict[str, Any]:
        """Give the stable form of `check-store --json`."""
        body: dict[str, Any] = {"in_order": self.in_order, "counts": self.counts, "problems": self.problems}
        return body if self.again is None else {**body, "recomputed": vars(self.again)}

    def lines(self) -> list[str]:
        """Say it in lines."""
        said = [", ".join(f"{count} {name}" for name, count in self.counts.items()), *self.problems]
        if self.again is not None:
            said.append(
                f"recomputed: {self.again.events} events and {self.again.estimates} estimates in "
                f"{self.again.spans} stretches, {self.again.not_comparable} not comparable"
            )
            said += self.again.differences
        return [*said, "in order" if self.in_order else "not in order"]


def check_all(store: Store, *, again: bool, from_ms: int | None = None) -> Checked:
    """Check the database itself, the day-book's chain and the rollups; with `again`, fold everything anew."""
    problems = [str(problem) for problem in check(store)]
    return Checked(counts(store), problems, recompute(store, from_ms) if again else None)
