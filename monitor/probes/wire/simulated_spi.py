"""A simulated SPI bus with one chip behind its chip select."""

from __future__ import annotations

from monitor.probes.bus import QueuedSPI
from monitor.probes.wire.max31856_chip import Max31856Chip
from monitor.probes.wire.wire_time import WireTime


class SimulatedSPI(QueuedSPI):
    """An SPI bus in the simulated studio.

    Args:
        time: the wire's time.
        chip: what the chip select belongs to; None leaves the line undriven.
    """

    simulated = True

    def __init__(self, time: WireTime, chip: Max31856Chip | None) -> None:
        super().__init__()
        self._time = time
        self._chip = chip

    def sleep(self, seconds: float) -> None:
        """Move the wire's time on."""
        self._time.sleep(seconds)

    def now_s(self) -> float:
        """Give the wire's time in s."""
        return self._time.now_us() / 1e6

    def _transfer(self, out: bytes) -> bytes:
        return bytes(len(out)) if self._chip is None else self._chip.transfer(out)
