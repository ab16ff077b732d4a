"""What was stored: read-only access for Look back, opened when first asked."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Protocol

from monitor.clock import Segment
from monitor.link.view import LevelView

if TYPE_CHECKING:
    from collections.abc import Sequence

Row = dict[str, Any]


class Bucket(Protocol):
    """A stretch of one channel: its extremes, first and last value, counts of readings and gaps."""

    from_ms: int
    to_ms: int
    low: float | None
    high: float | None
    first: float | None
    last: float | None
    n: int
    gaps: int


class Readable(Protocol):
    """What Look back reads of the store."""

    def envelope(self, channel: str, from_ms: int, to_ms: int, points: int = 2000) -> Sequence[Any]:
        """Give the buckets of a channel over a period."""
        ...

    def daybook(
        self, *, after_seq: int = 0, step: str | None = None, kinds: list[str] | None = None,
        newest_first: bool = False, limit: int | None = None,
    ) -> Iterator[Row]:  # fmt: skip
        """Give day-book rows."""
        ...

    def channels(self) -> Sequence[Any]:
        """Give the channels ever declared; each has a `channel`."""
        ...

    def segments(self) -> Sequence[Segment]:
        """Give the clock segments."""
        ...


class Past:
    """Opens the store at the first reading and keeps it; safe to use from several threads.

    Args:
        opening: opens the store read-only; StoreError when it is missing or of another version.
    """

    def __init__(self, opening: Callable[[], Readable]) -> None:
        self._opening = opening
        self._store: Readable | None = None
        self._turn = threading.Lock()

    def store(self) -> Readable:
        """Give the store, opened now if it was not yet."""
        with self._turn:
            if self._store is None:
                self._store = self._opening()
            return self._store

    def close(self) -> None:
        """Close what was opened."""
        with self._turn:
            close = getattr(self._store, "close", None)
            if close is not None:
                close()
            self._store = None


@dataclass(frozen=True)
class PastStep:
    """A step as the day-book has it: when, on what, and the limits that were in force.

    `to_ms` is None while it runs.
    """

    step: str
    title: str
    painting: str | None
    from_ms: int
    to_ms: int | None
    limits: tuple[PastLimit, ...]


@dataclass(frozen=True)
class PastLimit:
    """One level of a limit that was in force on a channel during a step.

    `place` is sheet, limit and index of the level; `level` its origin as recorded.
    """

    channel: str
    quantity: str
    side: str
    at: float
    place: tuple[str, str, int]
    level: LevelView


def instant(row: Row, segments: dict[int, Segment]) -> int | None:
    """Give a row's UTC ms, through its segment when it was written before the time was known."""
    if row["at_ms"] is not None:
        return int(row["at_ms"])
    segment = segments.get(row["segment"])
    return segment.at_ms(row["mono_ms"]) if segment else None


def steps(store: Readable) -> list[PastStep]:
    """Give every dated step, oldest first."""
    segments = {s.segment: s for s in store.segments()}
    asked: dict[str, Row] = {}
    started: dict[str, tuple[int, dict[str, Any]]] = {}
    ended: dict[str, int] = {}
    for row in store.daybook(kinds=["step_asked", "step_started", "step_finished"]):
        at_ms = instant(row, segments)
        if row["kind"] == "step_asked":
            asked[row["body"]["step"]] = row
        elif at_ms is not None and row["kind"] == "step_started":
            started[row["step"]] = (at_ms, row["body"])
        elif at_ms is not None:
            ended[row["step"]] = at_ms
    return [
        PastStep(step, body["title"], body["painting"], at_ms, ended.get(step), _limits(asked.get(step)))
        for step, (at_ms, body) in started.items()
    ]


def _limits(asked: Row | None) -> tuple[PastLimit, ...]:
    if asked is None:
        return ()
    body, sheet = asked["body"], asked["body"]["sheet"]["key"]
    by_role = {binding["role"]: binding["channels"] for binding in body["bindings"]}
    found = []
    for limit in body["sheet"]["limits"].values():
        for channel in by_role.get(limit["role"], []):
            if channel.rpartition(".")[2] == limit["quantity"]:
                found += [_level(channel, sheet, limit, index) for index in range(len(limit["levels"]))]
    return tuple(found)


def _level(channel: str, sheet: str, limit: dict[str, Any], index: int) -> PastLimit:
    told = limit["levels"][index]
    level: LevelView = {
        "at": float(told["at"]), "priority": told["priority"], "source": told["source"], "locator": told["locator"],
        "grade": told["grade"], "note": told["note"],
    }  # fmt: skip
    return PastLimit(channel, limit["quantity"], limit["side"], level["at"], (sheet, limit["key"], index), level)


@dataclass(frozen=True)
class Pass:
    """One pass of a tool over a place, UTC ms; `to_ms` is None while the tool is down."""

    step: str
    probe: str
    place: int
    pass_no: int
    from_ms: int
    to_ms: int | None


def passes(store: Readable) -> list[Pass]:
    """Give every dated pass that was not taken back, oldest first."""
    segments = {s.segment: s for s in store.segments()}
    found: dict[tuple[str, str, int, int], Pass] = {}
    for row in store.daybook(kinds=["contact_started", "contact_ended", "contact_voided"]):
        body, at_ms = row["body"], instant(row, segments)
        key = (row["step"] or "", body["side"], body["place"], body["pass"])
        known = found.pop(key, None)
        if at_ms is None or row["kind"] == "contact_voided":
            continue
        if row["kind"] == "contact_started":
            found[key] = Pass(key[0], body["probe"], body["place"], body["pass"], at_ms, None)
        elif known is not None:
            found[key] = replace(known, to_ms=at_ms)
    return list(found.values())


def names(store: Readable) -> dict[str, str]:
    """Give the name of each step's painting, by step."""
    called: dict[str, str] = {}
    of_step: dict[str, str] = {}
    for row in store.daybook(kinds=["painting_added", "step_started"]):
        if row["kind"] == "painting_added":
            called[row["body"]["number"]] = row["body"]["name"]
        elif row["body"]["painting"] is not None:
            of_step[row["step"]] = called.get(row["body"]["painting"], row["body"]["painting"])
    return of_step


def rows_between(
    store: Readable, from_ms: int, to_ms: int, kinds: list[str], most: int, step: str | None = None
) -> list[tuple[int, Row]]:
    """Give the newest `most` rows of a period with their instants, oldest first; of one step if it is named."""
    segments = {s.segment: s for s in store.segments()}
    found: list[tuple[int, Row]] = []
    for row in store.daybook(step=step, kinds=kinds, newest_first=True):
        at_ms = instant(row, segments)
        if at_ms is None or at_ms > to_ms:
            continue
        if at_ms < from_ms or len(found) >= most:
            break
        found.append((at_ms, row))
    return found[::-1]
