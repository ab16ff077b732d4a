"""The service manager hears "alive" only while sampler, fold and writer each get on."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Iterator
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from monitor.clock import SimulatedClock
from monitor.config import Studio
from monitor.store.batch import Batch
from tests.support.stations import ROOM, STUDIO, bench

RARELY = Studio("Studio of a test", "test", ("north bench",), (replace(ROOM, interval_ms=3_600_000),))


@pytest.fixture
def manager(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.bind(str(tmp_path / "n"))
        listening.setblocking(False)
        monkeypatch.setenv("NOTIFY_SOCKET", str(tmp_path / "n"))
        yield listening


def beats(manager: socket.socket) -> int:
    """Count what has been heard since the last look."""
    count = 0
    while True:
        try:
            count += manager.recv(100) == b"WATCHDOG=1"
        except BlockingIOError:
            return count


@pytest.mark.parametrize("studio", [STUDIO, RARELY])
def test_a_station_that_gets_on_says_so_every_second(data: Path, manager: socket.socket, studio: Studio) -> None:
    async def work() -> None:
        async with bench(data, studio=studio) as at:
            for until in (6_500, 12_500):
                await at.station.run_until(until)
                assert beats(manager) == 6

    asyncio.run(work())


def test_a_sampler_that_no_longer_reads_is_not_hidden(data: Path, manager: socket.socket) -> None:
    async def work() -> None:
        async with bench(data) as at:
            await at.station.run_until(2_500)
            assert beats(manager) == 2
            clock = at.clock
            assert isinstance(clock, SimulatedClock)
            for second in range(3, 20):  # the seconds pass, and nobody samples
                clock.move_to(second * 1000)
                await at.station.second()
            assert beats(manager) <= 5

    asyncio.run(work())


def test_a_writer_that_hangs_is_not_hidden(data: Path, manager: socket.socket) -> None:
    async def work() -> None:
        async with bench(data) as at:
            await at.station.run_until(2_500)
            assert beats(manager) == 2
            held: list[tuple[Batch, Future[Any]]] = []
            submit = at.writer.submit

            def hang(batch: Batch, *, at_once: bool = False) -> Future[list[dict[str, Any]]]:
                held.append((batch, Future()))
                return held[-1][1]

            at.writer.submit = hang  # type: ignore[method-assign]
            async with at.station.desk.lock:
                at.station.desk.note("station_stopped", {"reason": "a row that hangs"})
                at.station.desk.settle()
            for _ in range(5):
                await asyncio.sleep(0)
                await at.station.second()
            assert held
            assert beats(manager) <= 1
            at.writer.submit = submit  # type: ignore[method-assign]
            for batch, future in held:
                future.set_result(await asyncio.wrap_future(at.writer.submit(batch, at_once=True)))

    asyncio.run(work())
