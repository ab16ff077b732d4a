"""Whether a way to be told works: a failure is written once, and once that it is over."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from monitor.ways import WayConfig

NOT_TRIED, WORKS, FAILS = "not tried", "works", "does not work"
ROW_EVERY_MS = 600_000  # a way that comes and goes is written of no oftener

Noting = Callable[[str, dict[str, Any]], None]


class Health:
    """How one way fares.

    Args:
        config: the way.
        note: takes a day-book row to be written, kind and body; never waits.
        now_ms: monotonic time, ms.

    Attributes:
        state: one of `NOT_TRIED`, `WORKS`, `FAILS`.
        reason: why it does not work, "" otherwise.
        given_up: messages given up since it last worked.
    """

    def __init__(self, config: WayConfig, note: Noting, now_ms: Callable[[], int]) -> None:
        self.state = NOT_TRIED
        self.reason = ""
        self.given_up = 0
        self._config = config
        self._note = note
        self._now_ms = now_ms
        self._written = False
        self._written_ms: int | None = None

    def worked(self) -> None:
        """Note that it has told something."""
        if self.state == FAILS and self._written:
            self._note("telling_restored", {**self._who(), "given_up": self.given_up})
        self.state, self.reason, self.given_up, self._written = WORKS, "", 0, False

    def failed(self, reason: str) -> None:
        """Note that it has failed, and why."""
        self.state, self.reason = FAILS, reason
        self.look()

    def gave_up(self, count: int = 1) -> None:
        """Note that messages were given up."""
        self.given_up += count

    def look(self) -> None:
        """Write of a failure that is not written yet, unless the last was too short a time ago."""
        if self.state != FAILS or self._written:
            return
        now = self._now_ms()
        if self._written_ms is None or now - self._written_ms >= ROW_EVERY_MS:
            self._written, self._written_ms = True, now
            self._note("telling_failed", {**self._who(), "reason": self.reason})

    def _who(self) -> dict[str, Any]:
        return {"way": self._config.way, "name": self._config.name}
