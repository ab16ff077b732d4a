"""The page's process is killed: the station samples on as if nothing had been there."""

from __future__ import annotations

import asyncio
import socket
import subprocess
import sys
from contextlib import aclosing
from http.client import HTTPConnection
from itertools import pairwise
from pathlib import Path

import pytest

from monitor.clock import ScaledClock
from monitor.link.client import feed
from monitor.store.store import Store
from tests.support.stations import NINE_MS, ROOM_ONLY, bench

PATIENCE_S = 60
EVER = 2**62
SPEED = 2.0  # slow enough for a busy machine


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


def page(runtime: Path, data: Path, port: int) -> subprocess.Popen[bytes]:
    where = ["--runtime", str(runtime), "--data", str(data), "--host", "127.0.0.1", "--port", str(port)]
    return subprocess.Popen([sys.executable, "-m", "dashboard", *where], stderr=subprocess.DEVNULL)


def answers(port: int) -> bool:
    connection = HTTPConnection("127.0.0.1", port, timeout=2)
    try:
        connection.request("GET", "/")
        return connection.getresponse().status == 200
    except OSError:
        return False
    finally:
        connection.close()


@pytest.mark.long
def test_killing_the_page_leaves_sampling_untouched(data: Path) -> None:
    async def heartbeats(runtime: Path, count: int) -> None:
        async with aclosing(feed(runtime)) as rows:
            async for row in rows:
                assert row["feed"] != "lost"
                count -= row["feed"] == "stored"
                if count <= 0:
                    return

    async def work() -> None:
        async with bench(data, clock=ScaledClock(NINE_MS, SPEED), studio=ROOM_ONLY) as at:
            at.station.go_live()
            port = free_port()
            child = page(at.runtime, data, port)
            try:
                while not await asyncio.to_thread(answers, port):
                    assert child.poll() is None, "the page did not start"
                    await heartbeats(at.runtime, 2)
                # its listener and a test's own: the page draws from the feed
                assert at.station.server.listeners >= 1
                await heartbeats(at.runtime, 20)
                child.kill()
                child.wait(PATIENCE_S)
                await heartbeats(at.runtime, 30)
            finally:
                child.kill()
                child.wait(PATIENCE_S)
            assert (await at.ask("note", text="The page is gone."))["ok"]

    asyncio.run(asyncio.wait_for(work(), PATIENCE_S))
    store = Store.open(data, read_only=True)
    try:
        kinds = [row["kind"] for row in store.daybook()]
        assert "probe_fault" not in kinds
        assert "probe_stale" not in kinds
        room = [row.at_ms for row in store.readings("room.relative_humidity", 0, EVER)]
        assert len(room) >= 20
        assert max(b - a for a, b in pairwise(room)) < 3_000
    finally:
        store.close()
