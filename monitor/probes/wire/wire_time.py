"""The time of a simulated wire: the studio's clock, and what the drivers slept beyond it."""

from __future__ import annotations

from monitor.clock import Clock


class WireTime:
    """Follows a clock and runs ahead of it while a driver sleeps.

    Args:
        clock: the studio's clock; only read.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._us = 0

    def now_us(self) -> int:
        """Give the wire's time in microseconds; it never goes back."""
        clock_us = self._clock.mono_ms() * 1000
        if clock_us > self._us:
            self._us = clock_us
        return self._us

    def sleep(self, seconds: float) -> None:
        """Move the wire's time on; nobody waits."""
        self._us = self.now_us() + round(seconds * 1e6)
