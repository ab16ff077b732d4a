"""The total order of inputs: what was asked at an instant acts on the reading of that instant."""

from __future__ import annotations

import itertools

from monitor.bench.inputs import Asked, Break, Input, Tick, order_key
from monitor.bench.readings import Reading


def test_one_instant_is_break_request_readings_by_channel_tick() -> None:
    wanted: list[Input] = [
        Tick(999),
        Break(1000, 1, 2, None, 0),
        Asked(1000, "note_asked", None, "station", {"step": None, "text": "x"}),
        Reading(1000, "room.air_temperature", 20.0),
        Reading(1000, "spatula.tool_temperature", 70.0),
        Tick(1000),
        Reading(1001, "room.air_temperature", 20.0),
    ]
    for shuffled in itertools.permutations(wanted):
        assert sorted(shuffled, key=order_key) == wanted
