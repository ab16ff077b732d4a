"""What is told: a sentence that names painting and place, what to do, and how much it matters."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from monitor.bench.sheets import PRIORITIES
from monitor.clock import iso
from monitor.errors import BlotterError

PASSED, DUE, OVER, TEST = "limit passed", "due", "over", "test"
KINDS = (PASSED, DUE, OVER, TEST)


class NotTold(BlotterError):
    """A way did not tell what it was given."""

    @property
    def reason(self) -> str:
        """Say what was found and what to do, to stand in a sentence; without a full stop at its end."""
        return f"{self.found}. {self.do}".rstrip(". ")


@dataclass(frozen=True)
class Message:
    """Something to be told.

    Attributes:
        kind: one of `KINDS`.
        priority: low, medium or high.
        sentence: names the painting and the place.
        what_to_do: what it asks for, or "".
        at_ms: the instant it speaks of, UTC ms; None while the time is not known.
        bench, board: where.
        warning: step, limit and channel of the warning it is about, joined by "/"; "" for none.
        many: it stands for many warnings that came together.
    """

    kind: str
    priority: str
    sentence: str
    what_to_do: str
    at_ms: int | None
    bench: str
    board: str
    warning: str = ""
    many: bool = False

    def as_json(self) -> dict[str, Any]:
        """Give the message as a plain JSON object; `at` is ISO 8601 or null."""
        return {
            "kind": self.kind,
            "priority": self.priority,
            "sentence": self.sentence,
            "what_to_do": self.what_to_do,
            "at": None if self.at_ms is None else iso(self.at_ms),
            "bench": self.bench,
            "board": self.board,
            "warning": self.warning,
        }

    def over(self, sentence: str, at_ms: int | None) -> Message:
        """Give the message that what this one told of is over."""
        return replace(self, kind=OVER, sentence=sentence, what_to_do="", at_ms=at_ms)


def matters(priority: str, least: str) -> bool:
    """Tell whether a priority is at least another; one that is not known always matters."""
    return priority not in PRIORITIES or PRIORITIES.index(priority) >= PRIORITIES.index(least)
