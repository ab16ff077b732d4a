"""What waits to be sent to one listener of the feed: bounded, so that no listener can hold the station up."""

from __future__ import annotations

import asyncio
from collections import deque

from monitor.link.messages import FeedReadings, FeedRow

MOST_QUEUED = 1000  # events and signals a listener may lag behind before it is dropped


class Outbox:
    """Rows for one listener. Events and signals queue; readings, estimates and views are the newest only."""

    def __init__(self) -> None:
        self._queue: deque[FeedRow] = deque()
        self._readings: dict[tuple[bool, str], list[object]] = {}
        self._estimates: dict[tuple[str, str], list[object]] = {}
        self._newest: dict[str, FeedRow] = {}
        self._filled = asyncio.Event()

    def put(self, row: FeedRow) -> bool:
        """Add a row; False tells that the listener is too far behind and must go."""
        if row["feed"] == "readings":
            self._readings.update({(row["stored"], str(r[0])): r for r in row["rows"]})
        elif row["feed"] == "estimates":
            self._estimates.update({(str(r[0]), str(r[1])): r for r in row["rows"]})
        elif row["feed"] in ("view", "stored"):
            self._newest[row["feed"]] = row
        else:
            self._queue.append(row)
        self._filled.set()
        return len(self._queue) <= MOST_QUEUED

    async def take(self) -> list[FeedRow]:
        """Wait until there is something and take all of it."""
        await self._filled.wait()
        self._filled.clear()
        rows: list[FeedRow] = list(self._queue)
        rows += [reading for stored in (False, True) if (reading := self._readings_of(stored))["rows"]]
        if self._estimates:
            rows.append({"feed": "estimates", "rows": list(self._estimates.values())})
        rows += list(self._newest.values())
        for held in (self._queue, self._readings, self._estimates, self._newest):
            held.clear()
        return rows

    def _readings_of(self, stored: bool) -> FeedReadings:
        rows = [row for (was_stored, _), row in self._readings.items() if was_stored is stored]
        return {"feed": "readings", "stored": stored, "rows": rows}
