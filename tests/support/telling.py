"""Stand-ins around the ways to be told: a line, its time, a health that is noted, a child that sends to a file."""

from __future__ import annotations

import heapq
import json
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

from monitor.clock import SimulatedClock
from monitor.station.telling.health import Health
from monitor.station.telling.message import PASSED, Message, NotTold
from monitor.station.telling.way import Standing, Stands
from monitor.ways import LineConfig, WayConfig


def message(kind: str = PASSED, priority: str = "high", warning: str = "s1/hot/spatula.tool_temperature") -> Message:
    """Give a message."""
    return Message(kind, priority, f"Two boats drying, north bench: {kind}.", "Lift it.", 1_777_000_000_000,
                   "north bench", "quay", warning)  # fmt: skip


def stands(
    *, unseen: bool = True, sounds: bool = True, priority: str = "high", warning: str = "s1/hot/x"
) -> Standing:
    """Give how things stand with one warning."""
    return Standing((Stands(warning, priority, "It is hot.", "not yet seen", unseen, sounds, 5),), 7)


class FakeTimer:
    """Time that a test moves."""

    def __init__(self) -> None:
        self._now_ms = 1000
        self._calls: list[tuple[int, int, list[Callable[[], None] | None]]] = []
        self._count = 0

    def now_ms(self) -> int:
        return self._now_ms

    def later(self, ms: int, call: Callable[[], None]) -> FakeHandle:
        slot: list[Callable[[], None] | None] = [call]
        self._count += 1
        heapq.heappush(self._calls, (self._now_ms + ms, self._count, slot))
        return FakeHandle(slot)

    @property
    def waiting(self) -> int:
        """Give how many calls are still to come."""
        return sum(1 for _, _, slot in self._calls if slot[0] is not None)

    def pass_ms(self, ms: int) -> None:
        """Let time pass, and what falls due happen."""
        until = self._now_ms + ms
        while self._calls and self._calls[0][0] <= until:
            self._now_ms, _, (call,) = heapq.heappop(self._calls)
            if call is not None:
                call()
        self._now_ms = until


@dataclass
class FakeHandle:
    slot: list[Callable[[], None] | None]

    def cancel(self) -> None:
        self.slot[0] = None


@dataclass
class FakeLine:
    """A line that remembers when it was switched."""

    timer: FakeTimer
    switched: list[tuple[int, bool]] = field(default_factory=list)
    broken: bool = False
    released: int = 0

    @property
    def on(self) -> bool:
        return bool(self.switched) and self.switched[-1][1]

    def set(self, on: bool) -> None:
        if self.broken:
            raise OSError(5, "Input/output error")
        self.switched.append((self.timer.now_ms(), on))

    def release(self) -> None:
        self.released += 1

    def opening(self, config: LineConfig) -> FakeLine:
        """Stand in for opening the line."""
        if self.broken:
            raise NotTold(config.name, f"/dev/{config.chip} line {config.line}: busy", "a free line", "Free it")
        return self

    def lengths(self, since_ms: int) -> list[int]:
        """Give how long it was on and off in turn since an instant, up to its last switch."""
        times = [ms for ms, _ in self.switched if ms >= since_ms]
        return [b - a for a, b in pairwise(times)]


@dataclass
class Noted:
    """Day-book rows that were to be written."""

    rows: list[tuple[str, dict[str, Any]]] = field(default_factory=list)

    def __call__(self, kind: str, body: dict[str, Any]) -> None:
        self.rows.append((kind, body))

    def kinds(self) -> list[str]:
        return [kind for kind, _ in self.rows]


def health_of(config: WayConfig, noted: Noted, clock: SimulatedClock) -> Health:
    """Give a health that notes."""
    return Health(config, noted, clock.mono_ms)


_SENDER = """
import json, os, sys
asked = json.load(sys.stdin)
folder = sys.argv[1]
if os.path.exists(folder + "/hangs"):
    open(folder + "/pid", "w").write(str(os.getpid()))
    sys.stdin.close(); os.read(os.open(folder + "/fifo", os.O_RDWR), 1)
if os.path.exists(folder + "/broken"):
    print(json.dumps({"told": False, "reason": "the service did not take the message"})); raise SystemExit
with open(folder + "/sent", "a") as file:
    file.write(json.dumps(asked) + "\\n")
print(json.dumps({"told": True, "reason": ""}))
"""


class FakeSender:
    """A child in the place of the one that sends: it writes to a file, fails or hangs as it is told."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.command = (sys.executable, "-I", "-S", "-c", _SENDER, str(folder))
        os.mkfifo(folder / "fifo")

    def breaks(self, broken: bool = True) -> None:
        self._flag("broken", broken)

    def hangs(self, hanging: bool = True) -> None:
        self._flag("hangs", hanging)

    def sent(self) -> list[dict[str, Any]]:
        path = self.folder / "sent"
        return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []

    def pid(self) -> int:
        """Give the process that hangs."""
        return int((self.folder / "pid").read_text())

    def _flag(self, name: str, there: bool) -> None:
        path = self.folder / name
        if there:
            path.touch()
        else:
            path.unlink(missing_ok=True)
