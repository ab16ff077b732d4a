"""One level of a limit on one channel: deadband, on-delay, off-delay.

A condition holds from its reading to the next, or until the channel is stale. Equal to the
level is not beyond it; back is past it by the deadband or more. A delay elapses at the very
instant `since + delay`, whoever looks when. A gap ends a running delay and leaves a standing
level standing.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(slots=True)
class Window:
    """The state of one level.

    Attributes:
        active: beyond for longer than the on-delay, and not yet back for the off-delay.
        since: instant at which the running delay began, or None when none runs.
    """

    at: float
    high: bool
    deadband: float
    on_delay_ms: int
    off_delay_ms: int
    active: bool = False
    since: int | None = None

    def take(self, mono_ms: int, value: float) -> None:
        """Take a value: start, keep or end the running delay."""
        past = value - self.at if self.high else self.at - value
        running = past <= -self.deadband if self.active else past > 0
        if not running:
            self.since = None
        elif self.since is None:
            self.since = mono_ms

    def gap(self) -> None:
        """End the running delay: nothing is known from here on."""
        self.since = None

    def due(self) -> int | None:
        """Give the instant at which the running delay elapses."""
        if self.since is None:
            return None
        return self.since + (self.off_delay_ms if self.active else self.on_delay_ms)

    def elapse(self) -> None:
        """Change over; the caller has seen that the delay is over."""
        self.active = not self.active
        self.since = None
