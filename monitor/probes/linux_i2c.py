"""I2C through Linux's i2c-dev, in pure Python."""

from __future__ import annotations

import errno
from typing import Any

from monitor.errors import BusError
from monitor.probes.bus import LockedBus


class LinuxI2C(LockedBus):
    """An I2C bus of the machine.

    Args:
        smbus: an open `Adafruit_PureIO.smbus.SMBus`.
    """

    def __init__(self, smbus: Any) -> None:  # noqa: ANN401 - the library has no types
        super().__init__()
        self._smbus = smbus

    def writeto(self, address: int, buffer: bytes | bytearray, *, start: int = 0, end: int | None = None) -> None:
        """Write to a chip; OSError when it does not acknowledge."""
        self._check()
        out = bytes(buffer[start:end])
        # A driver's look for the chip writes nothing. Some adapters refuse that, others send nothing
        # at all, so it proves nothing either way: a chip is there when it gives its serial number.
        if out:
            self._smbus.write_bytes(address, out)

    def readfrom_into(self, address: int, buffer: bytearray, *, start: int = 0, end: int | None = None) -> None:
        """Read from a chip; OSError when it does not acknowledge."""
        self._check()
        stop = len(buffer) if end is None else end
        buffer[start:stop] = self._whole(self._smbus.read_bytes(address, stop - start), stop - start)

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
        """Write and read with a repeated start between."""
        self._check()
        stop = len(in_buffer) if in_end is None else in_end
        came = self._smbus.read_i2c_block_data(address, bytes(out_buffer[out_start:out_end]), stop - in_start)
        in_buffer[in_start:stop] = self._whole(came, stop - in_start)

    def close(self) -> None:
        """Close the device file."""
        self._smbus.close()

    def _whole(self, came: bytes | bytearray, wanted: int) -> bytes:
        if len(came) != wanted:
            raise OSError(errno.EIO, f"{len(came)} of {wanted} bytes came")
        return self._note(bytes(came))


def open_linux_i2c(name: str) -> LinuxI2C:
    """Open the bus of a configured name such as `i2c-1`.

    Raises:
        BusError: the device file is missing or may not be used.
    """
    from Adafruit_PureIO import smbus

    path = f"/dev/{name}"
    try:
        return LinuxI2C(smbus.SMBus(int(name.removeprefix("i2c-"))))
    except FileNotFoundError:
        raise BusError(
            path,
            "there is no such device file",
            "the I2C bus named in the configuration",
            "Enable I2C on the board (dtparam=i2c_arm=on in /boot/firmware/config.txt), load the module i2c-dev "
            "and restart; `ls /dev/i2c-*` lists the buses there are.",
        ) from None
    except OSError as why:
        raise BusError(
            path,
            f"cannot be opened: {why.strerror}",
            "a bus this user may read and write",
            "Add the user of the station to the group i2c, then sign in again.",
        ) from None
