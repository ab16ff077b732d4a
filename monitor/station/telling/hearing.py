"""The desk's audience: lamp and sounder first, then whoever listens to the feed."""

from __future__ import annotations

from typing import Any

from monitor.station.feed import Feed
from monitor.station.telling.telling import Telling


class Hearing:
    """Hands on what the desk tells."""

    def __init__(self, telling: Telling, feed: Feed) -> None:
        self._telling = telling
        self._feed = feed

    def readings(self, rows: list[list[Any]]) -> None:
        """Hear readings."""
        self._feed.readings(rows)

    def estimates(self, rows: list[list[Any]]) -> None:
        """Hear estimates."""
        self._feed.estimates(rows)

    def signal(self, name: str, body: dict[str, Any]) -> None:
        """Hear a signal."""
        self._telling.signal(name, body)
        self._feed.signal(name, body)

    def changed(self, *, at_once: bool) -> None:
        """Hear that the view has changed."""
        if at_once:
            self._telling.changed()
        self._feed.changed(at_once=at_once)
