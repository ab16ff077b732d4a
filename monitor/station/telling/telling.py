"""All ways to be told of one station: opened, kept running, tried, and shown; none holds up another."""

from __future__ import annotations

import asyncio
import logging
from collections import deque
from collections.abc import Callable, Coroutine, Iterable, Mapping
from typing import Any, Protocol

from monitor.clock import Clock
from monitor.config import Studio
from monitor.errors import BadInput
from monitor.link.messages import Request
from monitor.link.way_view import WayView
from monitor.station.desk import Desk
from monitor.station.ledger import Ledger
from monitor.station.telling.composing import Composing
from monitor.station.telling.health import Noting
from monitor.station.telling.opening import open_ways
from monitor.station.telling.routing import Routing
from monitor.station.telling.trials import ON_ITS_WAY, SELF_TESTED, TESTED, Trials, next_daily_ms
from monitor.station.telling.way import Way
from monitor.ways import MessageConfig, TellConfig

log = logging.getLogger(__name__)

ANSWER_WITHIN_S = 3.5  # a person is answered by then; a trial that takes longer is written when it is over
AGAIN_S = 60.0  # after a way broke off by a fault of its own
REMEMBERED = 60

__all__ = ["Opening", "Telling", "open_ways"]

Opening = Callable[[TellConfig, str, Clock, Noting], list[Way]]


class Recorded(Protocol):
    """Where the rows of former trials are."""

    def daybook(self, *, kinds: list[str], newest_first: bool, limit: int) -> Iterable[dict[str, Any]]:
        """Give day-book rows."""
        ...


