"""A simulated I2C bus: the five methods over simulated chips."""

from __future__ import annotations

from monitor.probes.bus import LockedBus
from monitor.probes.wire.sht4x_chip import Sht4xChip, not_acknowledged
from monitor.probes.wire.wire_time import WireTime


class SimulatedI2C(LockedBus):
    """An I2C bus in the simulated studio.

    Args:
        time: the wire's time.
        chips: chips by address; an address without one is not acknowledged.
    """

    simulated = True

    def __init__(self, time: WireTime, chips: dict[int, Sht4xChip]) -> None:
        super().__init__()
        self._time = time
        self._chips = chips

    def sleep(self, seconds: float) -> None:
        """Move the wire's time on."""
        self._time.sleep(seconds)

    def now_s(self) -> float:
        """Give the wire's time in s."""
        return self._time.now_us() / 1e6

    def writeto(self, address: int, buffer: bytes | bytearray, *, start: int = 0, end: int | None = None) -> None:
        """Write to a chip."""
        self._check()
        self._chip(address).write(bytes(buffer[start:end]))

    def readfrom_into(self, address: int, buffer: bytearray, *, start: int = 0, end: int | None = None) -> None:
        """Read from a chip."""
        self._check()
        stop = len(buffer) if end is None else end
        buffer[start:stop] = self._note(self._chip(address).read(stop - start))

    def writeto_then_readfrom(
        self,
        address: int,
        out_buffer: bytes | bytearray,
        in_buffer: bytearray,
        *,
        out_start: int = 0,
        out_end: int | None = None,
        in_start: int = 0,
        in_end: int | None = None,
    ) -> None:
        """Write, then read."""
        self.writeto(address, out_buffer, start=out_start, end=out_end)
        self.readfrom_into(address, in_buffer, start=in_start, end=in_end)

    def _chip(self, address: int) -> Sht4xChip:
        chip = self._chips.get(address)
        if chip is None:
            raise not_acknowledged()
        return chip
