"""The station: samples, decides, stores, tells, and answers."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

from monitor import __version__
from monitor.bench.engine import ENGINE_VERSION
from monitor.catalogue.model import Catalogue
from monitor.clock import Clock, SimulatedClock
from monitor.config import Studio
from monitor.errors import StoreError
from monitor.link.messages import PROTOCOL, TEST_WAY, AnswerDict, FeedRow, Request
from monitor.link.server import Server
from monitor.link.view import View
from monitor.probes.opening import OpenedProbes
from monitor.station.clock_watch import ClockWatch
from monitor.station.completing import Completing
from monitor.station.desk import BATCH_MS, Desk
from monitor.station.feed import Feed, real_ms
from monitor.station.ledger import Entry, Ledger
from monitor.station.notify import Watchdog, notify
from monitor.station.requests import Requests
from monitor.station.resume import Resumed, resume
from monitor.station.sampler import Round, rounds_of
from monitor.station.starting import record_start
from monitor.station.telling.hearing import Hearing
from monitor.station.telling.telling import Opening, Telling, open_ways
from monitor.station.timekeeping import Timekeeping
from monitor.station.view import Surroundings, build
from monitor.store.store import Store
from monitor.store.writer import Writer

log = logging.getLogger(__name__)

SECOND_MS = 1000
STOP_WITHIN_S = 5.0
OVERDUE_MS = 5000  # a read has a deadline of 1 s: a sampler this late does not get on


class Station:
    """One station over opened probes and an opened store; `start` or `run` begins it.

    Args:
        studio, catalogue: what is configured and what is known.
        clock: stamps everything.
        opened: the probes; the station closes them.
        store, writer: where everything is kept; the caller closes them after the station.
        runtime_dir: directory of the two sockets.
        boot_id: name of this start for the clock segments.
        move_world: moves the simulated studio before each round of reads; None on hardware.
        batch_ms: how old a batch without events may grow.
        opening: makes the ways to be told.
    """

    def __init__(
        self,
        studio: Studio,
        clock: Clock,
        opened: OpenedProbes,
        store: Store,
        writer: Writer,
        runtime_dir: Path,
        catalogue: Catalogue,
        *,
        boot_id: str,
        move_world: Callable[[int], None] | None = None,
        batch_ms: int = BATCH_MS,
        opening: Opening = open_ways,
    ) -> None:
        self.studio = studio
        self.clock = clock
        self.store = store
        self.watchdog = Watchdog()
        self.server = Server(runtime_dir, self._answer, self._first_rows)
        self.stopped = asyncio.Event()
        self.stored_at_ms: int | None = None
        self.on_clock_step: Callable[[], None] = lambda: None
        self._catalogue = catalogue
        self._opened = opened
        self._boot_id = boot_id
        self._move_world = move_world or (lambda _: None)
        self._batch_ms = batch_ms
        self._around = Surroundings(studio, catalogue.sheets, opened.sources())
        self.telling = Telling(studio, clock, opening, simulated=self._around.simulated)
        self._feed = Feed(self.server.publish, self.view, lambda: self.server.listeners > 0, real_ms)
        self._writer = writer
        self.ledger = Ledger(writer, self._stored)
        self._tasks: list[asyncio.Task[None]] = []
        self._was_stored = 0
        self._trouble: StoreError | None = None

    # -- start and stop ---------------------------------------------------------------------------

    async def start(self) -> None:
        """Resume, record the start, and listen; LinkError when another station has the directory."""
        self.server.claim()
        now_known = ClockWatch(self.clock, None).knows_time()
        started_ms = self.clock.wall_ms() if now_known else None
        boot = self.store.begin_boot(self.studio.board, self._boot_id, started_ms, ENGINE_VERSION, __version__)
        self.store.declare(self.studio, self._opened.serials(), self._opened.sources())
        resumed = resume(self.store)
        self._tasks.append(asyncio.create_task(self.ledger.run(), name="ledger"))
        self._sit_down(resumed, boot)
        await self.ledger.idle()
        await self.server.start(
            {"protocol": PROTOCOL, "board": self.studio.board, "boot": boot, "version": __version__}
        )

    def _sit_down(self, resumed: Resumed, boot: int) -> None:
        watch = ClockWatch(self.clock, resumed.newest_ms)
        segment = watch.first(resumed.segments + 1, boot)
        hearing = Hearing(self.telling, self._feed)
        self.desk = Desk(self.clock, resumed.fold, segment, self.ledger, hearing, self._batch_ms)
        self.telling.begin(self.desk, self.ledger, self.store)
        self._timekeeping = Timekeeping(self.clock, watch, self.desk, self._writer, self._clock_changed)
        completing = Completing(self.studio, self._catalogue)
        self._requests = Requests(self.desk, self.ledger, self.store, completing, {TEST_WAY: self.telling.test})
        self.desk.begin(segment, resumed.gap_ms(segment.at_ms(segment.from_mono_ms)))
        migrated = self.store.migrated_since(boot)
        record_start(self.desk, self.studio, self._opened.probes, self._catalogue.sheets, migrated)
        self.desk.settle()
        self._rounds = rounds_of(self._opened, self.studio, self.clock.mono_ms())

    async def stop(self, reason: str) -> None:
        """Stop in order: what was measured is stored and the stop recorded, as far as the disk allows."""
        notify("STOPPING=1")
        ledger, samplers = self._tasks[:1], self._tasks[1:]
        await _cancelled(samplers)
        if ledger and not ledger[0].done():
            await self._requests.close(STOP_WITHIN_S)
            self.desk.note("station_stopped", {"reason": reason})
            self.desk.settle()
            try:
                await asyncio.wait_for(self.ledger.idle(), STOP_WITHIN_S)
            except TimeoutError:
                log.error("stopped before everything was stored: %s", self.ledger.trouble)
        await self.abandon()

    async def abandon(self) -> None:
        """Let go of tasks, sockets and probes without recording anything, as a power cut would."""
        await _cancelled(self._tasks)
        self._tasks = []
        await self.telling.stop()
        self._feed.close()
        await self.server.close()
        self._opened.close()

    # -- live -------------------------------------------------------------------------------------

    async def run(self, on_ready: Callable[[], None] = lambda: None) -> None:
        """Start, sample in real time until `stopped` is set, and stop in order.

        Args:
            on_ready: called once the station listens.
        """
        try:
            await self.start()
        except BaseException:
            await self.abandon()
            raise
        try:
            self.go_live()
            stop = asyncio.create_task(self.stopped.wait(), name="stop")
            notify("READY=1")
            on_ready()
            done, _ = await asyncio.wait([stop, *self._tasks], return_when=asyncio.FIRST_COMPLETED)
            await _cancelled([stop])
            for task in done - {stop}:
                await task  # a part has failed: its error ends the station
        except BaseException as error:
            await (self.abandon() if self.ledger.refused else self.stop(f"failed: {type(error).__name__}"))
            raise
        await self.stop("asked to stop")

    def go_live(self) -> None:
        """Sample and look at the clock by themselves from now on; `stop` or `abandon` ends it."""
        self._tasks += [asyncio.create_task(self._sample(r), name="sampler") for r in self._rounds]
        self._tasks.append(asyncio.create_task(self._every_second(), name="seconds"))

    async def _sample(self, one: Round) -> None:
        while True:
            deadline = one.schedule.next_deadline()
            assert deadline is not None
            await self.clock.sleep_until(deadline)
            await self._read([one], max(deadline, self.clock.mono_ms()))

    async def _every_second(self) -> None:
        while True:
            await self.clock.sleep_until((self.clock.mono_ms() // SECOND_MS + 1) * SECOND_MS)
            await self.second()

    async def _read(self, rounds: list[Round], mono_ms: int) -> None:
        """Read what is due, fold it, tell it."""
        self._move_world(mono_ms)
        values = [value for one in rounds for value in await one.read(mono_ms)]
        async with self.desk.lock:
            self.desk.read(values)
            self.desk.settle()

    async def second(self) -> None:
        """Do what falls due every second: delays, the clock, the heartbeat."""
        async with self.desk.lock:
            self.desk.pass_time()
            self.desk.settle()
        self.telling.second()
        self.watchdog.got_on("fold")
        if all(one.overdue_ms(self.clock.mono_ms()) < OVERDUE_MS for one in self._rounds):
            self.watchdog.got_on("sampler")
        await self._timekeeping.look()
        self._feed.stored(self.stored_at_ms, self.desk.at_ms(self.clock.mono_ms()))
        self._look_at_ledger()
        self.watchdog.beat()

    def _look_at_ledger(self) -> None:
        """Tell when the store cannot be written, and whether the writer gets on."""
        ledger = self.ledger
        trouble = ledger.trouble or (ledger.refused[-1] if ledger.refused else None)
        if trouble is not self._trouble:
            self._trouble = trouble
            self._feed.signal("store_trouble", trouble.as_json() if trouble else {})
        if ledger.stored != self._was_stored or not ledger.on_way or ledger.trouble is not None:
            self._was_stored = ledger.stored
            self.watchdog.got_on("writer")
        if ledger.refused:
            raise ledger.refused[-1]

    # -- stories ----------------------------------------------------------------------------------

    async def run_until(self, mono_ms: int) -> None:
        """Do everything that falls due before `mono_ms`, in order, and stand there; for a simulated clock.

        The clock moves only when sampler, workers, writer and open requests are idle.
        """
        clock = self.clock
        assert isinstance(clock, SimulatedClock)
        while True:
            due = [d for r in self._rounds if (d := r.schedule.next_deadline()) is not None]
            second = (clock.mono_ms() // SECOND_MS + 1) * SECOND_MS
            now = min([*due, second])
            if now >= mono_ms:
                break
            clock.move_to(now)
            if now in due:
                await self._read(self._rounds, now)
            if now == second:
                await self.second()
                await self.ledger.idle()
        clock.move_to(mono_ms)
        self._move_world(mono_ms)
        await self.ledger.idle()

    # -- telling ----------------------------------------------------------------------------------

    def view(self) -> View:
        """Build the view as things stand."""
        desk = self.desk
        return build(
            self._around,
            desk.state,
            desk.at_ms,
            now_ms=self.clock.mono_ms(),
            stored_at_ms=self.stored_at_ms,
            estimates=desk.estimates,
            ways=self.telling.views(),
        )

    async def _answer(self, request: Request) -> AnswerDict:
        return await self._requests.answer(request, self.view() if request.do == "view" else None)

    def _first_rows(self) -> list[FeedRow]:
        now_ms = self.desk.at_ms(self.clock.mono_ms())
        return [
            {"feed": "view", "view": self.view()},
            {"feed": "stored", "at_ms": self.stored_at_ms, "now_ms": now_ms},
        ]

    def _clock_changed(self, rows: list[dict[str, Any]]) -> None:
        self._feed.events(rows)
        self.on_clock_step()

    def _stored(self, entry: Entry, rows: list[dict[str, Any]]) -> None:
        """Tell what has been committed."""
        at_ms = entry.batch.segment.at_ms(entry.until_mono_ms)
        self.stored_at_ms = at_ms if at_ms is not None else self.stored_at_ms
        self._feed.events(rows)
        self._feed.stored(self.stored_at_ms, self.desk.at_ms(self.clock.mono_ms()))
        self.telling.committed(rows)


async def _cancelled(tasks: list[asyncio.Task[Any]]) -> None:
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
