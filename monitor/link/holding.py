"""One station a directory: a lock that the system lets go of when its process ends, however it ends."""

from __future__ import annotations

import fcntl
import os
from dataclasses import dataclass
from pathlib import Path

from monitor.errors import LinkError

LOCK_FILE = "station.lock"


@dataclass
class Held:
    """A directory that is held until `release`."""

    descriptor: int

    def release(self) -> None:
        """Let go of the directory."""
        os.close(self.descriptor)


def hold(directory: Path, what: str = "runtime directory") -> Held:
    """Take a directory for this process; it is made with mode 0700 when it is missing.

    Raises:
        LinkError: another process holds it, or it cannot be written.
    """
    try:
        directory.mkdir(mode=0o700, parents=True, exist_ok=True)
        descriptor = os.open(directory / LOCK_FILE, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    except OSError as error:
        raise LinkError(
            f"{what} {directory}",
            error.strerror or str(error),
            "a directory that can be written",
            "Choose another one or mend its rights.",
        ) from error
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        number = os.pread(descriptor, 20, 0).decode(errors="replace").strip()
        os.close(descriptor)
        raise LinkError(
            f"{what} {directory}",
            f"another station runs there (process {number or 'unknown'})",
            "one station for each directory",
            "Stop that station first, or give this one another directory.",
        ) from error
    os.ftruncate(descriptor, 0)
    os.pwrite(descriptor, f"{os.getpid()}\n".encode(), 0)
    return Held(descriptor)
