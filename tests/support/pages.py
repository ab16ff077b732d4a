"""The dashboard over a double of the station, both in a thread of their own, for tests of pages."""

from __future__ import annotations

import asyncio
import socket
import threading
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import uvicorn

from dashboard.__main__ import Server
from dashboard.app import Settings, create_app
from dashboard.known import Known, Layers
from dashboard.past import Readable
from monitor.link.view import View
from tests.support.fake_past import FakePast
from tests.support.fake_station import FakeStation

T = TypeVar("T")
ASKS = "at the adhesive 70 °C at least (cited); at the face 50 °C at most (our proposal)"
KNOWN = Known(
    (Layers("film-on-linen", "Linen strip on a primed margin", "EVA heat-seal film, formula of 2010", ASKS),),
    {"conserving-canvas-19": "Chapter 19 of Conserving Canvas, Los Angeles 2023"},
)


class Rig:
    """A running dashboard and its station.

    Args:
        runtime_dir: for the two sockets; keep its path short.
        data_dir: where the chart script is kept.
        view: what the station shows.
        opening: opens what Look back reads.
        known: what pages take from the catalogue.
    """

    def __init__(
        self, runtime_dir: Path, data_dir: Path, view: View | None = None, opening: Callable[[], Readable] = FakePast,
        known: Known = KNOWN,
    ) -> None:  # fmt: skip
        self.station = FakeStation(runtime_dir, view)
        self._settings = Settings(runtime_dir, data_dir, opening, known)
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.url = f"http://127.0.0.1:{self._socket.getsockname()[1]}"
        self._loop = asyncio.new_event_loop()
        self._up = threading.Event()
        self._thread = threading.Thread(target=self._run, name="pages rig")

    def do(self, work: Coroutine[Any, Any, T]) -> T:
        """Run something on the station's loop and wait for it."""
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(5)

    def start(self) -> None:
        """Start both; returns when the dashboard has heard the station."""
        self._thread.start()
        assert self._up.wait(5), "the rig did not start within 5 s"

    def stop(self) -> None:
        """Stop both."""
        self._loop.call_soon_threadsafe(self._stop.set)
        self._thread.join(10)
        assert not self._thread.is_alive(), "the dashboard did not stop within 10 s"

    def _run(self) -> None:
        asyncio.set_event_loop(self._loop)
        try:
            self._loop.run_until_complete(self._serve())
        finally:
            self._loop.close()
            self._socket.close()

    async def _serve(self) -> None:
        self._stop = asyncio.Event()
        await self.station.start()
        streams = asyncio.Event()
        app = create_app(self._settings, streams)
        config = uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=2, ws="none")
        server = Server(config, streams)
        serving = asyncio.create_task(server.serve(sockets=[self._socket]))
        while not (server.started and app.state.hub.shown().answers):
            await asyncio.sleep(0.01)
        self._up.set()
        await self._stop.wait()
        streams.set()
        server.should_exit = True
        await serving
        await self.station.stop()
        others = asyncio.all_tasks() - {asyncio.current_task()}
        for task in others:
            task.cancel()
        await asyncio.gather(*others, return_exceptions=True)


@contextmanager
def rig(runtime_dir: Path, data_dir: Path, **more: Any) -> Iterator[Rig]:
    """Give a running rig and stop it afterwards."""
    running = Rig(runtime_dir, data_dir, **more)
    running.start()
    try:
        yield running
    finally:
        running.stop()
