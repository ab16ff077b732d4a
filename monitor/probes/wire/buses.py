"""The simulated buses of a studio, one chip for each configured probe."""

from __future__ import annotations

from monitor.clock import Clock
from monitor.config import Studio
from monitor.probes.sensed import SensedWorld
from monitor.probes.wire.max31856_chip import Max31856Chip
from monitor.probes.wire.sht4x_chip import Sht4xChip
from monitor.probes.wire.simulated_i2c import SimulatedI2C
from monitor.probes.wire.simulated_spi import SimulatedSPI
from monitor.probes.wire.wire_time import WireTime

SHT4X_ADDRESS = 0x44


class SimulatedBuses:
    """Makes the buses; the chips keep their state when a bus is opened anew.

    Args:
        studio: the configuration.
        sensed: what the chips feel.
        clock: the clock the wires follow; each bus runs ahead of it by itself.
    """

    def __init__(self, studio: Studio, sensed: SensedWorld, clock: Clock) -> None:
        self._times = {p.bus: WireTime(clock) for p in studio.probes}
        self._i2c: dict[str, dict[int, Sht4xChip]] = {name: {} for name in self._times}
        self._spi: dict[str, Max31856Chip] = {}
        for probe in studio.probes:
            time = self._times[probe.bus]
            if probe.bus.startswith("i2c-"):
                self._i2c[probe.bus][probe.address or SHT4X_ADDRESS] = Sht4xChip(probe.name, sensed, time)
            else:
                self._spi[probe.bus] = Max31856Chip(probe.name, sensed, time)

    def i2c(self, name: str) -> SimulatedI2C:
        """Open the I2C bus of a name."""
        return SimulatedI2C(self._times[name], self._i2c[name])

    def spi(self, name: str) -> SimulatedSPI:
        """Open the SPI bus of a name."""
        return SimulatedSPI(self._times[name], self._spi.get(name))
