"""A double of the store for Look back: a morning of made-up readings and its day-book."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from typing import Any, NamedTuple

from monitor.clock import Segment
from monitor.errors import StoreError
from tests.support.fake_scene import NOW_MS

START_MS = NOW_MS - 3_600_000
STEP_MS = NOW_MS - 2_400_000


class Piece(NamedTuple):
    """As the store's envelope gives them."""

    from_ms: int
    to_ms: int
    low: float | None
    high: float | None
    first: float | None
    last: float | None
    n: int
    gaps: int


class Named(NamedTuple):
    """A channel's row."""

    channel: str


LEVELS = {
    "room.air_temperature": (20.6, 0.6),
    "room.relative_humidity": (52.0, 5.0),
    "spatula.tool_temperature": (78.0, 6.0),
}


def row(seq: int, kind: str, at_ms: int | None, body: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A day-book row, as far as pages read it."""
    plain = {
        "seq": seq,
        "kind": kind,
        "at_ms": at_ms,
        "mono_ms": 0,
        "segment": 1,
        "step": None,
        "by": None,
        "bench": None,
    }
    return {**plain, "body": body, **more}


def sheet() -> dict[str, Any]:
    """A sheet with a limit on the tool."""
    level = {"at": "85", "priority": "high", "source": "project", "grade": "proposal", "locator": "", "note": ""}
    limit = {"key": "tool-hot", "role": "tool", "quantity": "tool_temperature", "side": "high", "levels": [level]}
    return {"key": "heat-seal-spatula", "limits": {"tool-hot": limit}}


ALARM = {"step": "s2", "limit": "tool-hot", "channel": "spatula.tool_temperature"}


def rows() -> list[dict[str, Any]]:
    """The morning's day-book."""
    binding = {
        "role": "tool",
        "probe": "spatula",
        "touches": "in the shank",
        "channels": ["spatula.tool_temperature"],
    }
    contact = {"side": "B", "place": 1, "pass": 1, "probe": "spatula"}
    return [
        row(1, "station_started", START_MS - 60_000, {"version": "0.1.0", "engine": 1, "sources": []}),
        row(2, "step_asked", STEP_MS, {"step": "s2", "sheet": sheet(), "painting": "23-09", "bench": "north bench",
                                       "bindings": [binding], "side": "B", "places": 16, "sandwich": None,
                                       "answers": []}, by="MK"),
        row(3, "step_started", STEP_MS, {"sheet": "heat-seal-spatula", "title": "Strip-lining", "painting": "23-09",
                                         "stage": "places", "side": "B", "places": 16}, step="s2", by="MK"),
        row(4, "contact_started", STEP_MS + 90_000, contact, step="s2", by="MK"),
        row(5, "contact_ended", STEP_MS + 104_000,
            {**contact, "ended_by": "mark", "milliseconds": 14_000, "readings": 70, "gaps": 0,
             "tool_low": "76.2", "tool_mean": "77.9", "tool_high": "79.4"}, step="s2", by="MK"),
        row(6, "alarm_raised", STEP_MS + 600_000,
            {**ALARM, "quantity": "tool_temperature", "side": "high", "at": "85", "value": "88.1", "priority": "high",
             "source": "project", "grade": "proposal", "locator": ""}, step="s2"),
        row(7, "alarm_seen", STEP_MS + 615_000, {**ALARM, "state": "acknowledged"}, step="s2", by="MK"),
        row(8, "note_written", STEP_MS + 700_000, {"text": "The telephone rang; place 2 comes again."}, by="MK"),
    ]  # fmt: skip


class FakePast:
    """Answers what Look back reads."""

    def channels(self) -> list[Named]:
        return [Named(name) for name in LEVELS]

    def segments(self) -> list[Segment]:
        return [Segment(1, 1, 0, START_MS, True)]

    def daybook(
        self, *, after_seq: int = 0, step: str | None = None, kinds: Collection[str] | None = None,
        newest_first: bool = False, limit: int | None = None,
    ) -> Iterator[dict[str, Any]]:  # fmt: skip
        wanted = [r for r in rows() if (kinds is None or r["kind"] in kinds) and r["seq"] > after_seq]
        return iter(wanted[::-1] if newest_first else wanted)

    def envelope(self, channel: str, from_ms: int, to_ms: int, points: int = 2000) -> list[Piece]:
        """Half a minute a piece; a lead was open for four minutes half-way."""
        middle, swing = LEVELS[channel]
        pieces = []
        for at in range(max(from_ms, START_MS), min(to_ms, NOW_MS), 30_000):
            minute = (at - START_MS) / 60_000
            if 30 <= minute < 34:
                pieces.append(Piece(at, at + 30_000, None, None, None, None, 0, 150))
                continue
            value = middle + swing * math.sin(minute / 9)
            pieces.append(
                Piece(at, at + 30_000, value - swing / 8, value + swing / 6, value, value + swing / 20, 150, 0)
            )
        return pieces


def missing() -> FakePast:
    """An opening that finds no store."""
    raise StoreError("store", "no file", "a store", "Run benchblotter migrate.")
