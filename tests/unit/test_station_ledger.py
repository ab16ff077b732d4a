"""The way to the store: in order, told after the commit, and bounded while nothing can be written."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import Future
from typing import Any

import pytest

from monitor.bench.outputs import Draft
from monitor.bench.readings import Reading
from monitor.clock import Segment
from monitor.errors import StoreError
from monitor.station import ledger as module
from monitor.station.ledger import Entry, Ledger
from monitor.store.batch import Batch

SEGMENT = Segment(1, 1, 0, 0, True)
FULL = StoreError("store", "3600 batches wait", "fewer", "Mend it.")


class Shelf:
    """A writer that keeps futures for the test to settle; refuses while `full`."""

    def __init__(self) -> None:
        self.trouble: StoreError | None = None
        self.full = False
        self.given: list[tuple[Batch, Future[list[dict[str, Any]]]]] = []

    def submit(self, batch: Batch, *, at_once: bool = False) -> Future[list[dict[str, Any]]]:
        if self.full:
            raise FULL
        future: Future[list[dict[str, Any]]] = Future()
        self.given.append((batch, future))
        return future


def batch(*instants: int, drafts: int = 0) -> Batch:
    made = Batch(SEGMENT, [Reading(t, "a.mass", 1.0) for t in instants])
    made.drafts = [Draft("note_written", 1, {"text": str(n)}) for n in range(drafts)]
    return made


def with_ledger(
    work: Callable[[Ledger, Shelf, list[int]], Coroutine[Any, Any, None]], pause: Any = None
) -> list[int]:
    told: list[int] = []

    async def run() -> None:
        shelf = Shelf()

        def stored(entry: Entry, rows: list[dict[str, Any]]) -> None:
            told.append(entry.until_mono_ms)

        at = Ledger(shelf, stored, pause or (lambda _: asyncio.sleep(0)))
        task = asyncio.create_task(at.run())
        try:
            await work(at, shelf, told)
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    asyncio.run(run())
    return told


async def turn() -> None:
    for _ in range(5):
        await asyncio.sleep(0)


def test_batches_go_in_order_and_are_told_after_their_commit() -> None:
    async def work(at: Ledger, shelf: Shelf, told: list[int]) -> None:
        waiter = at.add(batch(1), 1, wait=True)
        at.add(batch(2), 2)
        await turn()
        assert [b.readings[0].mono_ms for b, _ in shelf.given] == [1, 2]
        assert told == []
        assert waiter is not None
        assert not waiter.done()
        for _, future in shelf.given:
            future.set_result([])
        await waiter
        await at.idle()
        assert told == [1, 2]
        assert at.stored == 2
        assert at.on_way == 0

    with_ledger(work)


def test_what_the_writer_cannot_hold_waits_and_goes_later_in_order() -> None:
    async def work(at: Ledger, shelf: Shelf, told: list[int]) -> None:
        shelf.full = True
        for number in (1, 2, 3):
            at.add(batch(number), number)
        await turn()
        assert shelf.given == []
        assert at.on_way == 3
        shelf.full = False
        await turn()
        assert [b.readings[0].mono_ms for b, _ in shelf.given] == [1, 2, 3]

    with_ledger(work)


def test_memory_is_bounded_by_giving_up_the_oldest_readings_and_never_an_event(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "MOST_WAITING", 4)

    async def work(at: Ledger, shelf: Shelf, told: list[int]) -> None:
        shelf.full = True
        at.add(batch(1, 2, drafts=1), 2)
        at.add(batch(3, 4), 4)
        at.add(batch(5, 6), 6)
        await turn()
        assert at.lost_readings == 2
        shelf.full = False
        await turn()
        assert [[r.mono_ms for r in b.readings] for b, _ in shelf.given] == [[], [3, 4], [5, 6]]
        assert len(shelf.given[0][0].drafts) == 1

    with_ledger(work)


def test_a_batch_that_can_never_be_stored_is_told_to_who_waits_and_kept_in_mind(
    caplog: pytest.LogCaptureFixture,
) -> None:
    async def work(at: Ledger, shelf: Shelf, told: list[int]) -> None:
        waiter = at.add(batch(1), 1, wait=True)
        at.add(batch(2), 2)
        await turn()
        shelf.given[0][1].set_exception(StoreError("store", "a batch was refused", "rows", "Report this."))
        shelf.given[1][1].set_result([])
        assert waiter is not None
        with pytest.raises(StoreError, match="a batch was refused"):
            await waiter
        await at.idle()
        assert told == [2]
        assert len(at.refused) == 1

    with_ledger(work)
    assert "could not be stored" in caplog.text


def test_the_writers_trouble_is_the_ledgers() -> None:
    async def work(at: Ledger, shelf: Shelf, told: list[int]) -> None:
        assert at.trouble is None
        shelf.trouble = FULL
        assert at.trouble is FULL

    with_ledger(work)
