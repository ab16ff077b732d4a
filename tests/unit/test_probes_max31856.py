"""The MAX31856 through its own driver: reference words, settings, fault bits, silent lines."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.bench.readings import Quality
from monitor.clock import SimulatedClock
from monitor.probes.bus import QueuedSPI
from monitor.probes.drivers.max31856 import FAULTS, TYPE_LETTERS, read_registers
from monitor.probes.wire.max31856_chip import Max31856Chip
from monitor.probes.wire.simulated_spi import SimulatedSPI
from monitor.probes.wire.still_world import StillWorld
from monitor.probes.wire.wire_time import WireTime
from tests.support.probes import RegisterSPI, spatula_over

REFERENCE = Path(__file__).parents[1] / "reference" / "max31856_words.csv"
ROWS = list(csv.DictReader(REFERENCE.read_text().splitlines()))
COLD_25 = bytes.fromhex("1900")


def chip_with(tool: bytes, cold: bytes = COLD_25, status: int = 0) -> RegisterSPI:
    bus = RegisterSPI()
    bus.registers[0x0A:0x10] = cold + tool + bytes((status,))
    return bus


@pytest.mark.parametrize("row", [r for r in ROWS if r["register"] == "thermocouple"], ids=lambda r: r["raw"])
def test_reference_words_of_the_thermocouple(row: dict[str, str]) -> None:
    (sample,) = spatula_over(chip_with(bytes.fromhex(row["raw"][2:]))).read()
    assert (sample.value, sample.quality) == (float(row["value_c"]), Quality.GOOD)
    assert sample.raw == f"{row['raw'][2:].lower()} 1900 00 910300"


@pytest.mark.parametrize("row", [r for r in ROWS if r["register"] == "cold_junction"], ids=lambda r: r["raw"])
def test_reference_words_of_the_cold_junction(row: dict[str, str]) -> None:
    cold_c = float(row["value_c"])
    probe = spatula_over(chip_with(bytes.fromhex("041000"), cold=bytes.fromhex(row["raw"][2:])))
    (sample,) = probe.read()
    if 0 <= cold_c <= 60:
        assert sample.value == 65.0
    else:
        assert sample.quality is Quality.OUT_OF_RANGE
        assert probe.trouble is not None
        assert f"{cold_c:.1f} °C" in probe.trouble.detail


@given(ticks=st.integers(-(250 * 128), 1800 * 128))
def test_every_word_negative_ones_too_comes_back_exactly(ticks: int) -> None:
    (sample,) = spatula_over(chip_with((ticks << 5 & 0xFFFFFF).to_bytes(3, "big"))).read()
    assert sample.value == ticks / 128


def test_type_letters_have_the_drivers_codes() -> None:
    from adafruit_max31856 import ThermocoupleType

    assert [getattr(ThermocoupleType, letter) for letter in TYPE_LETTERS] == list(range(8))


@given(tool_c=st.floats(-200, 1372))
def test_the_simulated_converter_lies_within_half_a_step_of_the_world(tool_c: float) -> None:
    time = WireTime(SimulatedClock())
    (sample,) = spatula_over(SimulatedSPI(time, Max31856Chip("spatula", StillWorld(tool_c=tool_c), time))).read()
    assert sample.value == pytest.approx(tool_c, abs=1 / 256 + 1e-9)


def test_settings_are_written_in_the_order_the_part_asks_for() -> None:
    bus = chip_with(bytes(3))
    bus.registers[0x01], bus.registers[0x09] = 0x43, 0x10  # averaging and an offset left by someone else
    spatula_over(bus)
    cr0_writes = [t[1] for t in bus.transfers if t[0] == 0x80]
    assert cr0_writes == [0x10, 0x11, 0x91], "the filter is set before conversion starts"
    assert bus.registers[:3].hex() == "910300"
    assert bus.registers[0x09] == 0
    assert bus.slept_s >= 0.185


BITS = {"cj_range": 0x80, "tc_range": 0x40, "cj_high": 0x20, "cj_low": 0x10, "tc_high": 8, "tc_low": 4} | {
    "voltage": 2,
    "open_tc": 1,
}


@pytest.mark.parametrize(("key", "quality", "words"), FAULTS)
def test_every_fault_bit_voids_the_number(key: str, quality: Quality, words: str) -> None:
    probe = spatula_over(chip_with(bytes.fromhex("041000"), status=BITS[key]))
    (sample,) = probe.read()
    assert (sample.value, sample.quality) == (None, quality)
    assert probe.trouble is not None
    assert probe.trouble.detail == words


def test_an_open_thermocouple_is_told_by_its_bit_alone(clock: SimulatedClock) -> None:
    (sample,) = spatula_over(chip_with(bytes.fromhex("041000"), status=1)).read()
    assert sample.raw.startswith("041000"), "the number looks well"
    assert sample.quality is Quality.OPEN


@pytest.mark.parametrize("register", [0x00, 0x01, 0x02, 0x09])
@pytest.mark.parametrize("bit", range(8))
def test_any_changed_bit_of_the_settings_is_a_reset_and_is_set_right(register: int, bit: int) -> None:
    bus = chip_with(bytes.fromhex("041000"))
    probe = spatula_over(bus)
    before = bytes(bus.registers[:10])
    bus.registers[register] ^= 1 << bit
    assert [(s.value, s.quality) for s in probe.read()] == [(None, Quality.RESET)]
    assert bytes(bus.registers[:10]) == before
    assert probe.read()[0].quality is Quality.RESET, "the first conversion is not over"
    bus.sleep(0.2)
    assert probe.read()[0].value == 65.0


class Held(QueuedSPI):
    """A line held at one level."""

    def __init__(self, level: int) -> None:
        super().__init__()
        self.level = level

    def sleep(self, seconds: float) -> None:
        raise AssertionError("an absent chip is not waited for")

    def _transfer(self, out: bytes) -> bytes:
        return bytes((self.level,)) * len(out)


@pytest.mark.parametrize(("level", "quality"), [(0x00, Quality.ABSENT), (0xFF, Quality.BUS)])
def test_a_line_that_never_moves_gives_no_number_and_does_not_hang(level: int, quality: Quality) -> None:
    probe = spatula_over(Held(level))
    for _ in range(3):
        assert [(s.value, s.quality) for s in probe.read()] == [(None, quality)]


def test_two_chips_do_not_share_the_drivers_buffer() -> None:
    import adafruit_max31856

    first, second = spatula_over(chip_with(bytes(3))), spatula_over(chip_with(bytes(3)))
    assert first._chip is not None
    assert second._chip is not None
    buffers = [first._chip.sensor._BUFFER, second._chip.sensor._BUFFER, adafruit_max31856.MAX31856._BUFFER]
    assert len({id(b) for b in buffers}) == 3


def test_the_chip_holds_a_result_until_the_next_conversion(clock: SimulatedClock) -> None:
    time, world = WireTime(clock), StillWorld(tool_c=60.0)
    probe = spatula_over(SimulatedSPI(time, Max31856Chip("spatula", world, time)))
    assert probe.read()[0].value == 60.0
    world.tool_c = 70.0
    assert probe.read()[0].value == 60.0
    time.sleep(0.1)
    assert probe.read()[0].value == 70.0


def test_a_single_conversion_takes_its_time_and_clears_its_flag(clock: SimulatedClock) -> None:
    time = WireTime(clock)
    bus = SimulatedSPI(time, Max31856Chip("spatula", StillWorld(), time))
    import adafruit_max31856

    sensor = adafruit_max31856.MAX31856(bus, None)
    sensor.initiate_one_shot_measurement()
    time.sleep(0.18)
    assert sensor.oneshot_pending
    time.sleep(0.01)
    assert not sensor.oneshot_pending
    assert sensor.unpack_temperature() == 65.0


def test_reading_registers_is_one_transfer_that_begins_with_the_address() -> None:
    bus = RegisterSPI()
    bus.registers[:3] = b"\x91\x03\x00"
    assert read_registers(bus, 0x00, 3) == b"\x91\x03\x00"
    assert bus.transfers == [b"\x00\x00\x00\x00"]
