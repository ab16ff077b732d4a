"""What the dashboard knows: the station's last view, kept fresh by the feed.

One `Hub` follows the feed and serves every open page. It keeps no history: the newest view,
each channel's newest reading and each depth's newest band, and when the station was last heard.
"""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections import deque
from collections.abc import AsyncIterator, Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from dashboard.warned import Key, Seen
from monitor.link.client import Heard, feed
from monitor.link.view import ChannelView, View

SILENT_AFTER_S = 2.0  # the feed's heartbeat comes every second; pages must say so within 3 s
KEPT_ROWS = 200  # a page that lags further behind is dropped and starts again with the whole view


@dataclass(frozen=True)
class Shown:
    """What a page is drawn from.

    Attributes:
        view: the station's view with the newest readings in it, or None before the first.
        answers: the station was heard within the last two seconds.
        now_ms: the studio's time, UTC ms, or None while it is not known.
        version: grows with every change.
        seen: who has seen which warning, as far as it was heard.
    """

    view: View | None
    answers: bool
    now_ms: int | None
    version: int
    seen: Mapping[Key, Seen] = field(default_factory=dict)


@dataclass(eq=False)
class Subscriber:
    """One open page: whether anything changed since it was drawn, and day-book rows in order."""

    changed: asyncio.Event = field(default_factory=asyncio.Event)
    rows: deque[dict[str, Any]] = field(default_factory=deque)
    lagging: bool = False


class Hub:
    """Follows the station's feed.

    Args:
        runtime_dir: directory of the station's sockets.
        monotonic_s: the machine's monotonic seconds; tests pass their own.
    """

    def __init__(self, runtime_dir: Path, monotonic_s: Callable[[], float] = time.monotonic) -> None:
        self._dir = runtime_dir
        self._monotonic_s = monotonic_s
        self._view: View | None = None
        self._channels: dict[str, ChannelView] = {}
        self._now_ms: int | None = None
        self._heard_s: float | None = None
        self._answers = False
        self._seen: dict[Key, Seen] = {}
        self._names: dict[str, str] = {}
        self._version = 0
        self._subscribers: set[Subscriber] = set()
        self._drawn: dict[str, tuple[int, dict[str, str]]] = {}

    def shown(self) -> Shown:
        """Give what pages are drawn from at this instant."""
        return Shown(self._view, self._answers, self._now_ms, self._version, self._seen)

    @contextlib.contextmanager
    def subscribed(self) -> Iterator[Subscriber]:
        """Give a subscriber for as long as a page is open."""
        subscriber = Subscriber()
        self._subscribers.add(subscriber)
        try:
            yield subscriber
        finally:
            self._subscribers.discard(subscriber)

    def name(self, step: str | None) -> str:
        """Give the name of the painting a step is of, "" when it is of none or was never shown."""
        return self._names.get(step or "", "")

    @property
    def open_pages(self) -> int:
        """Count the pages that listen."""
        return len(self._subscribers)

    def drawn(self, key: str, draw: Callable[[Shown], dict[str, str]]) -> dict[str, str]:
        """Draw a page's live parts, once for all who look at the same page at the same version."""
        kept = self._drawn.get(key)
        if kept is None or kept[0] != self._version:
            if len(self._drawn) > 50:
                self._drawn.clear()
            kept = self._drawn[key] = (self._version, draw(self.shown()))
        return kept[1]

    async def follow(self) -> None:
        """Listen to the station until cancelled; notices within half a second when it falls silent."""
        rows: AsyncIterator[Heard] = feed(self._dir)
        watch = asyncio.create_task(self._watch(), name="hub watches the heartbeat")
        try:
            async for row in rows:
                self.take(row)
        finally:
            watch.cancel()
            await rows.aclose()  # type: ignore[attr-defined]
            with contextlib.suppress(asyncio.CancelledError):
                await watch

    def take(self, row: Heard) -> None:
        """Take in one feed row."""
        if row["feed"] == "lost":
            self._answers = False
            self._changed()
            return
        self._heard_s = self._monotonic_s()
        self._answers = self._view is not None
        if row["feed"] == "view":
            self._take_view(row["view"])
        elif row["feed"] == "readings":
            self._take_readings(row["rows"])
        elif row["feed"] == "estimates":
            self._take_estimates(row["rows"])
        elif row["feed"] == "stored":
            self._now_ms = row["now_ms"]
        elif row["feed"] == "event":
            self._tell(row["row"])
        self._changed()

    def _take_view(self, view: View) -> None:
        newest = self._channels
        self._view = view
        self._names |= {s["id"]: s["painting"]["name"] for s in view["steps"] if s["painting"]}
        self._channels = {c["channel"]: c for probe in view["probes"] for c in probe["channels"]}
        for name, channel in self._channels.items():
            known = newest.get(name)
            if known and (known["at_ms"] or 0) > (channel["at_ms"] or 0):
                _renew(channel, known["at_ms"], known["value"], known["quality"])
        if self._now_ms is None or (view["at_ms"] or 0) > self._now_ms:
            self._now_ms = view["at_ms"]
        self._answers = True

    def _take_readings(self, rows: list[list[Any]]) -> None:
        for name, at_ms, value, quality in rows:
            if channel := self._channels.get(name):
                _renew(channel, at_ms, value, quality)

    def _take_estimates(self, rows: list[list[Any]]) -> None:
        steps = self._view["steps"] if self._view else []
        bands = {(step["id"], band["depth"]): band for step in steps for band in step["estimates"]}
        for step, depth, p05, p50, p95, at_ms in rows:
            if band := bands.get((step, depth)):
                band["p05"], band["p50"], band["p95"], band["at_ms"] = p05, p50, p95, at_ms

    def _tell(self, row: dict[str, Any]) -> None:
        if row["kind"] in ("alarm_seen", "alarm_raised"):
            key = (row["body"]["step"], row["body"]["limit"], row["body"]["channel"])
            self._seen.pop(key, None)
            if row["kind"] == "alarm_seen":
                self._seen[key] = Seen(row["by"], row["at_ms"])
        for subscriber in self._subscribers:
            if len(subscriber.rows) >= KEPT_ROWS:
                subscriber.lagging = True
            else:
                subscriber.rows.append(row)

    def _changed(self) -> None:
        self._version += 1
        for subscriber in self._subscribers:
            subscriber.changed.set()

    async def _watch(self) -> None:
        while True:
            await asyncio.sleep(0.25)
            self.notice_silence()

    def notice_silence(self) -> None:
        """Say that the station does not answer once nothing has been heard for two seconds."""
        silent = self._heard_s is None or self._monotonic_s() - self._heard_s > SILENT_AFTER_S
        if self._answers and silent:
            self._answers = False
            self._changed()


def _renew(channel: ChannelView, at_ms: int | None, value: float | None, quality: str) -> None:
    channel["at_ms"], channel["value"], channel["quality"] = at_ms, value, quality
