"""Sick wires: a driver that hangs becomes gaps, and one changed checksum byte is seen in the day-book."""

from __future__ import annotations

import asyncio
import shutil
import threading
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from monitor.bench.readings import Quality
from monitor.probes.wire.sht4x_chip import Sht4xChip
from monitor.probes.wire.still_world import StillWorld
from monitor.station import sampler
from tests.support.stations import NINE_MS, ROOM_ONLY, bench

RH = "room.relative_humidity"
TOOL = "spatula.tool_temperature"
EVER = 2**62


class HangingWorld(StillWorld):
    """A tool whose chip does not let go of the wire until it is told to."""

    def __init__(self) -> None:
        super().__init__()
        self.hangs = False
        self.hung = 0
        self.release = threading.Event()

    def junction_c(self, probe: str) -> float:
        if self.hangs:
            self.hangs = False
            self.hung += 1
            self.release.wait(20)
        return self.tool_c


def test_a_read_that_hangs_becomes_gaps_and_the_other_bus_goes_on(
    data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sampler, "READ_DEADLINE_S", 0.1)

    async def work() -> None:
        world = HangingWorld()
        async with bench(data, world=world, threaded=True) as at:
            await at.station.run_until(5_100)
            world.hangs = True
            await at.station.run_until(12_000)
            tool = [(r.at_ms, r.value, r.quality) for r in at.store.readings(TOOL, NINE_MS, EVER)]
            gaps = [at_ms for at_ms, value, quality in tool if value is None and quality is Quality.BUS]
            assert world.hung == 1
            assert gaps, "the hung read left no gap"
            assert min(gaps) >= NINE_MS + 5_000
            # the bus was opened anew, and with it the chip, which says so once
            after = [(value, quality) for at_ms, value, quality in tool if at_ms > max(gaps)]
            assert after[0] == (None, Quality.RESET)
            assert len(after) > 20
            assert {value for value, _ in after[1:]} == {65.0}
            room = [r.at_ms - NINE_MS for r in at.store.readings(RH, NINE_MS, EVER)]
            assert len(room) >= 12
            assert max(b - a for a, b in pairwise(room)) <= 1_001
            world.release.set()

    asyncio.run(work())


def damp_air(data: Path, spoil_at: int, monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """Let the air be too damp for eight minutes; one reading's checksum byte, read twice, may be flipped."""
    measured = 0
    answer = Sht4xChip.read

    def read(chip: Sht4xChip, count: int) -> bytes:
        nonlocal measured
        reply = answer(chip, count)
        measured += 1
        return reply[:5] + bytes((reply[5] ^ 1,)) + reply[6:] if measured in (spoil_at, spoil_at + 1) else reply

    async def work() -> list[dict[str, Any]]:
        async with bench(data, world=StillWorld(rh_pct=62.0), studio=ROOM_ONLY, batch_ms=60_000) as at:
            await at.station.run_until(500_000)
            return list(at.store.daybook())

    with monkeypatch.context() as patch:
        patch.setattr(Sht4xChip, "read", read)
        return asyncio.run(work())


def test_one_flipped_checksum_byte_on_the_wire_changes_the_day_book(
    migrated_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    days = {}
    for name, spoil_at in (("sound", -9), ("again", -9), ("spoilt", 120)):
        folder = Path(shutil.copytree(migrated_folder, tmp_path / name))
        days[name] = damp_air(folder, spoil_at, monkeypatch)
    assert days["sound"] == days["again"]
    assert days["sound"] != days["spoilt"]
    raised = {name: next(r for r in rows if r["kind"] == "alarm_raised") for name, rows in days.items()}
    # nothing was known for one reading: the delay of 300 s begins anew with the next
    assert raised["sound"]["mono_ms"] < 302_000
    assert 415_000 <= raised["spoilt"]["mono_ms"] <= 421_000
