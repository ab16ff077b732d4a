"""The SHT4x's words through its own driver: reference rows, changed bits, retries, timing."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.bench.readings import Quality
from monitor.clock import SimulatedClock
from monitor.probes.drivers.sht4x import unclipped_rh_pct
from monitor.probes.opening import open_probes
from monitor.probes.wire import sht4x_chip
from monitor.probes.wire.crc import crc8
from monitor.probes.wire.sht4x_chip import Sht4xChip, word
from monitor.probes.wire.simulated_i2c import SimulatedI2C
from monitor.probes.wire.still_world import StillWorld
from monitor.probes.wire.wire_time import WireTime
from tests.support.probes import ROOM, STUDIO, ScriptedI2C, room_over

REFERENCE = Path(__file__).parents[1] / "reference" / "sht4x_words.csv"
ROWS = list(csv.DictReader(REFERENCE.read_text().splitlines()))
BEYOND = {"0x0000", "0xFFFF"}
words = st.integers(0, 0xFFFF).map(lambda n: n.to_bytes(2, "big"))
believable = st.integers(2000, 63000).map(lambda n: n.to_bytes(2, "big"))


def reply_of(first: bytes, second: bytes) -> bytes:
    return first + bytes((crc8(first),)) + second + bytes((crc8(second),))


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r["word"])
def test_reference_words(row: dict[str, str]) -> None:
    ticks = bytes.fromhex(row["word"][2:])
    assert int(row["ticks"]) == int.from_bytes(ticks, "big")
    assert crc8(ticks) == int(row["crc8"], 16)
    reply = ticks + bytes.fromhex(row["crc8"][2:]) + ticks + bytes.fromhex(row["crc8"][2:])
    assert unclipped_rh_pct(reply) == pytest.approx(float(row["rh_unclipped_pct"]), abs=5e-5)
    air, rh = room_over(ScriptedI2C(reply)).read()
    if row["word"] in BEYOND:
        assert (air.value, rh.value, air.quality) == (None, None, Quality.OUT_OF_RANGE)
        return
    assert air.value == pytest.approx(float(row["air_c"]), abs=0.00501)
    assert rh.value == pytest.approx(float(row["rh_clipped_pct"]), abs=0.00501)
    clipped = row["rh_unclipped_pct"] != row["rh_clipped_pct"]
    assert rh.quality is (Quality.CLIPPED if clipped else Quality.GOOD)
    assert air.raw == reply.hex()


@given(first=words, second=words, bit=st.integers(0, 47))
def test_any_single_changed_bit_is_noticed(first: bytes, second: bytes, bit: int) -> None:
    changed = bytearray(reply_of(first, second))
    changed[bit // 8] ^= 1 << bit % 8
    for sample in room_over(ScriptedI2C(bytes(changed))).read():
        assert (sample.value, sample.quality) == (None, Quality.CHECKSUM)


@given(first=believable, second=words)
def test_a_whole_reply_is_believed_and_its_humidity_stays_in_its_scale(first: bytes, second: bytes) -> None:
    air, rh = room_over(ScriptedI2C(reply_of(first, second))).read()
    assert air.quality is Quality.GOOD
    assert rh.value is not None
    assert 0 <= rh.value <= 100
    assert (rh.quality is Quality.CLIPPED) == (not 0 <= unclipped_rh_pct(reply_of(first, second)) <= 100)


@given(celsius=st.floats(-40, 125), rh_pct=st.floats(-6, 119))
def test_the_simulated_words_lie_within_half_a_step_of_the_world(celsius: float, rh_pct: float) -> None:
    reply = reply_of(word(celsius, -45, 175), word(rh_pct, -6, 125))
    assert unclipped_rh_pct(reply) == pytest.approx(rh_pct, abs=125 / 65535 / 2 + 1e-9)
    read_c = -45 + 175 * int.from_bytes(reply[:2], "big") / 65535
    assert read_c == pytest.approx(celsius, abs=175 / 65535 / 2 + 1e-9)


def test_one_changed_reply_is_read_once_more() -> None:
    good, bad = reply_of(b"\x60\x00", b"\x70\x00"), b"\x60\x00\x00\x70\x00\x00"
    bus = ScriptedI2C(bad, good)
    assert [s.quality for s in room_over(bus).read()] == [Quality.GOOD, Quality.GOOD]
    assert bus.commands.count(0xFD) == 2


def test_two_changed_replies_make_a_gap_and_no_third_try() -> None:
    bad = b"\x60\x00\x00\x70\x00\x00"
    bus = ScriptedI2C(bad)
    assert {s.quality for s in room_over(bus).read()} == {Quality.CHECKSUM}
    assert bus.commands.count(0xFD) == 2


def test_a_changed_serial_number_is_not_believed() -> None:
    bus = ScriptedI2C(reply_of(b"\x60\x00", b"\x70\x00"), serial=bytes.fromhex("000081000082"))
    probe = room_over(bus)
    assert probe.serial == ""
    assert {s.quality for s in probe.read()} == {Quality.CHECKSUM}


def test_an_exchanged_sensor_gives_its_own_serial_number(clock: SimulatedClock) -> None:
    time, world = WireTime(clock), StillWorld()
    chips = {0x44: Sht4xChip("first", world, time)}
    probe = room_over(SimulatedI2C(time, chips))
    before = probe.serial
    del chips[0x44]
    assert {s.quality for s in probe.read()} == {Quality.ABSENT}
    chips[0x44] = Sht4xChip("second", world, time)
    assert {s.quality for s in probe.read()} == {Quality.GOOD}
    assert probe.serial not in ("", before)


def test_a_read_before_the_conversion_is_not_acknowledged(clock: SimulatedClock) -> None:
    time = WireTime(clock)
    chip = Sht4xChip("room", StillWorld(), time)
    chip.write(b"\xfd")
    time.sleep(0.0082)
    with pytest.raises(OSError, match="Remote I/O"):
        chip.read(6)
    time.sleep(0.0002)
    assert len(chip.read(6)) == 6
    with pytest.raises(OSError, match="Remote I/O"):
        chip.read(6)


def test_a_changed_checksum_of_the_simulated_wire_matters(
    clock: SimulatedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = open_probes(STUDIO, sensed=StillWorld(), clock=clock, threaded=False)
    assert {s.quality for s in opened.probes[0].read()} == {Quality.GOOD}
    monkeypatch.setattr(sht4x_chip, "crc8", lambda data: crc8(data) ^ 0x01)
    assert {s.quality for s in opened.probes[0].read()} == {Quality.CHECKSUM}
    assert opened.close()


def test_reading_lets_the_wires_time_pass_and_leaves_the_studios_alone(clock: SimulatedClock) -> None:
    time = WireTime(clock)
    probe = room_over(SimulatedI2C(time, {ROOM.address: Sht4xChip("room", StillWorld(), time)}))
    before_us = time.now_us()
    probe.read()
    assert time.now_us() - before_us == 10_000
    assert clock.mono_ms() == 0
