"""How fast the store takes readings, draws a year, and starts; and what a reading costs on the disk.

Absolute figures are printed with the machine's name; only ratios and bytes decide the exit code.
`python tests/benchmarks/bench_store.py [ingest] [chart] [storage] [start]` runs all of it, or the parts named.
"""

from __future__ import annotations

import json
import math
import os
import platform
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from monitor.bench.readings import Reading
from monitor.clock import Segment
from monitor.store import charting
from monitor.store.batch import Batch
from monitor.store.declaring import Series
from monitor.store.migrating import migrate
from monitor.store.store import Store
from monitor.store.where import FILE_NAME

INGEST_LEAST = 0.55
CHART_LEAST = 100.0
START_MOST = 1.5
BYTES_MOST = 32.0
WIRE_MOST = 150_000

NOON = 1_777_896_000_000
CHANNELS = [f"p{n}.air_temperature" for n in range(28)]
YEAR_MS = 365 * 86_400_000


def say(line: str) -> None:
    """Write a line."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def new_store(folder: Path, interval_ms: int = 1000) -> Store:
    """Make a store with 28 channels."""
    migrate(folder)
    store = Store.open(folder)
    begin(store, interval_ms)
    return store


def begin(store: Store, interval_ms: int = 1000) -> int:
    """Begin a boot as the station does; give its number."""
    boot = store.begin_boot("hub", "bench", NOON, 1, "0.1.0")
    names = [channel.split(".")[0] for channel in CHANNELS]
    store.declare_series([Series("b", name, "sht45", ("air_temperature",), interval_ms, "made up") for name in names])
    return boot


def ingest(folder: Path) -> bool:
    """Time durable commits of 28 readings, rollups included, against bare executemany of the same rows.

    The two take turns, a hundred commits each, so that a busy disk is busy for both; medians are compared.
    """
    store, bare = new_store(folder / "store"), bare_table(folder / "bare.db")
    store.always_full = True
    segment, turns, each = Segment(1, store.boot, 0, NOON, True), 30, 100
    took: dict[str, list[float]] = {"store": [], "bare": []}
    for turn in range(turns):
        instants = range(turn * each, (turn + 1) * each)
        rows = [[(n, NOON + t * 1000, 1, 20 + (t + n) % 50 / 8, 0) for n in range(28)] for t in instants]
        made = [
            Batch(segment, [Reading(t * 1000, name, 20 + (t + n) % 50 / 8) for n, name in enumerate(CHANNELS)])
            for t in instants
        ]
        took["bare"].append(best_of(1, lambda: _bare(bare, rows)))  # noqa: B023
        took["store"].append(best_of(1, lambda: [store.write(batch) for batch in made]))  # noqa: B023
    store.close()
    bare.close()
    for name, seconds in took.items():
        middle = median(seconds) / each
        say(f"ingest, {name}: {28 / middle:,.0f} readings/s, {1e6 * middle:.0f} us a batch of 28")
    ratio = median(took["bare"]) / median(took["store"])
    say(f"ingest, durable and with rollups: {ratio:.2f} of bare sqlite3; at least {INGEST_LEAST} wanted")
    return ratio >= INGEST_LEAST


def bare_table(file: Path) -> sqlite3.Connection:
    """Open a database with the readings' table alone, as durable as the store's."""
    connection = sqlite3.connect(file, isolation_level=None)
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "temp_store=MEMORY"):
        connection.execute(f"PRAGMA {pragma}")
    connection.execute(
        "CREATE TABLE readings (channel_id INTEGER NOT NULL, at_ms INTEGER NOT NULL, segment INTEGER NOT NULL,"
        " value REAL, quality INTEGER NOT NULL, PRIMARY KEY (channel_id, at_ms, segment)) STRICT, WITHOUT ROWID"
    )
    return connection


def _bare(connection: sqlite3.Connection, batches: list[list[tuple[int, int, int, float, int]]]) -> None:
    for rows in batches:
        connection.execute("BEGIN IMMEDIATE")
        connection.executemany("INSERT INTO readings VALUES (?,?,?,?,?)", rows)
        connection.execute("COMMIT")


def chart(folder: Path) -> bool:
    """Time the envelope of a year of 10 s readings against scanning them; weigh it and the store."""
    store = new_store(folder, 10_000)
    segment = Segment(1, store.boot, 0, NOON, True)
    name, day = CHANNELS[0], 86_400_000
    for start in range(0, YEAR_MS, day):
        rows = [Reading(t, name, round(50 + 8 * math.sin(t / 7e6) + t % 977 / 300, 2)) for t in
                range(start, start + day, 10_000)]  # fmt: skip
        if start == 200 * day:
            rows[4321] = Reading(rows[4321].mono_ms, name, 97.25)
        store.write(Batch(segment, rows))
    number = store.channel_id(name)
    fast = best_of(5, lambda: store.envelope(name, NOON, NOON + YEAR_MS))
    slow = best_of(1, lambda: _scanned(store, number))
    buckets, scanned = store.envelope(name, NOON, NOON + YEAR_MS), _scanned(store, number)
    wire = len(json.dumps([bucket[:1] + bucket[2:] for bucket in buckets], separators=(",", ":")))
    ratio = slow / fast
    say(f"chart of a year: {1000 * fast:.1f} ms for {len(buckets)} buckets; scanning: {1000 * slow:.0f} ms")
    say(f"chart of a year: {ratio:.0f} times faster than scanning; at least {CHART_LEAST:.0f} wanted")
    say(f"chart of a year: {wire:,} bytes of JSON; at most {WIRE_MOST:,} wanted")
    same = [b[:6] for b in buckets] == [b[:6] for b in scanned] and max(b.high or 0 for b in buckets) == 97.25
    say(f"chart of a year: {'equal to' if same else 'DIFFERENT from'} the scan")
    store.close()
    size = (folder / FILE_NAME).stat().st_size / (YEAR_MS // 10_000)
    say(f"storage: {size:.1f} bytes a reading at one in 10 s, where a minute's rollup serves six of them")
    return ratio >= CHART_LEAST and wire <= WIRE_MOST and same


def storage(folder: Path) -> bool:
    """Weigh two hours of the station's own load, 8 channels at 1 Hz and 4 at 5 Hz, rollups included."""
    migrate(folder)
    store = Store.open(folder)
    boot = store.begin_boot("hub", "bench", NOON, 1, "0.1.0")
    slow, fast = [f"a{n}.air_temperature" for n in range(8)], [f"t{n}.tool_temperature" for n in range(4)]
    store.declare_series(
        [Series("b", name.split(".")[0], "sht45", ("air_temperature",), 1000, "made up") for name in slow]
        + [Series("b", name.split(".")[0], "max31856", ("tool_temperature",), 200, "made up") for name in fast]
    )
    segment, seconds = Segment(1, boot, 0, NOON, True), 7200
    for t in range(seconds):
        rows = [Reading(t * 1000, name, round(20 + t % 977 / 300, 2)) for name in slow]
        rows += [Reading(t * 1000 + k, name, 20 + (t + k) % 977 / 128) for k in range(0, 1000, 200) for name in fast]
        store.write(Batch(segment, rows))
    store.close()
    size = (folder / FILE_NAME).stat().st_size / (seconds * 28)
    say(f"storage: {size:.1f} bytes a reading with rollups; at most {BYTES_MOST:.0f} wanted")
    return size <= BYTES_MOST


