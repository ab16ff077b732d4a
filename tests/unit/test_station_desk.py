"""The desk: one total order, batches that hold together, and an audience that is told at once."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

import pytest

from monitor.bench.inputs import order_key
from monitor.bench.readings import Quality
from monitor.bench.state_json import load
from monitor.bench.ticking import Fold
from monitor.clock import Segment, SimulatedClock
from monitor.station.desk import SNAPSHOT_MS, Desk
from monitor.station.sampler import Value
from monitor.store.batch import Batch
from tests.support.folds import TOOL, sheet

ROOM = "room.air_temperature"
SETTINGS = [{"channel": name, "interval_ms": 1000, "bench": "north"} for name in (TOOL, ROOM)]
BOUND = [{"role": "tool", "probe": "spatula", "touches": "shank", "channels": [TOOL]}]


class Ears:
    """An audience that remembers."""

    def __init__(self) -> None:
        self.heard: list[tuple[str, Any]] = []

    def readings(self, rows: list[list[Any]]) -> None:
        self.heard.append(("readings", rows))

    def estimates(self, rows: list[list[Any]]) -> None:
        self.heard.append(("estimates", rows))

    def signal(self, name: str, body: dict[str, Any]) -> None:
        self.heard.append(("signal", name))

    def changed(self, *, at_once: bool) -> None:
        self.heard.append(("changed", at_once))


class Tray:
    """A ledger that keeps what it is given."""

    def __init__(self) -> None:
        self.batches: list[tuple[Batch, int]] = []

    def add(self, batch: Batch, until_mono_ms: int, *, wait: bool = False) -> asyncio.Future[None] | None:
        self.batches.append((batch, until_mono_ms))
        return asyncio.get_running_loop().create_future() if wait else None


def at_desk(work: Callable[[Desk, SimulatedClock, Tray, Ears], None], *, begun: bool = True) -> None:
    async def run() -> None:
        clock, tray, ears = SimulatedClock(start_wall_ms=1_000_000), Tray(), Ears()
        segment = Segment(1, 1, 0, 1_000_000, True)
        desk = Desk(clock, Fold(), segment, tray, ears)  # type: ignore[arg-type]
        if begun:
            desk.begin(segment, None)
            desk.ask("settings_in_force", {"engine": 1, "channels": SETTINGS}, by=None, via="station")
            desk.read([good(ROOM, 20.0)])  # the first round of a start is handed over at once
            desk.settle()
            tray.batches.clear()
            ears.heard.clear()
        work(desk, clock, tray, ears)

    asyncio.run(run())


def good(channel: str, value: float) -> Value:
    return Value(channel, value, Quality.GOOD)


def note(desk: Desk, text: str = "x") -> None:
    assert desk.ask("note_asked", {"step": None, "text": text}, by="MK", via="browser:test") is None


def test_inputs_of_one_instant_keep_the_total_order() -> None:
    def work(desk: Desk, clock: SimulatedClock, tray: Tray, ears: Ears) -> None:
        clock.move_to(500)
        desk.read([good(TOOL, 70.0), good(ROOM, 20.0)])
        note(desk)
        desk.read([good(ROOM, 20.1)])
        note(desk)
        desk.settle()
        (batch, until) = tray.batches[-1]
        keys = [order_key(r) for r in batch.readings]
        assert keys == sorted(keys)
        assert [(r.channel, r.mono_ms) for r in batch.readings] == [(ROOM, 500), (TOOL, 500), (ROOM, 501)]
        assert [d.mono_ms for d in batch.drafts if d.kind == "note_asked"] == [501, 502]
        assert until == 502

    at_desk(work)


def test_the_first_round_of_a_start_is_handed_over_at_once() -> None:
    def work(desk: Desk, clock: SimulatedClock, tray: Tray, ears: Ears) -> None:
        segment = Segment(1, 1, 0, 1_000_000, True)
        desk.begin(segment, None)
        desk.ask("settings_in_force", {"engine": 1, "channels": SETTINGS}, by=None, via="station")
        desk.settle()
        clock.move_to(50)
        desk.read([good(ROOM, 20.0)])
        desk.settle()
        assert [len(batch.readings) for batch, _ in tray.batches] == [0, 1]
        clock.move_to(150)
        desk.read([good(ROOM, 20.0)])
        desk.settle()
        assert len(tray.batches) == 2

    at_desk(work, begun=False)


def test_readings_alone_wait_for_a_second_and_an_event_takes_them_along() -> None:
    def work(desk: Desk, clock: SimulatedClock, tray: Tray, ears: Ears) -> None:
        for t in range(100, 1000, 100):
            clock.move_to(t)
            desk.read([good(ROOM, 20.0)])
            desk.settle()
        assert tray.batches == []
        clock.move_to(1000)
        desk.read([good(ROOM, 20.0)])
        desk.settle()
        assert len(tray.batches[0][0].readings) == 10
        clock.move_to(1100)
        desk.read([good(ROOM, 20.0)])
        note(desk)
        desk.settle()
        assert [d.kind for d in tray.batches[1][0].drafts] == ["note_asked", "note_written"]
        assert len(tray.batches[1][0].readings) == 1

    at_desk(work)


def test_the_audience_hears_before_anything_is_stored() -> None:
    def work(desk: Desk, clock: SimulatedClock, tray: Tray, ears: Ears) -> None:
        clock.move_to(100)
        desk.read([good(ROOM, 20.0), Value(TOOL, None, Quality.OPEN)])
        desk.settle()
        assert tray.batches == []
        rows = [[ROOM, 1_000_100, 20.0, "good"], [TOOL, 1_000_100, None, "open"]]
        assert ears.heard == [("readings", rows), ("changed", False)]

    at_desk(work)


def test_a_state_is_kept_with_an_event_and_every_minute_but_never_during_a_contact() -> None:
    def work(desk: Desk, clock: SimulatedClock, tray: Tray, ears: Ears) -> None:
        note(desk)
        desk.settle()
        kept = tray.batches[-1][0].snapshot
        assert kept is not None
        assert load(kept.state).revision == desk.state.revision
        clock.move_to(SNAPSHOT_MS)
        desk.read([good(ROOM, 20.0)])
        desk.settle()
        assert tray.batches[-1][0].snapshot is not None
        template = sheet(places=True).as_json()
        body = {"step": "s1", "sheet": template, "painting": None, "bench": "north", "bindings": BOUND,
                "side": "A", "places": 2, "sandwich": None, "answers": []}  # fmt: skip
        assert desk.ask("step_asked", body, by="MK", via="browser:test") is None
        mark = {"step": "s1", "mark": "down", "place": None, "age_ms": 0}
        assert desk.ask("mark_asked", mark, by="MK", via="pedal") is None
        desk.settle()
        assert tray.batches[-1][0].snapshot is None
        assert desk.ask("mark_asked", {**mark, "mark": "lift"}, by="MK", via="pedal") is None
        desk.settle()
        assert tray.batches[-1][0].snapshot is not None

    at_desk(work)


def test_a_refused_request_leaves_no_row_and_still_gets_its_answer_kept() -> None:
    def work(desk: Desk, clock: SimulatedClock, tray: Tray, ears: Ears) -> None:
        refusal = desk.ask("finish_asked", {"step": "s9"}, by="MK", via="browser:test")
        assert refusal is not None
        assert refusal.thing == "step s9"
        assert desk.settle(answers={"r1": {"ok": False}}, wait=True) is not None
        (batch, _) = tray.batches[-1]
        assert batch.drafts == []
        assert batch.answers == {"r1": {"ok": False}}

    at_desk(work)


def test_a_new_segment_begins_a_batch_of_its_own() -> None:
    def work(desk: Desk, clock: SimulatedClock, tray: Tray, ears: Ears) -> None:
        clock.move_to(400)
        desk.read([good(ROOM, 20.0)])
        desk.begin(Segment(2, 1, 400, 9_000_000, True), 0)
        desk.read([good(ROOM, 20.1)])
        desk.settle()
        (before, _), (after, _) = tray.batches
        assert (before.segment.segment, len(before.readings)) == (1, 1)
        assert after.segment == Segment(2, 1, 401, 9_000_000, True)
        assert after.drafts[0].body["reason"] == "clock set"
        assert after.readings[0].mono_ms == 401

    at_desk(work)


def test_dating_a_segment_loses_nothing_that_was_gathered() -> None:
    def work(desk: Desk, clock: SimulatedClock, tray: Tray, ears: Ears) -> None:
        clock.move_to(400)
        desk.read([good(ROOM, 20.0)])
        desk.date(Segment(1, 1, 0, 5_000_000, True))
        assert len(tray.batches[-1][0].readings) == 1
        assert desk.at_ms(400) == 5_000_400

    at_desk(work)


def test_a_body_is_folded_as_the_record_will_give_it_back() -> None:
    """The order of keys is part of what is folded: limits are judged in it."""

    def work(desk: Desk, clock: SimulatedClock, tray: Tray, ears: Ears) -> None:
        assert desk.ask("painting_asked", {"support": "", "number": "1", "name": "n", "beware": []},
                        by="MK", via="browser:test") is None  # fmt: skip
        desk.settle()
        assert list(tray.batches[-1][0].drafts[0].body) == ["beware", "name", "number", "support"]
        with pytest.raises(TypeError):
            desk.ask("note_asked", {"step": None, "text": 1.5}, by="MK", via="browser:test")

    at_desk(work)
