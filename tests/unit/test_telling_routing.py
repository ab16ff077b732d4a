"""To whom and when, batch by batch: a message belongs to the batch that was open when it was decided."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from monitor.bench.engine import fresh
from monitor.bench.state import State
from monitor.clock import SimulatedClock
from monitor.station.telling.composing import Composing
from monitor.station.telling.message import Message
from monitor.station.telling.routing import Routing
from monitor.ways import TellConfig, WayConfig
from tests.support.telling import Noted, health_of
from tests.support.told_station import ToldWay

DUE = {"sentence": "Look at the blotters.", "priority": "medium"}


@dataclass
class Desk:
    state: State = field(default_factory=fresh)

    def at_ms(self, mono_ms: int | None) -> int | None:
        return mono_ms


@dataclass
class Ledger:
    stored: int = 3
    on_way: int = 1


class Rig:
    def __init__(self) -> None:
        clock = SimulatedClock()
        self.ledger = Ledger()
        self.ways = [
            ToldWay(config, health_of(config, Noted(), clock))
            for config in (WayConfig("lamp", "lamp"), WayConfig("message", "phone"))
        ]
        composing = Composing("Studio", "quay", simulated=False)
        self.routing = Routing(self.ways, TellConfig(), composing, Desk(), self.ledger, clock)

    def told(self) -> list[list[Message]]:
        return [way.told for way in self.ways]

    def commits(self) -> None:
        self.ledger.stored += 1
        self.ledger.on_way -= 1
        self.routing.committed([])


def test_a_batch_that_was_on_its_way_before_releases_nothing() -> None:
    rig = Rig()
    rig.routing.signal("due", DUE)
    assert [len(told) for told in rig.told()] == [1, 0]
    rig.ledger.on_way += 1  # the batch of the signal is handed over
    rig.commits()
    assert [len(told) for told in rig.told()] == [1, 0], "an older batch"
    rig.commits()
    assert [len(told) for told in rig.told()] == [1, 1]


def test_messages_keep_their_order_and_each_waits_for_its_own_batch() -> None:
    rig = Rig()
    for number in range(3):
        rig.routing.signal("due", {**DUE, "sentence": f"number {number}."})
        rig.ledger.on_way += 1
    rig.commits()
    seen = []
    for _ in range(3):
        rig.commits()
        seen.append([m.sentence for m in rig.ways[1].told])
    assert seen == [["number 0."], ["number 0.", "number 1."], ["number 0.", "number 1.", "number 2."]]


@pytest.mark.parametrize("name", ["store_trouble", "guidance"])
def test_other_signals_are_nobodys(name: str) -> None:
    rig = Rig()
    rig.routing.signal(name, {})
    rig.commits()
    assert rig.told() == [[], []]


def test_how_things_stand_is_told_to_the_slow_ways_only_when_all_of_it_is_stored() -> None:
    rig = Rig()
    rig.routing.changed()
    assert [len(way.stood) for way in rig.ways] == [1, 0]
    rig.ledger.on_way += 1
    rig.commits()
    assert [len(way.stood) for way in rig.ways] == [1, 0]
    rig.commits()
    assert [len(way.stood) for way in rig.ways] == [1, 1]
    rig.routing.changed()
    assert [len(way.stood) for way in rig.ways] == [1, 1], "as before: not told again"
