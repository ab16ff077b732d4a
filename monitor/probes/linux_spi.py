"""SPI through Linux's spidev, in pure Python, with the kernel's chip select."""

from __future__ import annotations

import os
from typing import Any

from monitor.errors import BusError
from monitor.probes.bus import QueuedSPI


class LinuxSPI(QueuedSPI):
    """An SPI bus of the machine and the one chip its chip select belongs to.

    Args:
        spi: an open `Adafruit_PureIO.spi.SPI`.
    """

    def __init__(self, spi: Any) -> None:  # noqa: ANN401 - the library has no types
        super().__init__()
        self._spi = spi
        self._settings: tuple[int, int, int, int] | None = None

    def configure(self, *, baudrate: int = 100_000, polarity: int = 0, phase: int = 0, bits: int = 8) -> None:
        """Set clock rate in Hz and mode, when they differ from what is set."""
        self._check()
        settings = (baudrate, polarity, phase, bits)
        if settings != self._settings:
            self._settings = None
            self._spi.max_speed_hz = baudrate
            self._spi.polarity = polarity
            self._spi.phase = phase
            self._spi.bits_per_word = bits
            self._settings = settings

    def close(self) -> None:
        """Close the device file; the library has no call for it."""
        handle, self._spi.handle = self._spi.handle, -1
        if handle >= 0:
            os.close(handle)

    def _transfer(self, out: bytes) -> bytes:
        return bytes(self._spi.transfer(out))


def open_linux_spi(name: str) -> LinuxSPI:
    """Open the bus and chip select of a configured name such as `spi-0.0`.

    Raises:
        BusError: the device file is missing or may not be used.
    """
    from Adafruit_PureIO import spi

    path = f"/dev/spidev{name.removeprefix('spi-')}"
    if not os.path.exists(path):
        raise BusError(
            path,
            "there is no such device file",
            "the SPI bus and chip select named in the configuration",
            "Enable SPI on the board (dtparam=spi=on in /boot/firmware/config.txt) and restart; "
            "`ls /dev/spidev*` lists what there is.",
        )
    try:
        return LinuxSPI(spi.SPI(path))
    except OSError as why:
        raise BusError(
            path,
            f"cannot be opened: {why.strerror}",
            "a bus this user may read and write",
            "Add the user of the station to the group spi, then sign in again.",
        ) from None
