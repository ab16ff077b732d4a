"""Our own bus interfaces: what the sensor drivers call, and what a worker needs beside it.

The drivers are duck-typed: five methods make an I2C bus, five an SPI bus. Every bus also notes
the bytes it last gave, since a driver may clip or convert them away, tells the time its sleeps are
counted in, and can be given up when the thread inside it hangs.
"""

from __future__ import annotations

import errno
import threading
import time
from collections.abc import Callable
from typing import Generic, Protocol, TypeVar

LOCK_DEADLINE_S = 0.5
"""Longest wait for a bus, in s: half of a sampler's deadline for a job (ours, grade proposal)."""


class Bus(Protocol):
    """What I2C and SPI buses have in common."""

    @property
    def simulated(self) -> bool:
        """Tell whether the chips on it are simulated."""
        ...

    @property
    def last_read(self) -> bytes:
        """Give the bytes of the last read, as they were on the wire."""
        ...

    def try_lock(self) -> bool:
        """Take the bus, True; TimeoutError if it is held too long, never False, so that no caller spins."""
        ...

    def unlock(self) -> None:
        """Give the bus back."""
        ...

    def sleep(self, seconds: float) -> None:
        """Let time pass on this bus: real seconds, or the simulated wire's own."""
        ...

    def now_s(self) -> float:
        """Give monotonic time in s on the scale of `sleep`."""
        ...

    def abandon(self) -> None:
        """Refuse every further call: a hung thread that wakes must not touch the sensors again."""
        ...

    def close(self) -> None:
        """Close the device file."""
        ...


class I2CBus(Bus, Protocol):
    """An I2C bus; a chip that does not acknowledge raises OSError (errno EREMOTEIO or ENXIO)."""

    def writeto(self, address: int, buffer: bytes | bytearray, *, start: int = 0, end: int | None = None) -> None:
        """Write `buffer[start:end]` to the chip at `address`."""
        ...

    def readfrom_into(self, address: int, buffer: bytearray, *, start: int = 0, end: int | None = None) -> None:
        """Fill `buffer[start:end]` from the chip at `address`."""
        ...

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
        """Write, then read after a repeated start, as one transaction."""
        ...


class SPIBus(Bus, Protocol):
    """An SPI bus with one chip behind it, selected by the kernel."""

    def configure(self, *, baudrate: int = 100_000, polarity: int = 0, phase: int = 0, bits: int = 8) -> None:
        """Set clock rate in Hz and mode."""
        ...

    def write(self, buffer: bytes | bytearray, start: int = 0, end: int | None = None) -> None:
        """Queue `buffer[start:end]`; it leaves with the next `readinto` or with `unlock`."""
        ...

    def readinto(self, buffer: bytearray, start: int = 0, end: int | None = None, write_value: int = 0) -> None:
        """Send what is queued and fill `buffer[start:end]`, in one full-duplex transfer."""
        ...


class LockedBus:
    """The part every bus shares: a real lock with a deadline, the note, and the way out."""

    simulated = False

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._abandoned = False
        self.last_read = b""

    def try_lock(self) -> bool:
        """Take the bus within `LOCK_DEADLINE_S`, or raise TimeoutError."""
        self._check()
        if not self._lock.acquire(timeout=LOCK_DEADLINE_S):
            raise TimeoutError(errno.ETIMEDOUT, f"bus still held after {LOCK_DEADLINE_S} s")
        return True

    def unlock(self) -> None:
        """Give the bus back."""
        self._lock.release()

    def sleep(self, seconds: float) -> None:
        """Sleep real seconds."""
        time.sleep(seconds)

    def now_s(self) -> float:
        """Give the machine's monotonic time in s."""
        return time.monotonic()

    def abandon(self) -> None:
        """Refuse every further call."""
        self._abandoned = True

    def close(self) -> None:
        """Close nothing."""

    def _check(self) -> None:
        if self._abandoned:
            raise OSError(errno.ECANCELED, "bus was given up and opened anew")

    def _note(self, data: bytes) -> bytes:
        # Checked after the transfer too: the buffers of the driver belong to the new thread by then.
        self._check()
        self.last_read = data
        return data


class QueuedSPI(LockedBus):
    """SPI whose writes wait for the read that belongs to them.

    The drivers write an address and then read. With the kernel's chip select those would be two
    selections and the address would be lost, so both go out as one transfer.
    """

    def __init__(self) -> None:
        super().__init__()
        self._queued = b""

    def configure(self, *, baudrate: int = 100_000, polarity: int = 0, phase: int = 0, bits: int = 8) -> None:
        """Take every setting as it is."""

    def write(self, buffer: bytes | bytearray, start: int = 0, end: int | None = None) -> None:
        """Queue bytes until `readinto` or `unlock`."""
        self._queued += bytes(buffer[start:end])

    def readinto(self, buffer: bytearray, start: int = 0, end: int | None = None, write_value: int = 0) -> None:
        """Transfer the queue and as many fill bytes as are wanted back."""
        stop = len(buffer) if end is None else end
        queued, self._queued = self._queued, b""
        self._check()
        came = self._transfer(queued + bytes((write_value,)) * (stop - start))
        buffer[start:stop] = self._note(came[len(queued) :])

    def unlock(self) -> None:
        """Send what is still queued, then give the bus back."""
        queued, self._queued = self._queued, b""
        try:
            if queued:
                self._check()
                self._transfer(queued)
        finally:
            super().unlock()

    def _transfer(self, out: bytes) -> bytes:
        raise NotImplementedError


B = TypeVar("B", bound=Bus)


class BusLine(Generic[B]):
    """A bus by its configured name, opened when first needed and anew after it was dropped.

    Args:
        name: `i2c-1` or `spi-0.0`.
        opener: opens the bus, or raises BusError.
    """

    def __init__(self, name: str, opener: Callable[[], B]) -> None:
        self.name = name
        self._opener = opener
        self._bus: B | None = None

    def get(self) -> B:
        """Give the open bus; BusError if it cannot be opened."""
        if self._bus is None:
            self._bus = self._opener()
        return self._bus

    def drop(self) -> None:
        """Abandon and close the bus, so that the next `get` opens it anew."""
        bus, self._bus = self._bus, None
        if bus is not None:
            bus.abandon()
            bus.close()
