"""Sends one message by a service, in a process of its own that ends with it.

`python -m monitor.station.telling.message_child` reads one JSON object from its standard
input, with the file that holds the service's address, title, body and kind, and writes one
to its standard output: whether the message was taken, and why not. Nothing else is written,
and the address never leaves this process but for the service itself.
"""

from __future__ import annotations

import contextlib
import json
import logging
import resource
import sys
from pathlib import Path
from typing import Any

from monitor.station.telling.message import DUE, PASSED, NotTold
from monitor.station.telling.secret_file import read_secret

REFUSED = "the service did not take the message. See that its address is right and that it is reached"
MOST_BYTES = 192 * 1024 * 1024  # of data; some 40 MB are used


def main() -> None:
    """Send what standard input asks for; never raises."""
    _stand_back()
    try:
        reason = send(json.load(sys.stdin))
    except NotTold as error:
        reason = error.reason
    except Exception as error:
        # what a library says may hold the address: its kind alone is told
        reason = f"the message could not be sent ({type(error).__name__})"
    sys.stdout.write(json.dumps({"told": not reason, "reason": reason}))


def send(asked: dict[str, Any]) -> str:
    """Send a message; give why a service did not take it, "" when all did.

    Raises:
        NotTold: the file with the address can't be used.
    """
    path = asked["url_file"]
    addresses = read_secret(path)
    logging.getLogger("apprise").setLevel(logging.CRITICAL + 1)
    import apprise

    services = apprise.Apprise(asset=apprise.AppriseAsset(async_mode=False, secure_logging=True))
    for number, address in enumerate(addresses, start=1):
        if not services.add(address):
            return f"{path} holds no address of a known service in its line {number}"
    kind = apprise.NotifyType.WARNING if asked["kind"] in (PASSED, DUE) else apprise.NotifyType.INFO
    taken = services.notify(title=asked["title"], body=asked["body"], notify_type=kind)
    return "" if taken else REFUSED


def _stand_back() -> None:
    """Be the first to go when memory is short, and take little of it."""
    with contextlib.suppress(OSError):
        Path("/proc/self/oom_score_adj").write_text("800")
    with contextlib.suppress(OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_DATA, (MOST_BYTES, MOST_BYTES))


if __name__ == "__main__":
    main()
