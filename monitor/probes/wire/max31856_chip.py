"""A MAX31856 as seen from the wire: sixteen registers that convert by themselves.

Figures: registers, bits and resolutions from the data sheet and independent public drivers (cited); conversion
times and the registers' values after a reset are recalled. What an open thermocouple leaves in the temperature
register is ours (proposal): the last value, so that only the fault bit tells.
"""

from __future__ import annotations

import errno

from monitor.probes.sensed import Fault, SensedWorld
from monitor.probes.wire.wire_time import WireTime

AFTER_RESET = bytes.fromhex("00 03 ff 7f c0 7f ff 80 00 00 00 00 00 00 00 00")
CR0, CR1, MASK, CJHF, CJLF, LTHFT, LTLFT, CJTO, CJ, LTC, SR = 0, 1, 2, 3, 4, 5, 7, 9, 0x0A, 0x0C, 0x0F
AUTO, ONE_SHOT, OPEN_DETECTION = 0x80, 0x40, 0x30
FIRST_US, PERIOD_US = 185_000, 100_000
CJ_RANGE, TC_RANGE, CJ_HIGH, CJ_LOW, TC_HIGH, TC_LOW, OPEN = 0x80, 0x40, 0x20, 0x10, 0x08, 0x04, 0x01
RANGE_C = {3: (-200, 1372), 7: (-200, 400)}
"""Types K and T in degC (recalled); other types are taken over the chip's whole range."""
WHOLE_RANGE_C = (-210, 1800)


class Max31856Chip:
    """A simulated MAX31856.

    Args:
        probe: the probe's name, under which the world knows it.
        world: what it feels and what ails it.
        time: the wire's time.
    """

    def __init__(self, probe: str, world: SensedWorld, time: WireTime) -> None:
        self._probe = probe
        self._world = world
        self._time = time
        self._was_reset = False
        self._registers = bytearray(AFTER_RESET)
        self._started_us = 0
        self._done = 0

    def transfer(self, out: bytes) -> bytes:
        """Do one chip selection: the first byte is the address, 0x80 added for a write."""
        faults = self._world.faults(self._probe)
        if Fault.BUS_ERROR in faults:
            raise OSError(errno.EIO, "Input/output error")
        if (Fault.CHIP_RESET in faults) is not self._was_reset:
            self._was_reset = not self._was_reset
            if self._was_reset:
                self._registers[:] = AFTER_RESET
        if Fault.ALL_ONES in faults:
            return b"\xff" * len(out)
        if Fault.ABSENT in faults or Fault.ALL_ZEROS in faults:
            return bytes(len(out))  # the board's pull-down holds a line that nothing drives
        self._convert_if_due(faults)
        address, count = out[0] & 0x0F, len(out) - 1
        if not out[0] & 0x80:
            return b"\x00" + (self._registers * 2)[address : address + count]
        for register, value in enumerate(out[1:], address):
            self._write(register & 0x0F, value)
        return bytes(len(out))

    def _write(self, register: int, value: int) -> None:
        if register >= CJ + 2:
            return
        before, self._registers[register] = self._registers[register], value
        starts = value & ~before & AUTO or value & ONE_SHOT
        if register == CR0 and starts:
            self._started_us, self._done = self._time.now_us(), 0

    def _convert_if_due(self, faults: frozenset[Fault]) -> None:
        cr0 = self._registers[CR0]
        since_us = self._time.now_us() - self._started_us
        if not cr0 & (AUTO | ONE_SHOT) or since_us < FIRST_US:
            return
        done = 1 + (since_us - FIRST_US) // PERIOD_US
        if done != self._done:
            self._done = done
            self._convert(faults)
            self._registers[CR0] = cr0 & ~ONE_SHOT & 0xFF

    def _convert(self, faults: frozenset[Fault]) -> None:
        regs = self._registers
        cold_c = self._world.cold_junction_c(self._probe) + _signed(regs[CJTO : CJTO + 1]) / 16
        tool_c = self._world.junction_c(self._probe)
        regs[CJ : CJ + 2] = (max(-8192, min(8191, round(cold_c * 64))) << 2 & 0xFFFF).to_bytes(2, "big")
        low_c, high_c = RANGE_C.get(regs[CR1] & 0x0F, WHOLE_RANGE_C)
        status = _bits(
            (CJ_RANGE, not -55 <= cold_c <= 125),
            (TC_RANGE, not low_c <= tool_c <= high_c),
            (CJ_HIGH, cold_c > _signed(regs[CJHF : CJHF + 1])),
            (CJ_LOW, cold_c < _signed(regs[CJLF : CJLF + 1])),
            (TC_HIGH, tool_c > _signed(regs[LTHFT : LTHFT + 2]) / 16),
            (TC_LOW, tool_c < _signed(regs[LTLFT : LTLFT + 2]) / 16),
        )
        if Fault.OPEN_THERMOCOUPLE in faults:
            status = OPEN if regs[CR0] & OPEN_DETECTION else 0
        else:
            ticks = max(-(1 << 18), min((1 << 18) - 1, round(tool_c * 128)))
            regs[LTC : LTC + 3] = (ticks << 5 & 0xFFFFFF).to_bytes(3, "big")
        regs[SR] = status


def _signed(data: bytes | bytearray) -> int:
    return int.from_bytes(data, "big", signed=True)


def _bits(*flags: tuple[int, bool]) -> int:
    return sum(bit for bit, is_set in flags if is_set)
