"""Time as an argument: one protocol for the real clock and the simulated one.

All instants are whole milliseconds. `mono_ms` never goes back; `wall_ms` is UTC since
1970 and may step. The offset between them is kept in clock segments, so that
`at_ms = mono_ms + offset_ms` is exact.
"""

from __future__ import annotations

import asyncio
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """What everything that needs the time is given."""

    def mono_ms(self) -> int:
        """Give monotonic time in ms."""
        ...

    def wall_ms(self) -> int:
        """Give UTC in ms since 1970 as the machine believes it."""
        ...

    async def sleep_until(self, mono_ms: int) -> None:
        """Return at `mono_ms` on the monotonic scale, or at once if it has passed."""
        ...


class SystemClock:
    """The machine's own clock."""

    def mono_ms(self) -> int:
        """Give CLOCK_MONOTONIC in ms."""
        return time.monotonic_ns() // 1_000_000

    def wall_ms(self) -> int:
        """Give CLOCK_REALTIME in ms."""
        return time.time_ns() // 1_000_000

    async def sleep_until(self, mono_ms: int) -> None:
        """Sleep on the event loop until `mono_ms`."""
        await asyncio.sleep(max(0, mono_ms - self.mono_ms()) / 1000)


@dataclass
class ScaledClock:
    """The demo's clock: starts at a given instant and runs `speed` times as fast.

    Args:
        start_wall_ms: UTC at the start, ms.
        speed: seconds of studio time for one second of real time.
    """

    start_wall_ms: int
    speed: float

    def __post_init__(self) -> None:
        self._zero_ns = time.monotonic_ns()

    def mono_ms(self) -> int:
        """Give studio time since the start in ms."""
        return int((time.monotonic_ns() - self._zero_ns) * self.speed) // 1_000_000

    def wall_ms(self) -> int:
        """Give the studio's UTC in ms."""
        return self.start_wall_ms + self.mono_ms()

    async def sleep_until(self, mono_ms: int) -> None:
        """Sleep on the event loop until studio time `mono_ms`."""
        await asyncio.sleep(max(0, mono_ms - self.mono_ms()) / 1000 / self.speed)


@dataclass
class SimulatedClock:
    """A clock that stands until it is moved; stories and tests own it.

    Args:
        start_wall_ms: UTC at mono 0, ms.
    """

    start_wall_ms: int = 0
    _mono_ms: int = 0
    _step_ms: int = 0

    def mono_ms(self) -> int:
        """Give simulated time in ms."""
        return self._mono_ms

    def wall_ms(self) -> int:
        """Give simulated UTC in ms, steps of the wall clock included."""
        return self.start_wall_ms + self._step_ms + self._mono_ms

    def move_to(self, mono_ms: int) -> None:
        """Move forward to `mono_ms`; ValueError if that lies in the past."""
        if mono_ms < self._mono_ms:
            raise ValueError(f"simulated clock at {self._mono_ms} ms cannot go back to {mono_ms} ms")
        self._mono_ms = mono_ms

    def step_wall(self, by_ms: int) -> None:
        """Set the wall clock forward or back by `by_ms`, as a person or a network would."""
        self._step_ms += by_ms

    async def sleep_until(self, mono_ms: int) -> None:
        """Refuse: simulated time does not pass by waiting."""
        raise RuntimeError(f"nobody may wait on simulated time (asked to wait until {mono_ms} ms)")


@dataclass(frozen=True)
class Segment:
    """A stretch in which wall and monotonic clock keep one distance.

    `known` is False while the board does not know the time; `offset_ms` then means nothing.
    """

    segment: int
    boot: int
    from_mono_ms: int
    offset_ms: int
    known: bool

    def at_ms(self, mono_ms: int) -> int | None:
        """Give UTC in ms of a monotonic instant, or None while the time is not known."""
        return mono_ms + self.offset_ms if self.known else None


def iso(at_ms: int) -> str:
    """Write UTC milliseconds as ISO 8601, for instance 2026-05-04T09:00:00.000Z."""
    stamp = datetime.fromtimestamp(at_ms // 1000, UTC).strftime("%Y-%m-%dT%H:%M:%S")
    return f"{stamp}.{at_ms % 1000:03d}Z"


def from_iso(text: str) -> int:
    """Read an ISO 8601 instant that carries an offset or Z; ValueError otherwise."""
    stamp = datetime.fromisoformat(text)
    if stamp.tzinfo is None:
        raise ValueError(f"{text!r} has no offset; write UTC with a Z, for instance 2026-05-04T09:00:00Z")
    whole = int(stamp.replace(microsecond=0).timestamp())
    return whole * 1000 + (stamp.microsecond + 500) // 1000
