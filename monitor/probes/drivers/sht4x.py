"""Air temperature and humidity from an SHT4x, through its own driver."""

from __future__ import annotations

import errno
from typing import Any

from monitor.bench.readings import Quality
from monitor.config import ProbeConfig
from monitor.probes.bus import BusLine, I2CBus
from monitor.probes.driver_time import bind, sleeping_on
from monitor.probes.probe import Sample
from monitor.probes.wired import NoReading, WiredProbe, from_os_error, on_grid

QUANTITIES = ("air_temperature", "relative_humidity")
AIR_C = (-40.0, 125.0)
"""What the part is made to measure, in degC (recalled, data sheet); its words go further and mean nothing there."""
SILENT_LEVELS = (bytes(6), b"\xff" * 6)


def unclipped_rh_pct(reply: bytes) -> float:
    """Decode relative humidity in %RH from a whole reply, without the driver's clipping to 0..100.

    Source: the maker's data sheet, RH = -6 + 125 S / 65535.
    """
    return -6.0 + 125.0 * int.from_bytes(reply[3:5], "big") / 65535.0


class Sht4xProbe(WiredProbe):
    """An SHT40, SHT41, SHT43 or SHT45 on an I2C bus."""

    retries = 1  # a checksum error or a missing acknowledgement on a long lead is often alone

    def __init__(self, config: ProbeConfig, line: BusLine[I2CBus], *, simulated: bool) -> None:
        super().__init__(config, line, QUANTITIES, simulated=simulated)
        self._met: tuple[I2CBus, Any] | None = None

    def settle(self) -> None:
        """Wait for nothing: it measures when asked."""

    def _open(self) -> None:
        self._device()

    def _device(self) -> tuple[I2CBus, Any]:
        bus = self.line.get()
        if self._met is not None and self._met[0] is bus:
            return self._met
        import adafruit_sht4x

        if bus.simulated:
            bind(adafruit_sht4x)
        with sleeping_on(bus):
            try:
                sensor = adafruit_sht4x.SHT4x(bus, self.config.address or 0x44)
                # Constructing it proves nothing; a chip is there when it gives its serial number.
                serial = f"{sensor.serial_number:08x}"
            except ValueError as why:
                # The driver says "no device" for any error of the bus; the reason is what it met first.
                reason = why.__context__
                raise from_os_error(reason if isinstance(reason, OSError) else OSError(errno.ENXIO, "")) from why
            except RuntimeError as why:
                raise checksum_failed(bus.last_read) from why
        self._serial = serial
        self._met = (bus, sensor)
        return self._met

    def _read(self) -> list[Sample]:
        bus, sensor = self._device()
        with sleeping_on(bus):
            try:
                air_c, rh_pct = sensor.measurements
            except RuntimeError as why:
                raise checksum_failed(bus.last_read) from why
        reply = bus.last_read
        raw = reply.hex()
        if not AIR_C[0] <= air_c <= AIR_C[1]:
            raise NoReading(Quality.OUT_OF_RANGE, f"{air_c:.1f} °C is beyond what the sensor measures", raw)
        inside = 0.0 <= unclipped_rh_pct(reply) <= 100.0
        return [
            Sample("air_temperature", on_grid("air_temperature", air_c), Quality.GOOD, raw),
            Sample(
                "relative_humidity",
                on_grid("relative_humidity", rh_pct),
                Quality.GOOD if inside else Quality.CLIPPED,
                raw,
            ),
        ]

    def _lost(self, quality: Quality) -> None:
        # Another sensor may be put in its place: the next read asks for the serial number again.
        if quality is not Quality.CHECKSUM:
            self._met = None


def checksum_failed(reply: bytes) -> NoReading:
    """Tell a line that never moved from bytes that were changed on the way."""
    if reply in SILENT_LEVELS:
        level = "high" if reply[0] else "low"
        return NoReading(Quality.BUS, f"the data line stayed {level} for a whole reply", reply.hex())
    return NoReading(Quality.CHECKSUM, "the checksum does not fit the bytes", reply.hex())
