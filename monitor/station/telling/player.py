"""Plays rhythms on a line: one that lasts, and over it one that is played once."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from typing import Protocol

from monitor.station.telling.rhythm import Rhythm

APART_MS = 350  # of silence, so that what is played once is heard apart from what lasts


class Line(Protocol):
    """Something that is on or off."""

    def set(self, on: bool) -> None:
        """Switch it; OSError when that fails."""
        ...

    def release(self) -> None:
        """Let go of it."""
        ...


class Handle(Protocol):
    """A call to come."""

    def cancel(self) -> None:
        """Call it off."""
        ...


class Timer(Protocol):
    """Time for rhythms; real time, whatever clock the studio has."""

    def now_ms(self) -> int:
        """Give monotonic time, ms."""
        ...

    def later(self, ms: int, call: Callable[[], None]) -> Handle:
        """Call something in `ms`."""
        ...


class LoopTimer:
    """The running loop's time."""

    def now_ms(self) -> int:
        """Give monotonic time, ms."""
        return time.monotonic_ns() // 1_000_000

    def later(self, ms: int, call: Callable[[], None]) -> Handle:
        """Call something in `ms`."""
        return asyncio.get_running_loop().call_later(ms / 1000, call)


class Player:
    """Plays on one line; `broken` is told when the line can't be switched, and then nothing more is played."""

    def __init__(self, line: Line, timer: Timer, broken: Callable[[OSError], None]) -> None:
        self._line = line
        self._timer = timer
        self._broken = broken
        self._base: Rhythm | None = None
        self._once: Rhythm | None = None
        self._from_ms = 0
        self._on: bool | None = None
        self._next: Handle | None = None

    def last(self, rhythm: Rhythm | None) -> None:
        """Play this from now on, None for silence; one that plays already goes on in step."""
        if rhythm == self._base:
            return
        self._base = rhythm
        if self._once is None:
            self._begin()

    def once(self, rhythm: Rhythm) -> None:
        """Play this once, set off from what lasts, which begins anew after it."""
        self._once = rhythm
        self._begin(APART_MS if self._on else 0)

    def close(self) -> None:
        """Switch off, if it can be, and let go."""
        self._base = self._once = None
        self._stop()
        try:
            self._line.set(False)
        except OSError:
            pass  # the line is being given up anyway
        finally:
            self._line.release()

    def _begin(self, wait_ms: int = 0) -> None:
        self._from_ms = self._timer.now_ms() + wait_ms
        self._step()

    def _stop(self) -> None:
        if self._next is not None:
            self._next.cancel()
            self._next = None

    def _step(self) -> None:
        self._stop()
        on, wait_ms = self._now()
        try:
            if on is not self._on:
                self._line.set(on)
                self._on = on
        except OSError as error:
            self._base = self._once = None
            self._broken(error)
            return
        if wait_ms is not None:
            self._next = self._timer.later(wait_ms, self._step)

    def _now(self) -> tuple[bool, int | None]:
        """Give whether it is on now, and in how many ms to look again."""
        now_ms = self._timer.now_ms()
        passed = now_ms - self._from_ms
        if self._once is not None:
            over = self._once.length_ms + (APART_MS if self._base is not None else 0)
            if passed < 0:
                return False, -passed
            if passed < over:
                on, wait_ms = self._once.at(passed)
                return on, over - passed if wait_ms is None else wait_ms
            self._once, self._from_ms, passed = None, now_ms, 0
        return self._base.at(passed) if self._base is not None else (False, None)
