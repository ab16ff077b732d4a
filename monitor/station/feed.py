"""The station's live feed: what is told at once, and the view, conflated."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from typing import Any

from monitor.link.messages import FeedRow
from monitor.link.view import View

VIEW_MS = 200  # a view at most five times a second while things happen
CALM_VIEW_MS = 1000  # and once a second while only figures move


def real_ms() -> int:
    """Give real monotonic time, whatever clock the studio has; paces views."""
    return time.monotonic_ns() // 1_000_000


class Feed:
    """Tells listeners of the link. It is the desk's audience.

    Args:
        publish: hands a row to every listener; never waits.
        view: builds the view.
        listening: tells whether anyone listens.
        now_ms: real time, ms.
    """

    def __init__(
        self,
        publish: Callable[[FeedRow], None],
        view: Callable[[], View],
        listening: Callable[[], bool],
        now_ms: Callable[[], int],
    ) -> None:
        self._publish = publish
        self._view = view
        self._listening = listening
        self._now_ms = now_ms
        self._shown_at: int | None = None
        self._later: asyncio.TimerHandle | None = None

    def readings(self, rows: list[list[Any]]) -> None:
        """Tell readings that are not yet stored."""
        self._publish({"feed": "readings", "stored": False, "rows": rows})

    def estimates(self, rows: list[list[Any]]) -> None:
        """Tell estimates of a running contact."""
        self._publish({"feed": "estimates", "rows": rows})

    def signal(self, name: str, body: dict[str, Any]) -> None:
        """Tell a signal."""
        self._publish({"feed": "signal", "name": name, "body": body})

    def events(self, rows: list[dict[str, Any]]) -> None:
        """Tell day-book rows, after their commit."""
        for row in rows:
            self._publish({"feed": "event", "row": row})

    def stored(self, at_ms: int | None, now_ms: int | None) -> None:
        """Tell up to when everything is stored; also the heartbeat."""
        self._publish({"feed": "stored", "at_ms": at_ms, "now_ms": now_ms})

    def changed(self, *, at_once: bool) -> None:
        """Note a change: show it now, or as soon as the last view is old enough."""
        if not self._listening():
            return
        passed = self._now_ms() - self._shown_at if self._shown_at is not None else CALM_VIEW_MS
        if passed >= (VIEW_MS if at_once else CALM_VIEW_MS):
            self._show()
        elif at_once and self._later is None:
            self._later = asyncio.get_running_loop().call_later((VIEW_MS - passed) / 1000, self._show)

    def close(self) -> None:
        """Forget a view that was still to be shown."""
        if self._later is not None:
            self._later.cancel()
            self._later = None

    def _show(self) -> None:
        self.close()
        self._shown_at = self._now_ms()
        self._publish({"feed": "view", "view": self._view()})