def _scanned(store: Store, number: int) -> list[charting.Bucket]:
    width = charting.bucket_width(YEAR_MS, 1000, charting.HOUR_MS)
    with store.engine.connect() as connection:
        pieces = charting._raw(connection, number, NOON, NOON + YEAR_MS)
        return list(charting.gather(pieces, width, NOON, NOON + YEAR_MS))


def start(folder: Path) -> bool:
    """Time a start, from opening to the first stored reading, over 10^4 and 10^7 readings."""
    sizes = (10**4, 10**7)
    for readings in sizes:
        filled(folder / str(readings), readings)
    os.sync()  # or the disk would still be busy with what was filled in
    took = dict.fromkeys(sizes, math.inf)
    for _ in range(9):
        for readings in sizes:
            took[readings] = min(took[readings], best_of(1, lambda: _started(folder / str(readings))))  # noqa: B023
    for readings in sizes:
        say(f"start over {readings:,} readings: {1000 * took[readings]:.1f} ms to the first stored reading")
    ratio = took[10**7] / took[10**4]
    say(f"start: {ratio:.2f} times as long over 1,000 times the readings; at most {START_MOST} wanted")
    return ratio <= START_MOST


def filled(where: Path, readings: int) -> None:
    """Fill a store past the writer, which would take minutes; rollups as the writer would have left them."""
    new_store(where).close()
    connection = sqlite3.connect(where / FILE_NAME, isolation_level=None)
    connection.execute("PRAGMA synchronous=OFF")
    connection.execute("BEGIN")
    each = readings // len(CHANNELS)
    connection.execute(f"INSERT INTO clock_segments VALUES (1, 'hub', 1, 0, {NOON}, 1, {each * 1000 + 60_000})")
    for number in range(1, len(CHANNELS) + 1):
        connection.execute(
            "WITH RECURSIVE t(n) AS (SELECT 0 UNION ALL SELECT n + 1 FROM t WHERE n + 1 < ?)"
            " INSERT INTO readings SELECT ?, ? + n * 1000, 1, 20 + n % 50 / 8.0, 0 FROM t",
            (each, number, NOON),
        )
    newest = NOON + (each - 1) * 1000
    for width in (60_000, 3_600_000):
        connection.execute(
            f"INSERT INTO rollups SELECT {width}, channel_id, at_ms / {width} * {width}, count(*), 0, 0, min(value),"
            " max(value), 20, 20, sum(value), sum(value) * 1000, count(*) * 1000 FROM readings"
            f" WHERE at_ms < {newest // width * width} GROUP BY 1, 2, 3"
        )
    connection.execute("COMMIT")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()


def _started(where: Path) -> None:
    store = Store.open(where)
    boot = begin(store)
    store.newest_snapshot()
    last = store.newest_segment()
    assert last is not None
    segment = Segment(last[0].segment + 1, boot, 0, NOON + 10**10 + boot * 10**6, True)
    store.write(Batch(segment, [Reading(1000, name, 21.0) for name in CHANNELS]))
    store.close()


def best_of(times: int, act: Callable[[], object]) -> float:
    """Give the least seconds an act took."""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        act()
        took.append(time.perf_counter() - began)
    return min(took)


def main(wanted: list[str]) -> int:
    """Run the parts; exit code 1 when a ratio is missed."""
    parts: dict[str, Callable[[Path], bool]] = {"ingest": ingest, "chart": chart, "storage": storage, "start": start}
    say(
        f"on {platform.node()} ({platform.machine()}, Python {platform.python_version()},"
        f" SQLite {sqlite3.sqlite_version})"
    )
    kept = True
    for name in wanted or list(parts):
        with tempfile.TemporaryDirectory(prefix="bench-store-") as folder:
            kept = parts[name](Path(folder)) and kept
    return 0 if kept else 1


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
