"""Run the dashboard: `python -m dashboard --runtime DIR --data DIR [--host 127.0.0.1] [--port 8460]`."""

from __future__ import annotations

import argparse
import asyncio
import ipaddress
import socket
import sys
from pathlib import Path
from types import FrameType

import uvicorn

from dashboard.app import Settings, create_app, open_store
from dashboard.known import from_catalogue
from monitor.errors import BadInput, BlotterError

GRACE_S = 2


class Server(uvicorn.Server):
    """Ends the live streams as soon as it is told to stop, so that it need not wait for them."""

    def __init__(self, config: uvicorn.Config, stop: asyncio.Event) -> None:
        super().__init__(config)
        self._stop = stop

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take a signal to stop."""
        self._stop.set()
        super().handle_exit(sig, frame)


def arguments(given: list[str] | None = None) -> argparse.Namespace:
    """Read the command line; exit 2 with usage when it cannot be understood."""
    parser = argparse.ArgumentParser(prog="python -m dashboard", description="Show the station and ask it.")
    parser.add_argument("--runtime", type=Path, required=True, help="directory of the station's sockets")
    parser.add_argument("--data", type=Path, required=True, help="data directory")
    parser.add_argument("--store", default="", help="postgresql:// URL, if the store is not in the data directory")
    parser.add_argument("--host", default="127.0.0.1", help="loopback address to listen on")
    parser.add_argument("--port", type=int, default=8460)
    return parser.parse_args(given)


def listening(host: str, port: int) -> socket.socket:
    """Open the listening socket; BadInput when it is not loopback or the port is in use."""
    plain = "127.0.0.1" if host == "localhost" else host
    try:
        loopback = ipaddress.ip_address(plain).is_loopback
    except ValueError:
        loopback = False
    if not loopback:
        raise BadInput("--host", host, "a loopback address, for instance 127.0.0.1",
                       "For other machines put a proxy with a password in front.")  # fmt: skip
    found = socket.socket(socket.AF_INET6 if ":" in plain else socket.AF_INET)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((plain, port))
    except OSError as error:
        found.close()
        raise BadInput(f"port {port} on {plain}", error.strerror or "cannot be used", "a free port",
                       "Stop what listens there, or name another with --port.") from error  # fmt: skip
    return found


def main() -> int:
    """Run until told to stop; 1 with one sentence when it cannot start."""
    args = arguments()
    try:
        where = args.store or args.data
        stop = asyncio.Event()
        settings = Settings(args.runtime, args.data, lambda: open_store(where), from_catalogue())
        app = create_app(settings, stop)
        sock = listening(args.host, args.port)
    except BlotterError as error:
        print(error, file=sys.stderr)  # noqa: T201
        return 1
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, timeout_graceful_shutdown=GRACE_S, server_header=False, ws="none"
    )
    with sock:
        Server(config, stop).run(sockets=[sock])
    return 0


if __name__ == "__main__":
    sys.exit(main())
