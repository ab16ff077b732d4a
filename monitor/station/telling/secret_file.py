"""A file that holds a secret: the station's own, and nobody else may read it."""

from __future__ import annotations

import os
import stat

from monitor.station.telling.message import NotTold

LARGEST = 8192
RIGHT = "a file of the station's own user, mode 0600"


def read_secret(path: str) -> list[str]:
    """Give a file's lines without blank ones and those that begin with #.

    Raises:
        NotTold: it is missing, may be read by others, is another user's, or is empty. What it
            holds is never in the message.
    """
    try:
        with open(path, "rb") as file:
            _own(path, os.fstat(file.fileno()))
            content = file.read(LARGEST + 1)
        lines = [line.strip() for line in content.decode().splitlines()]
    except OSError as error:
        why = (error.strerror or "cannot be read").lower()
        raise NotTold(path, f"{path}: {why}", RIGHT, "Write it, or mend its path") from error
    except UnicodeDecodeError:
        raise NotTold(path, f"{path} is not text in UTF-8", RIGHT, "Write it anew") from None
    told = [line for line in lines if line and not line.startswith("#")]
    if not told or len(content) > LARGEST:
        found = "is empty" if not told else f"is larger than {LARGEST} bytes"
        raise NotTold(path, f"{path} {found}", "one line with the secret", "Write it anew")
    return told


def _own(path: str, found: os.stat_result) -> None:
    mode = stat.S_IMODE(found.st_mode)
    if not stat.S_ISREG(found.st_mode):
        raise NotTold(path, f"{path} is no plain file", RIGHT, "Write one")
    if mode & 0o077:
        raise NotTold(path, f"{path} may be read by others (mode {mode:04o})", RIGHT, f"Do: chmod 600 {path}")
    if found.st_uid != os.geteuid():
        raise NotTold(path, f"{path} belongs to another user", RIGHT, "Give it to the station's user with chown")
