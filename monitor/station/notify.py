"""What the service manager is told: ready, stopping, and alive only while every part gets on."""

from __future__ import annotations

import os
import socket

PARTS = ("sampler", "fold", "writer")


def notify(text: str) -> None:
    """Send a line to the service manager, if one listens (the datagram protocol of systemd's sd_notify)."""
    address = os.environ.get("NOTIFY_SOCKET", "")
    if address:
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as way:
            way.sendto(text.encode(), "\0" + address[1:] if address.startswith("@") else address)


class Watchdog:
    """Says "alive" only when sampler, fold and writer have each got on since it was said last.

    A thread that hangs must not be hidden by a loop that still turns.
    """

    def __init__(self) -> None:
        self._got_on: set[str] = set()

    def got_on(self, part: str) -> None:
        """Note that a part has done something; `part` is one of `PARTS`."""
        self._got_on.add(part)

    def beat(self) -> bool:
        """Tell the service manager, if all parts got on; give whether it was told."""
        if not self._got_on.issuperset(PARTS):
            return False
        self._got_on.clear()
        notify("WATCHDOG=1")
        return True
