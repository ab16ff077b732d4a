"""Messages that wait for a way that is slow or dead: bounded, and given up in time."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable

from monitor.station.telling.message import Message

MOST = 50
GIVE_UP_MS = 900_000  # what was not told within a quarter of an hour is told no more


class Waiting:
    """A queue of messages.

    Args:
        gave_up: told how many were given up, because they grew old or others pushed them out.
        now_ms: monotonic time, ms.
        most, give_up_ms: how many may wait, and how long.
    """

    def __init__(
        self,
        gave_up: Callable[[int], None],
        now_ms: Callable[[], int],
        most: int = MOST,
        give_up_ms: int = GIVE_UP_MS,
    ) -> None:
        self._gave_up = gave_up
        self._now_ms = now_ms
        self._most = most
        self._give_up_ms = give_up_ms
        self._queue: deque[tuple[int, Message]] = deque()
        self._more = asyncio.Event()

    def __len__(self) -> int:
        return len(self._queue)

    def put(self, message: Message) -> None:
        """Take a message; the oldest gives way when too many wait."""
        if len(self._queue) >= self._most:
            self._queue.popleft()
            self._gave_up(1)
        self._queue.append((self._now_ms(), message))
        self._more.set()

    async def first(self) -> Message:
        """Wait for the oldest that is not too old; it stays in the queue until `done`."""
        while True:
            self.forget_old()
            if self._queue:
                return self._queue[0][1]
            self._more.clear()
            await self._more.wait()

    def done(self, message: Message) -> None:
        """Take a message out that was told; one that has given way meanwhile is no matter."""
        if self._queue and self._queue[0][1] is message:
            self._queue.popleft()

    def forget_old(self) -> None:
        """Give up what has waited too long."""
        oldest_ms = self._now_ms() - self._give_up_ms
        gone = 0
        while self._queue and self._queue[0][0] <= oldest_ms:
            self._queue.popleft()
            gone += 1
        if gone:
            self._gave_up(gone)


class Backoff:
    """How long to wait between two tries: twice as long each time, each a little by chance.

    Args:
        chance: gives numbers from 0 to 1, so that many boards don't come back in one instant.
        first_s, longest_s: the first wait and the longest, at most; at least half of it.
    """

    def __init__(self, chance: Callable[[], float], first_s: float = 2.0, longest_s: float = 60.0) -> None:
        self._chance = chance
        self._first_s = first_s
        self._longest_s = longest_s
        self._tries = 0

    def next_s(self) -> float:
        """Give the next wait, s."""
        whole = min(self._longest_s, self._first_s * (1 << min(self._tries, 16)))
        self._tries += 1
        return whole * (0.5 + 0.5 * self._chance())

    def worked(self) -> None:
        """Begin with the shortest again."""
        self._tries = 0