class Telling:
    """The ways to be told. With none configured every method does nothing.

    Args:
        studio, clock: what is configured, and the time.
        opening: makes the ways.
        simulated: readings come from the simulated studio.
    """

    def __init__(
        self, studio: Studio, clock: Clock, opening: Opening = open_ways, *, simulated: bool = False
    ) -> None:
        self.ways: list[Way] = []
        self._studio = studio
        self._clock = clock
        self._composing = Composing(studio.name, studio.board, simulated=simulated)
        self._opening = opening
        self._routing: Routing | None = None
        self._rows: deque[tuple[str, dict[str, Any], str | None, str]] = deque()
        self._more = asyncio.Event()
        self._tasks: set[asyncio.Task[Any]] = set()

    def begin(self, desk: Desk, ledger: Ledger, recorded: Recorded) -> None:
        """Open the ways of a station that sits down at its desk."""
        tell = self._studio.tell
        self.ways = self._opening(tell, self._studio.board, self._clock, self._note)
        if not self.ways:
            return
        routing = Routing(self.ways, tell, self._composing, desk, ledger, self._clock)
        self._desk, self._routing = desk, routing
        self._trials = Trials(lambda way: self._composing.trial(way.config, routing.now_ms()), routing.now_ms)
        kinds = [TESTED, SELF_TESTED]
        self._trials.remember(recorded.daybook(kinds=kinds, newest_first=True, limit=REMEMBERED))
        for work in (self._write(), *(self._keep(way) for way in self.ways)):
            self._go(work)

    async def stop(self) -> None:
        """End every way; what is not told by then stays untold."""
        tasks = list(self._tasks)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        for way in self.ways:
            way.close()
        self.ways, self._routing = [], None

    # -- what happens: nothing that goes wrong here may hold up who calls ---------------------------

    def signal(self, name: str, body: Mapping[str, Any]) -> None:
        """Hear a signal of the fold."""
        if self._routing is not None:
            self._surely(self._routing.signal, name, body)

    def changed(self) -> None:
        """Hear that something happened."""
        if self._routing is not None:
            self._surely(self._routing.changed)

    def committed(self, rows: list[dict[str, Any]]) -> None:
        """Hear that a batch was stored, with its day-book rows."""
        if self._routing is not None:
            self._surely(self._routing.committed, rows)

    def second(self) -> None:
        """Look at what the hour changes, and write of failures that are due."""
        if self._routing is not None:
            self._surely(self._routing.second)
            for way in self.ways:
                way.health.look()

    def _surely(self, hear: Callable[..., None], *what: Any) -> None:  # noqa: ANN401
        try:
            hear(*what)
        except Exception:
            log.exception("something was not told")

    # -- trials -----------------------------------------------------------------------------------

    async def test(self, request: Request) -> tuple[tuple[str, dict[str, Any]] | None, dict[str, Any]]:
        """Try a way that a person names; give the day-book row and the answer.

        Without a row, the trial goes on and is written when it is over.

        Raises:
            BadInput: there is no way of this name.
        """
        name = request.body.get("name")
        way = next((way for way in self.ways if way.config.name == name), None)
        if way is None or request.body.keys() != {"name"}:
            known = ", ".join(way.config.name for way in self.ways) or "none is configured"
            raise BadInput("way to be told", repr(name), known, "Reload the page and ask again.")
        trying = self._go(self._trials.try_one(way, daily=False))
        await asyncio.wait([trying], timeout=ANSWER_WITHIN_S)
        if trying.done():
            body = trying.result()
            return (TESTED, body), {"outcome": body["outcome"], "reason": body["reason"]}

        def over(done: asyncio.Task[dict[str, str]]) -> None:
            if not done.cancelled():
                self._add(TESTED, done.result(), request.by, request.via)

        trying.add_done_callback(over)
        return None, {"outcome": ON_ITS_WAY, "reason": ""}

    async def self_test(self) -> None:
        """Try every way quietly, and write what came of it."""
        if self.ways:
            self._note(SELF_TESTED, await self._trials.try_all(self.ways))

    def next_self_test_in_ms(self) -> int | None:
        """Give in how long the next daily trial is due, None with nothing to try or while the time is not known."""
        if self._routing is None or self._routing.now_ms() is None:
            return None
        now_ms, tell = self._clock.wall_ms(), self._studio.tell
        return next_daily_ms(now_ms, self._trials.last_daily_ms, tell.self_test_minute, tell.local) - now_ms

    def views(self) -> list[WayView]:
        """Give what the settings page shows of each way."""
        return [self._view(way) for way in self.ways]

    def _view(self, way: Way) -> WayView:
        config, health, last = way.config, way.health, self._trials.last.get(way.config.name)
        tell = self._studio.tell
        daily = not isinstance(config, MessageConfig) or config.self_test
        return {
            "way": way.key, "name": config.name, "words": way.words, "least": config.least, "when": config.when,
            "hours": tell.hours(config), "daily_at": tell.self_test_at if daily else "",
            "state": health.state, "reason": health.reason, "given_up": health.given_up,
            "trying": config.name in self._trials.under_way,
            "tried": last.view() if last else None,
        }  # fmt: skip

    # -- around -----------------------------------------------------------------------------------

    def _note(self, kind: str, body: dict[str, Any]) -> None:
        self._add(kind, body, None, "station")

    def _add(self, kind: str, body: dict[str, Any], by: str | None, via: str) -> None:
        self._rows.append((kind, body, by, via))
        self._more.set()

    async def _write(self) -> None:
        while True:
            await self._more.wait()
            self._more.clear()
            async with self._desk.lock:
                while self._rows:
                    kind, body, by, via = self._rows.popleft()
                    self._desk.note(kind, body, by=by, via=via)
                self._desk.settle()

    async def _keep(self, way: Way) -> None:
        """Let a way run; one that breaks off by a fault of its own takes no other with it."""
        while True:
            try:
                await way.run()
            except Exception as error:
                log.exception("way to be told %s", way.config.name)
                way.health.failed(f"a fault of its own ({type(error).__name__}); look into the station's log")
            await asyncio.sleep(AGAIN_S)

    def _go(self, work: Coroutine[Any, Any, Any]) -> asyncio.Task[Any]:
        task = asyncio.get_running_loop().create_task(work, name="telling")
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return task
