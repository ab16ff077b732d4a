"""Probes over chips of the simulated wire, and buses that say what a test wants them to say."""

from __future__ import annotations

from monitor.clock import SimulatedClock
from monitor.config import ProbeConfig, Studio
from monitor.probes.bus import BusLine, LockedBus, QueuedSPI
from monitor.probes.drivers.max31856 import Max31856Probe
from monitor.probes.drivers.sht4x import Sht4xProbe

ROOM = ProbeConfig("room", "north bench", "sht45", "i2c-1", 1000, address=0x44)
SPATULA = ProbeConfig("spatula", "north bench", "max31856", "spi-0.0", 200, thermocouple="K")
IRON = ProbeConfig("iron", "north bench", "max31856", "spi-0.1", 200, thermocouple="K")
STUDIO = Studio("Studio on the quay", "board", ("north bench",), (ROOM, SPATULA, IRON))


class ScriptedI2C(LockedBus):
    """Gives the replies of a list, the last one again and again; its time passes without waiting."""

    simulated = True

    def __init__(self, *replies: bytes, serial: bytes = bytes.fromhex("000081000081")) -> None:
        super().__init__()
        self.replies = list(replies)
        self.serial = serial
        self.commands: list[int] = []
        self.slept_s = 0.0

    def writeto(self, address: int, buffer: bytes, *, start: int = 0, end: int | None = None) -> None:
        self.commands += bytes(buffer[start:end])

    def readfrom_into(self, address: int, buffer: bytearray, *, start: int = 0, end: int | None = None) -> None:
        if self.commands[-1] == 0x89:
            reply = self.serial
        else:
            reply = self.replies.pop(0) if len(self.replies) > 1 else self.replies[0]
        buffer[start:end] = self._note(reply)

    def writeto_then_readfrom(self, *_: object, **__: object) -> None:
        raise AssertionError("the driver of this part reads after a stop")

    def sleep(self, seconds: float) -> None:
        self.slept_s += seconds

    def now_s(self) -> float:
        return self.slept_s


class RegisterSPI(QueuedSPI):
    """Sixteen registers that keep what is written and never convert; its time passes without waiting."""

    simulated = True

    def __init__(self) -> None:
        super().__init__()
        self.registers = bytearray(16)
        self.transfers: list[bytes] = []
        self.slept_s = 0.0

    def sleep(self, seconds: float) -> None:
        self.slept_s += seconds

    def now_s(self) -> float:
        return self.slept_s

    def _transfer(self, out: bytes) -> bytes:
        self.transfers.append(out)
        address, count = out[0] & 0x7F, len(out) - 1
        if out[0] & 0x80:
            self.registers[address : address + count] = out[1:]
            return bytes(len(out))
        return b"\x00" + self.registers[address : address + count]


def room_over(bus: LockedBus) -> Sht4xProbe:
    """Give an opened air probe over a bus."""
    probe = Sht4xProbe(ROOM, BusLine("i2c-1", lambda: bus), simulated=True)  # type: ignore[arg-type]
    probe.open()
    return probe


def spatula_over(bus: QueuedSPI) -> Max31856Probe:
    """Give an opened thermocouple probe over a bus."""
    probe = Max31856Probe(SPATULA, BusLine("spi-0.0", lambda: bus), simulated=True)
    probe.open()
    probe.settle()
    return probe


def pass_ms(clock: SimulatedClock, by_ms: int) -> None:
    """Let the studio's time pass."""
    clock.move_to(clock.mono_ms() + by_ms)
