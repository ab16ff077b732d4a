"""A store that cannot be written: it is said aloud, sampling goes on, and nothing is lost."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from monitor.clock import ScaledClock
from monitor.errors import StoreError
from monitor.link.client import Heard, feed
from monitor.station.sampler import Value
from monitor.store.batch import Batch
from monitor.store.recompute import recompute
from monitor.store.store import Store
from monitor.store.writer import Writer
from tests.support.stations import NINE_MS, Bench, bench

EVER = 2**62
PATIENCE_S = 20


class FullDisk:
    """A store's writing that fails while `full`."""

    def __init__(self) -> None:
        self.full = False
        self.failed = 0

    def writer(self, store: Store) -> Writer:
        write_all = store.write_all

        def writing(batches: list[Batch]) -> list[list[dict[str, Any]]]:
            if self.full:
                self.failed += 1
                raise sa.exc.OperationalError("INSERT", {}, OSError("database or disk is full"))
            return write_all(batches)

        store.write_all = writing  # type: ignore[method-assign]
        return Writer(store, retry_s=0.01)


async def heard(rows: AsyncIterator[Heard], *kinds: str) -> Any:
    """Give the next row of one of some kinds."""
    async for row in rows:
        if row["feed"] in kinds:
            return row
    raise AssertionError("the feed has ended")


@asynccontextmanager
async def live(data: Path, disk: FullDisk) -> AsyncIterator[tuple[Bench, list[Value], AsyncIterator[Heard]]]:
    """Run a station in real time, twenty times as fast; note every value that is folded."""
    folded: list[Value] = []
    async with bench(data, clock=ScaledClock(NINE_MS, 20.0), writing=disk.writer) as at:
        fold = at.station.desk.read

        def noting(values: list[Value]) -> None:
            folded.extend(values)
            fold(values)

        at.station.desk.read = noting  # type: ignore[method-assign, assignment]
        at.station.go_live()
        rows = feed(at.runtime)
        try:
            yield at, folded, rows
        finally:
            await rows.aclose()  # type: ignore[attr-defined]


def count_stored(data: Path) -> int:
    store = Store.open(data, read_only=True)
    try:
        assert recompute(store).differences == []
        return sum(1 for channel in store.channels() for _ in store.readings(channel.channel, 0, EVER))
    finally:
        store.close()


@pytest.mark.parametrize("seconds", [30])
def test_a_full_disk_is_told_delays_the_record_and_loses_nothing(data: Path, seconds: int) -> None:
    disk = FullDisk()

    async def work() -> int:
        async with live(data, disk) as (at, folded, rows):
            assert (await heard(rows, "readings"))["stored"] is False
            disk.full = True
            trouble = await heard(rows, "signal")
            assert trouble["name"] == "store_trouble"
            assert "disk is full" in trouble["body"]["found"]
            before, stood = len(folded), at.station.stored_at_ms
            while len(folded) < before + 20 * seconds // 5:
                await heard(rows, "readings")
            assert at.station.stored_at_ms == stood
            refused = await at.ask("note", text="Is anyone writing this down?")
            assert refused["ok"] is False
            assert "Nothing was recorded" in str(refused["error"])
            disk.full = False
            assert (await heard(rows, "signal"))["body"] == {}
            assert (await at.ask("note", text="Written down."))["ok"]
            await at.station.ledger.idle()
            assert [row["body"]["text"] for row in at.rows("note_written")] == ["Written down."]
        return len(folded)

    folded = asyncio.run(asyncio.wait_for(work(), PATIENCE_S))
    assert disk.failed > 0
    assert count_stored(data) == folded


def test_a_request_under_way_when_the_disk_fills_is_answered_when_it_is_written(data: Path) -> None:
    disk = FullDisk()

    async def work() -> None:
        async with live(data, disk) as (at, _, rows):
            await heard(rows, "readings")
            disk.full = True
            asking = asyncio.create_task(at.ask("note", text="Just in time."))
            await heard(rows, "signal")
            assert not asking.done()
            assert at.rows("note_written") == []
            disk.full = False
            assert (await asking)["ok"]
            assert len(at.rows("note_written")) == 1

    asyncio.run(asyncio.wait_for(work(), PATIENCE_S))


def test_a_batch_the_store_can_never_take_is_said_aloud_and_ends_the_station(data: Path) -> None:
    async def work() -> None:
        async with live(data, FullDisk()) as (at, _, rows):
            await heard(rows, "readings")
            async with at.station.desk.lock:
                at.station.desk.note("station_stopped", {"reason": 1})  # a body of another type than registered
                at.station.desk.settle()
            trouble = await heard(rows, "signal")
            assert trouble["name"] == "store_trouble"
            assert trouble["body"]["found"]
            with pytest.raises(StoreError, match="station_stopped"):
                await at.station._tasks[-1]
            rows_then = len(at.kinds())
            async with at.station.desk.lock:
                at.station.desk.note("station_stopped", {"reason": "not to be written any more"})
                at.station.desk.settle()
            await asyncio.sleep(0)
            assert len(at.kinds()) == rows_then

    asyncio.run(asyncio.wait_for(work(), PATIENCE_S))
