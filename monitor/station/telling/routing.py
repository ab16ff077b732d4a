"""Who is told what and when: lamp and sounder at once, the others after the commit."""

from __future__ import annotations

import logging
from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Protocol, TypeVar

from monitor.bench.state import State
from monitor.station.telling.composing import Composing
from monitor.station.telling.message import PASSED, Message, matters
from monitor.station.telling.way import Standing, Way
from monitor.ways import ALWAYS, TellConfig

log = logging.getLogger(__name__)

T = TypeVar("T")

ENDS = ("alarm_released", "alarm_unshelved")  # rows after which a warning may be over


class Desk(Protocol):
    """What is looked at of the desk."""

    @property
    def state(self) -> State:
        """Give the fold's state."""
        ...

    def at_ms(self, mono_ms: int | None) -> int | None:
        """Give UTC ms of an instant."""
        ...


class Ledger(Protocol):
    """What is looked at of the ledger: how many batches are stored, and how many are on their way."""

    stored: int

    @property
    def on_way(self) -> int:
        """Give how many batches are not yet stored."""
        ...


class Monotonic(Protocol):
    """The part of a clock that never goes back."""

    def mono_ms(self) -> int:
        """Give monotonic time in ms."""
        ...


class Routing:
    """Hands messages and standing to the ways that want them.

    Args:
        ways, tell: the ways, and the hours of the night.
        composing: puts what is told into words.
        desk, ledger, clock: what holds, what is stored, and the time.
    """

    def __init__(
        self,
        ways: Sequence[Way],
        tell: TellConfig,
        composing: Composing,
        desk: Desk,
        ledger: Ledger,
        clock: Monotonic,
    ) -> None:
        self._ways = ways
        self._tell = tell
        self._composing = composing
        self._desk = desk
        self._ledger = ledger
        self._clock = clock
        self._pending: deque[tuple[int, Message]] = deque()
        self._told: dict[str, tuple[Message, list[Way]]] = {}
        self._stood: dict[str, Standing | None] = {}
        self._behind = True
        self._flood: str | None = None  # the gravest priority told of a flood that goes on

    def signal(self, name: str, body: Mapping[str, Any]) -> None:
        """Hear a signal of the fold: lamp and sounder act now, the others when it is stored."""
        desk = self._desk
        message = self._composing.signalled(desk.state, desk.at_ms, self._clock.mono_ms(), name, body)
        if message is None:
            return
        for way in self._wanting(message, at_once=True):
            _surely(way, way.tell, message)
        batch = self._ledger.stored + self._ledger.on_way + 1  # the one that is open now
        self._pending.append((batch, message))

    def changed(self) -> None:
        """Hear that something happened: lamp and sounder follow how things stand."""
        self._stand(at_once=True)

    def committed(self, rows: list[dict[str, Any]]) -> None:
        """Hear that a batch was stored, with its day-book rows."""
        while self._pending and self._pending[0][0] <= self._ledger.stored:
            self._post(self._pending.popleft()[1])
        for row in rows:
            if row["kind"] == "alarm_returned" or (row["kind"] in ENDS and row["body"]["state"] == "normal"):
                self._post_over(row)
        steps = self._desk.state.steps
        self._told = {k: told for k, told in self._told.items() if k.partition("/")[0] in steps}
        self._behind = self._behind or bool(rows)
        if self._behind and not self._ledger.on_way:
            self._behind = False
            self._stand(at_once=False)

    def second(self) -> None:
        """Look at what the hour changes: a way that comes into use, or goes out of it."""
        for way in self._ways:
            name = way.config.name
            if way.config.when == ALWAYS or name not in self._stood:
                continue
            if self._in_use(way) is (self._stood[name] is None):
                self._stand(at_once=way.at_once)

    def now_ms(self) -> int | None:
        """Give the present, UTC ms; None while the time is not known."""
        return self._desk.at_ms(self._clock.mono_ms())

    def _post(self, message: Message) -> None:
        if self._flood is not None and message.many and matters(self._flood, message.priority):
            return  # one of many, and no graver than what was told of them
        self._flood = message.priority if message.many else None if message.kind == PASSED else self._flood
        ways = list(self._wanting(message, at_once=False))
        for way in ways:
            _surely(way, way.tell, message)
        if ways and message.warning and not message.many:
            self._told[message.warning] = message, ways

    def _post_over(self, row: dict[str, Any]) -> None:
        """Tell that a warning is over to those who were told of it, at whatever hour."""
        body = row["body"]
        told = self._told.pop(f"{body['step']}/{body['limit']}/{body['channel']}", None)
        if told is not None:
            message = self._composing.over(told[0], self._desk.state, self._desk.at_ms, row["at_ms"])
            for way in told[1]:
                _surely(way, way.tell, message)

    def _wanting(self, message: Message, *, at_once: bool) -> Iterable[Way]:
        return (
            way for way in self._ways
            if way.at_once is at_once and matters(message.priority, way.config.least) and self._in_use(way)
        )  # fmt: skip

    def _in_use(self, way: Way) -> bool:
        return way.config.when == ALWAYS or self._tell.tells_now(way.config, self.now_ms())

    def _stand(self, *, at_once: bool) -> None:
        desk = self._desk
        standing = self._composing.standing(desk.state, desk.at_ms, self._clock.mono_ms())
        for way in self._ways:
            name = way.config.name
            now = standing if self._in_use(way) else None
            if way.at_once is at_once and (name not in self._stood or self._stood[name] != now):
                self._stood[name] = now
                _surely(way, way.stands, now)


def _surely(way: Way, hear: Callable[[T], None], what: T) -> None:
    """Tell a way; a fault of its own, which should not be, keeps no other from being told."""
    try:
        hear(what)
    except Exception:
        log.exception("way to be told %s", way.config.name)
