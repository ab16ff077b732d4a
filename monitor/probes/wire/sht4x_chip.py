"""An SHT4x as seen from the wire: commands, conversion times, words with checksums.

Figures: commands and conversion formulas from the maker's data sheet (cited); longest conversion times 8.3,
4.5 and 1.6 ms are recalled. The bytes of a fault are ours (proposal).
"""

from __future__ import annotations

import errno
import zlib

from monitor.probes.sensed import Fault, SensedWorld
from monitor.probes.wire.crc import crc8
from monitor.probes.wire.wire_time import WireTime

MEASURE_US = {
    0xFD: 8_300,
    0xF6: 4_500,
    0xE0: 1_600,
    0x39: 1_008_300,
    0x32: 108_300,
    0x2F: 1_008_300,
    0x24: 108_300,
    0x1E: 1_008_300,
    0x15: 108_300,
}
SERIAL, SERIAL_US = 0x89, 100
RESET, RESET_US = 0x94, 1_000
CLIPPED_RH_PCT = 112.0


def word(value: float, low: float, span: float) -> bytes:
    """Encode a value on the sensor's scale, which ends at its words 0 and 65535."""
    ticks = round((value - low) / span * 65535)
    return min(max(ticks, 0), 65535).to_bytes(2, "big")


class Sht4xChip:
    """A simulated SHT4x.

    Args:
        probe: the probe's name, under which the world knows it.
        world: what it feels and what ails it.
        time: the wire's time.
    """

    def __init__(self, probe: str, world: SensedWorld, time: WireTime) -> None:
        self._probe = probe
        self._world = world
        self._time = time
        self._busy_until_us = 0
        self._reply: bytes | None = None
        self._was_reset = False

    def write(self, data: bytes) -> None:
        """Take a command; OSError where a real chip would not acknowledge."""
        faults = self._answering()
        if not data:
            return
        now_us, command = self._time.now_us(), data[0]
        if command in MEASURE_US:
            self._reply = self._measured(faults)
            self._busy_until_us = now_us + MEASURE_US[command]
        elif command == SERIAL:
            number = zlib.crc32(self._probe.encode()).to_bytes(4, "big")
            self._reply = self._words(number[:2], number[2:], faults)
            self._busy_until_us = now_us + SERIAL_US
        elif command == RESET:
            self._reply = None
            self._busy_until_us = now_us + RESET_US

    def read(self, count: int) -> bytes:
        """Give the reply once; OSError when none is ready."""
        faults = self._answering()
        if self._reply is None:
            raise not_acknowledged()
        reply, self._reply = self._reply, None
        if Fault.ALL_ONES in faults:
            reply = b"\xff" * 6
        elif Fault.ALL_ZEROS in faults:
            reply = bytes(6)
        return reply[:count].ljust(count, b"\xff")

    def _answering(self) -> frozenset[Fault]:
        faults = self._world.faults(self._probe)
        if faults:
            if Fault.BUS_ERROR in faults:
                raise OSError(errno.ETIMEDOUT, "Connection timed out")
            if Fault.ABSENT in faults:
                self._reply = None
                raise not_acknowledged()
        if (Fault.CHIP_RESET in faults) is not self._was_reset:
            self._was_reset = not self._was_reset
            self._reply = None
        if self._time.now_us() < self._busy_until_us:
            raise not_acknowledged()
        return faults

    def _measured(self, faults: frozenset[Fault]) -> bytes:
        air_c, rh_pct = self._world.air(self._probe)
        if Fault.HUMIDITY_CLIPPED in faults:
            rh_pct = CLIPPED_RH_PCT
        return self._words(word(air_c, -45.0, 175.0), word(rh_pct, -6.0, 125.0), faults)

    def _words(self, first: bytes, second: bytes, faults: frozenset[Fault]) -> bytes:
        spoilt = 0x10 if Fault.BAD_CHECKSUM in faults else 0
        return first + bytes((crc8(first),)) + second + bytes((crc8(second) ^ spoilt,))


def not_acknowledged() -> OSError:
    """Make the error Linux gives when a chip does not acknowledge."""
    return OSError(errno.EREMOTEIO, "Remote I/O error")
