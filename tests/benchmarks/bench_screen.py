"""From a probe's reading on the feed to the page's stream: 5 readings a second, ten open Bench pages.

Prints the distribution of the delay and the dashboard's memory. The wanted figure holds on a
machine of two cores that does nothing else; only stalling for ten times as long fails the run.
"""

from __future__ import annotations

import asyncio
import json
import os
import platform
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.support.fake_station import FakeStation

CLIENTS, READINGS, EVERY_S, PORT = 10, 100, 0.2, 18460
WANTED_P99_MS = 250.0
STALLED_MS = 2500.0
WANTED_MB = 100.0


def say(line: str) -> None:
    """Write a line."""
    sys.stdout.write(f"{line}\n")


async def opened() -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
    """Open one Bench page's stream, as soon as the dashboard listens."""
    for _ in range(200):
        try:
            reader, writer = await asyncio.open_connection("127.0.0.1", PORT, limit=1_000_000)
        except OSError:
            await asyncio.sleep(0.05)
            continue
        writer.write(b"GET /live?page=bench&bench=north+bench HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        return reader, writer
    raise SystemExit("the dashboard did not start within 10 s")


async def listened(reader: asyncio.StreamReader, sent: dict[int, float], delays: list[float]) -> None:
    """Note when each most likely value was first seen on one stream."""
    waiting = set(range(READINGS))
    while waiting:
        line = await reader.readline()
        if not line.startswith(b"data:") or b"most likely" not in line:
            continue
        figure = json.loads(line[5:])["bench_figure"]
        number = int(figure.partition("most likely ")[2].partition("<")[0]) - 100
        if number in waiting:
            delays.append((time.perf_counter() - sent[number]) * 1000)
        waiting -= {n for n in waiting if n <= number}


async def measured(runtime: Path) -> list[float]:
    """Send the readings and gather the delays of all streams, in ms."""
    station, sent, delays = FakeStation(runtime), dict[int, float](), list[float]()
    await station.start()
    pages = [await opened() for _ in range(CLIENTS)]
    await asyncio.sleep(1.0)
    listening = [asyncio.create_task(listened(reader, sent, delays)) for reader, _ in pages]
    for number in range(READINGS):
        sent[number] = time.perf_counter()
        value = 100.0 + number
        row = ["s2", "bond_line", value - 3, value, value + 3, station.now_ms]
        await station.send({"feed": "estimates", "rows": [row]})
        await asyncio.sleep(EVERY_S)
    async with asyncio.timeout(20):
        await asyncio.gather(*listening)
    for _, writer in pages:
        writer.close()
    await station.stop()
    return sorted(delays)


def resident_mb(pid: int) -> float:
    """Give the resident memory of a process in MB."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def main() -> int:
    """Run; 1 when the figures stall."""
    with tempfile.TemporaryDirectory(prefix="screen-") as folder:
        where = ["--runtime", folder, "--data", folder, "--port", str(PORT)]
        page = subprocess.Popen([sys.executable, "-m", "dashboard", *where])
        try:
            delays = asyncio.run(measured(Path(folder)))
            memory = resident_mb(page.pid)
        finally:
            page.terminate()
            page.wait(10)
    p50, p99 = delays[len(delays) // 2], delays[int(len(delays) * 0.99)]
    say(f"{platform.node()}, {os.cpu_count()} cores: {len(delays)} figures on {CLIENTS} streams")
    say(f"probe to stream: median {p50:.0f} ms, 99 % within {p99:.0f} ms (wanted {WANTED_P99_MS:.0f})")
    say(f"dashboard resident {memory:.0f} MB (wanted at most {WANTED_MB:.0f})")
    return int(p99 > STALLED_MS)


if __name__ == "__main__":
    sys.exit(main())
