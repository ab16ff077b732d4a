"""The station is killed outright at random moments: what it told as stored stays, and it goes on with the step."""

from __future__ import annotations

import asyncio
import os
import random
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import aclosing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from monitor.bench.events import GENESIS, row_hash
from monitor.link.client import Client, feed
from monitor.link.messages import Request
from monitor.store.recompute import recompute
from monitor.store.store import Store

PATIENCE_S = 60
EVER = 2**62
SPEED = "20"


@dataclass
class Told:
    """What the station told before it was killed, all boots together."""

    readings: set[tuple[str, int]] = field(default_factory=set)
    events: dict[str, dict[str, Any]] = field(default_factory=dict)
    answered: list[str] = field(default_factory=list)


@pytest.fixture
def runtime() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="blotter-") as name:
        yield Path(name)


def station(data: Path, runtime: Path) -> subprocess.Popen[bytes]:
    """Start a station over the simulated studio in a process of its own."""
    code = (
        "import sys; from pathlib import Path; from monitor.station.uses import run_demo; "
        "run_demo('strip-lining', float(sys.argv[3]), Path(sys.argv[1]), Path(sys.argv[2]))"
    )
    return subprocess.Popen([sys.executable, "-c", code, str(data), str(runtime), SPEED], stderr=subprocess.PIPE)


async def listen(runtime: Path, told: Told, rows_wanted: int) -> None:
    """Listen until so many rows have come; keep what was told to be stored."""
    seen: list[tuple[str, int]] = []
    count = 0
    async with aclosing(feed(runtime, again_s=0.02)) as rows:
        async for row in rows:
            if row["feed"] == "lost" and count:
                raise AssertionError("the station went before it was killed")
            count += row["feed"] not in ("lost", "found")
            if row["feed"] == "readings":
                seen += [(r[0], r[1]) for r in row["rows"]]
            elif row["feed"] == "event":
                told.events[row["row"]["id"]] = row["row"]
            elif row["feed"] == "stored" and row["at_ms"] is not None:
                told.readings |= {(c, at) for c, at in seen if at <= row["at_ms"]}
            if count >= rows_wanted:
                return


async def ask(runtime: Path, told: Told, number: int) -> None:
    """Write a note; what was answered must never be lost."""
    client = await Client.connect(runtime)
    try:
        text = f"note {number}"
        if (await client.request(Request(f"n{number}", "note", {"text": text}, "MK", "browser:test")))["ok"]:
            told.answered.append(text)
    finally:
        await client.close()


async def one_life(data: Path, runtime: Path, told: Told, number: int, chance: random.Random) -> None:
    """Start, listen for a while, ask something, kill without warning."""
    process = station(data, runtime)
    try:
        await asyncio.wait_for(listen(runtime, told, chance.randrange(20, 200)), PATIENCE_S)
        await ask(runtime, told, number)
        if chance.random() < 0.5:
            await asyncio.wait_for(listen(runtime, told, chance.randrange(1, 60)), PATIENCE_S)
    finally:
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
        assert process.stderr is not None
        process.stderr.close()


def nothing_is_lost(data: Path, told: Told) -> None:
    store = Store.open(data, read_only=True)
    try:
        rows = list(store.daybook())
        kept = {(c.channel, r.at_ms) for c in store.channels() for r in store.readings(c.channel, 0, EVER)}
        found = recompute(store)
    finally:
        store.close()
    assert told.readings, "nothing was told as stored"
    assert told.readings - kept == set()
    by_id = {row["id"]: row for row in rows}
    assert {key for key, row in told.events.items() if by_id.get(key) != row} == set()
    notes = [row["body"]["text"] for row in rows if row["kind"] == "note_written"]
    assert [text for text in told.answered if notes.count(text) != 1] == []
    prev = GENESIS
    for row in rows:
        assert row["prev"] == prev
        assert row_hash(row) == row["hash"]
        prev = row["hash"]
    assert found.differences == []


def killed(data: Path, runtime: Path, times: int, seed: int) -> Told:
    chance, told = random.Random(seed), Told()

    async def lives() -> None:
        for number in range(times):
            await one_life(data, runtime, told, number, chance)

    asyncio.run(lives())
    nothing_is_lost(data, told)
    return told


def resumes_its_step(data: Path, runtime: Path) -> None:
    """The step that ran at the first kill still runs, and takes a mark."""

    async def work() -> None:
        process = station(data, runtime)
        try:
            await asyncio.wait_for(listen(runtime, Told(), 5), PATIENCE_S)
            client = await Client.connect(runtime)
            try:
                view = (await client.request(Request("v", "view")))["result"]["view"]
                assert "room" in {step["sheet"] for step in view["steps"]}
                lining = next(step for step in view["steps"] if step["sheet"] == "heat-seal-spatula")
                body = {"step": lining["id"], "text": "Still here."}
                assert (await client.request(Request("last", "note", body, "MK", "browser:test")))["ok"]
            finally:
                await client.close()
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(PATIENCE_S)
            assert process.stderr is not None
            process.stderr.close()
        assert process.returncode == 0

    asyncio.run(work())
    store = Store.open(data, read_only=True)
    try:
        assert next(iter(store.daybook(newest_first=True, limit=1)))["kind"] == "station_stopped"
    finally:
        store.close()


@pytest.mark.long
def test_three_kills_lose_nothing_and_the_step_goes_on(data: Path, runtime: Path) -> None:
    killed(data, runtime, 3, seed=1)
    resumes_its_step(data, runtime)


@pytest.mark.long
@pytest.mark.slow_kill
def test_twenty_kills_lose_nothing_and_the_step_goes_on(data: Path, runtime: Path) -> None:
    killed(data, runtime, 20, seed=2)
    resumes_its_step(data, runtime)
