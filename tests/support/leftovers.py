"""Finds what a test has left behind: threads, open sockets, unfinished asyncio tasks.

A resource that several tests share is started by a fixture of the whole run. Such fixtures are set
up before the snapshot of the first test that names them; one that is started later, on
demand, does so inside `shared()`. Shared ones are checked when the run ends.
"""

from __future__ import annotations

import asyncio
import gc
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

#: Threads that are already on their way out are waited for this long, in seconds.
GRACE_S = 2.0

_FDS = Path("/proc/self/fd")


def open_sockets() -> frozenset[str]:
    """Give the sockets that this process holds, as `socket:[inode]`."""
    found = set()
    for entry in os.listdir(_FDS) if _FDS.is_dir() else ():
        with suppress(OSError):
            target = os.readlink(_FDS / entry)
            if target.startswith("socket:"):
                found.add(target)
    return frozenset(found)


@dataclass
class Held:
    """What the process holds at one moment."""

    threads: frozenset[threading.Thread] = field(default_factory=frozenset)
    sockets: frozenset[str] = field(default_factory=frozenset)

    @classmethod
    def now(cls) -> Held:
        """Take stock."""
        return cls(frozenset(threading.enumerate()), open_sockets())


_shared = Held()


@contextmanager
def shared() -> Iterator[None]:
    """Count whatever is started inside as shared by the whole run."""
    before = Held.now()
    yield
    after = Held.now()
    _shared.threads |= after.threads - before.threads
    _shared.sockets |= after.sockets - before.sockets


def left_since(before: Held, *, count_shared: bool = False) -> list[str]:
    """Name what is held now and was not held `before`; shared things only if asked for."""
    spared = Held() if count_shared else _shared
    known = before.threads | spared.threads
    new = [t for t in threading.enumerate() if t not in known]
    for thread in new:
        thread.join(GRACE_S)
    left = [f"thread {t.name!r}" for t in new if t.is_alive()]
    sockets = open_sockets() - before.sockets - spared.sockets
    if sockets:
        gc.collect()
        sockets = open_sockets() - before.sockets - spared.sockets
    return left + sorted(sockets)


class TaskWatch:
    """Notes the tasks that an event loop still had when it was closed.

    `asyncio.run` and `asyncio.Runner` cancel such tasks without a word. The watch stands in
    for the function they call to do so and hands the call on.
    """

    def __init__(self) -> None:
        self.left: list[str] = []

    def install(self, monkeypatch: Any) -> None:
        """Watch until `monkeypatch` is undone."""
        cancel_all = asyncio.runners._cancel_all_tasks  # type: ignore[attr-defined]

        def noting(loop: asyncio.AbstractEventLoop) -> None:
            self.left += [_name(task) for task in asyncio.all_tasks(loop) if not task.done()]
            cancel_all(loop)

        monkeypatch.setattr(asyncio.runners, "_cancel_all_tasks", noting)


def _name(task: asyncio.Task[Any]) -> str:
    coroutine = task.get_coro()
    return f"task {task.get_name()!r} in {getattr(coroutine, '__qualname__', coroutine)}"
