"""The temperature of a tool, or of what else a thermocouple on a MAX31856 touches, through its own driver.

The chip converts by itself about ten times a second with its 50 Hz filter; a read fetches the last
result. The driver's own `temperature` is never used: it waits for a flag, for ever if no chip is there.
SPI has no checksum and no acknowledgement, so each read ends by comparing the chip's settings with
those written: a chip that lost its supply, or a line that floats, shows there and gives no number.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from monitor.bench.readings import Quality
from monitor.config import ProbeConfig
from monitor.probes.bus import BusLine, SPIBus
from monitor.probes.driver_time import bind, sleeping_on
from monitor.probes.probe import Sample
from monitor.probes.wired import NoReading, WiredProbe, on_grid

QUANTITY = "tool_temperature"
"""What it measures unless the configuration says what else it touches."""
FIRST_RESULT_S = 0.19
"""Wait from the start of automatic conversion to the first result (recalled, data sheet: 185 ms at most)."""
CR0_AUTO_50HZ_OPEN_DETECTION = 0x91
TYPE_LETTERS = "BEJKNRST"
"""In the order of the chip's type codes, which start at 0."""
COLD_JUNCTION_C = (0.0, 60.0)
"""What a terminal block beside a bench can be, in degC (ours, grade proposal)."""
FAULTS: tuple[tuple[str, Quality, str], ...] = (
    ("open_tc", Quality.OPEN, "the thermocouple is open"),
    ("voltage", Quality.SHORTED, "an input is pulled outside the chip's supply"),
    ("tc_range", Quality.OUT_OF_RANGE, "the thermocouple is outside its type's range"),
    ("cj_range", Quality.OUT_OF_RANGE, "the cold junction is outside the chip's range"),
    ("cj_high", Quality.OUT_OF_RANGE, "the cold junction is above the chip's limit"),
    ("cj_low", Quality.OUT_OF_RANGE, "the cold junction is below the chip's limit"),
    ("tc_high", Quality.OUT_OF_RANGE, "the thermocouple is above the chip's limit"),
    ("tc_low", Quality.OUT_OF_RANGE, "the thermocouple is below the chip's limit"),
)


@dataclass(frozen=True, slots=True)
class _Chip:
    bus: SPIBus
    sensor: Any
    trusted_from_s: float


class LostSettings(NoReading):
    """The chip holds other settings than those written: its supply failed, or it was exchanged."""


class Max31856Probe(WiredProbe):
    """One MAX31856 and its thermocouple behind a chip select."""

    def __init__(self, config: ProbeConfig, line: BusLine[SPIBus], *, simulated: bool) -> None:
        super().__init__(config, line, (config.quantity or QUANTITY,), simulated=simulated)
        self._chip: _Chip | None = None

    def settle(self) -> None:
        """Wait for the first conversion of a chip just set up; several chips wait for it together."""
        chip = self._chip
        if chip is not None and (left_s := chip.trusted_from_s - chip.bus.now_s()) > 0:
            chip.bus.sleep(left_s)

    def _open(self) -> None:
        self._start(self.line.get())

    def _start(self, bus: SPIBus) -> None:
        """Write every setting and compare; NoReading unless the chip holds them."""
        import adafruit_max31856

        if bus.simulated:
            bind(adafruit_max31856)
        with sleeping_on(bus):
            sensor = _own_buffer(adafruit_max31856)(bus, None, self._type_code())
            # Written whole: averaging or an offset left in the chip by another program would shift every reading.
            write_register(bus, 0x01, self._type_code())
            write_register(bus, 0x09, 0x00)
            sensor.noise_rejection = 50  # before conversion starts: the filter may change only while it rests
            sensor.start_autoconverting()
            self._compare(bus)
        self._chip = _Chip(bus, sensor, bus.now_s() + FIRST_RESULT_S)

    def _read(self) -> list[Sample]:
        bus = self.line.get()
        chip = self._chip
        if chip is None or chip.bus is not bus:
            self._start(bus)
            raise NoReading(Quality.RESET, "the chip was found and set up; its first result is awaited")
        with sleeping_on(bus):
            try:
                return self._samples(chip)
            except LostSettings:
                self._chip = None
                self._start(bus)
                raise

    def _samples(self, chip: _Chip) -> list[Sample]:
        there_c = chip.sensor.unpack_temperature()
        raw = chip.bus.last_read.hex()
        cold_c = chip.sensor.unpack_reference_temperature()
        raw += f" {chip.bus.last_read.hex()}"
        faults = chip.sensor.fault
        raw += f" {chip.bus.last_read.hex()}"
        # Last, so that a reset at any moment of this read is seen.
        raw += f" {self._compare(chip.bus)}"
        if chip.bus.now_s() < chip.trusted_from_s:
            raise NoReading(Quality.RESET, "the first result after setting up is awaited", raw)
        for key, quality, words in FAULTS:
            if faults[key]:
                raise NoReading(quality, words, raw)
        if not COLD_JUNCTION_C[0] <= cold_c <= COLD_JUNCTION_C[1]:
            raise NoReading(Quality.OUT_OF_RANGE, f"a cold junction at {cold_c:.1f} °C is not believable", raw)
        return [Sample(q, on_grid(q, there_c), Quality.GOOD, raw) for q in self.quantities]

    def _compare(self, bus: SPIBus) -> str:
        """Read the settings back; their bytes in hexadecimal, or NoReading where they are not ours."""
        came = read_registers(bus, 0x00, 10)
        if came == bytes(10):
            raise NoReading(Quality.ABSENT, "every bit is zero: nothing drives the line", came.hex())
        if came == b"\xff" * 10:
            raise NoReading(Quality.BUS, "every bit is one: the line is held high", came.hex())
        wanted = bytes((CR0_AUTO_50HZ_OPEN_DETECTION, self._type_code(), 0x00))
        if came[:3] != wanted or came[9] != 0:
            found = f"{came[:3].hex(' ')} {came[9]:02x}, expected {wanted.hex(' ')} 00"
            raise LostSettings(Quality.RESET, f"the chip lost its settings: {found}", came.hex())
        return came[:3].hex()

    def _type_code(self) -> int:
        return TYPE_LETTERS.index(self.config.thermocouple or "K")

    def _lost(self, quality: Quality) -> None:
        # Nothing is known of a chip that fell silent: the next read sets it up anew.
        if quality in (Quality.ABSENT, Quality.BUS):
            self._chip = None


def read_registers(bus: SPIBus, first: int, count: int) -> bytes:
    """Read registers in one transfer, for those the driver has no call for."""
    came = bytearray(count)
    bus.try_lock()
    try:
        bus.write(bytes((first,)))
        bus.readinto(came)
    finally:
        bus.unlock()
    return bytes(came)


def write_register(bus: SPIBus, register: int, value: int) -> None:
    """Write one register; a write's address has its top bit set."""
    bus.try_lock()
    try:
        bus.write(bytes((register | 0x80, value)))
    finally:
        bus.unlock()


@cache
def _own_buffer(driver: Any) -> Any:  # noqa: ANN401 - the library has no types
    """Give the driver's class with a buffer for each instance.

    The driver keeps one buffer for all chips of the process and says itself that it is not thread
    safe. All SPI buses therefore share one worker thread; the buffers are kept apart as well because a
    thread abandoned inside a transfer may wake later.
    """

    class OwnBuffer(driver.MAX31856):  # type: ignore[misc]
        def __init__(self, *args: object) -> None:
            self._BUFFER = bytearray(4)
            super().__init__(*args)

    return OwnBuffer
