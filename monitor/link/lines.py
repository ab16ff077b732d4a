"""Framing of the local sockets: one JSON object a line, UTF-8, 1 MB at most."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any

from monitor.errors import LinkError
from monitor.link.messages import LINE_LIMIT

LONGEST_SOCKET_PATH = 107  # bytes that Linux keeps for the address of a unix socket


def pack(message: Any) -> bytes:  # noqa: ANN401
    """Write a message as one line; LinkError if it is longer than the limit."""
    line = json.dumps(message, separators=(",", ":"), ensure_ascii=False).encode() + b"\n"
    if len(line) > LINE_LIMIT:
        raise LinkError("message", f"{len(line)} bytes", f"at most {LINE_LIMIT}", "Send less at once.")
    return line


async def read_message(reader: asyncio.StreamReader) -> Any | None:  # noqa: ANN401
    """Read one message, or None at the end of the stream.

    The reader must have been opened with `limit=LINE_LIMIT`.

    Raises:
        LinkError: the line is too long, broken off, or no JSON.
    """
    try:
        line = await reader.readuntil(b"\n")
    except asyncio.LimitOverrunError as error:
        raise LinkError("message", "a longer line", f"at most {LINE_LIMIT} bytes", "Send less at once.") from error
    except asyncio.IncompleteReadError as error:
        if error.partial:
            raise LinkError("message", "a line broken off", "a whole line", "Send it again.") from error
        return None
    try:
        return json.loads(line)
    except ValueError as error:
        raise LinkError("message", f"no JSON ({error})", "one JSON object a line", "Correct it.") from error


def socket_path(runtime_dir: Path, name: str) -> Path:
    """Give the path of a socket; LinkError if the system could not hold it."""
    path = runtime_dir / name
    if len(str(path).encode()) > LONGEST_SOCKET_PATH:
        raise LinkError(
            f"runtime directory {runtime_dir}",
            f"a path of {len(str(path).encode())} bytes to its socket",
            f"at most {LONGEST_SOCKET_PATH}",
            "Choose a shorter directory.",
        )
    return path
