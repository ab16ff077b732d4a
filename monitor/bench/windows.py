"""One level of a limit on one channel: deadband, on-delay, off-delay.

A condition holds from its reading to the next, or until the channel is stale. Equal to the
level is not beyond it; back is past it by the deadband or more. A delay elapses at the very
instant `since + delay`, whoever looks when. A gap ends a running delay and leaves a standing
level standing.

A derived value is had from several readings of one instant, which come one after another. What the
first of them make of it is no value of its own: the next take of that instant stands in its place.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True)
class Window:
    """The state of one level.

    Attributes:
        active: beyond for longer than the on-delay, and not yet back for the off-delay.
        since: instant at which the running delay began, or None when none runs.
        before: `since` as it was before the last instant at which a derived value was taken.
        back: the value at which it is back inside: the level less the deadband.
    """

    at: float
    high: bool
    deadband: float
    on_delay_ms: int
    off_delay_ms: int
    active: bool = False
    since: int | None = None
    before: int | None = None
    back: float = field(init=False)

    def __post_init__(self) -> None:
        # One rounding here, so that 55.3 with a deadband of 0.3 is left at 55.0 as on paper.
        self.back = round(self.at - self.deadband if self.high else self.at + self.deadband, 6)

    def take(self, mono_ms: int, value: float) -> None:
        """Take a value: start, keep or end the running delay."""
        if self.active:
            running = value <= self.back if self.high else value >= self.back
        else:
            running = value > self.at if self.high else value < self.at
        if not running:
            self.since = None
        elif self.since is None:
            self.since = mono_ms

    def take_bound(self, mono_ms: int, value: float, *, at_least: bool) -> None:
        """Take a bound of the true value; where beyond or back does not follow from it, it is a gap."""
        if (self.high is at_least) is self.active:
            self.gap()
        else:
            self.take(mono_ms, value)

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
