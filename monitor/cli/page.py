"""The dashboard as a child process: nothing of the monitor imports it."""

from __future__ import annotations

import socket
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from http.client import HTTPConnection
from pathlib import Path

import typer

from monitor.errors import BadInput

STARTS_WITHIN_S = 20.0
STOPS_WITHIN_S = 5.0


@dataclass
class Page:
    """A dashboard for one station.

    Raises:
        BadInput: the port is in use, told before anything is started.
    """

    runtime: Path
    data: Path
    host: str
    port: int
    store: str = ""
    _child: subprocess.Popen[bytes] | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        if not 1 <= self.port <= 65535:
            raise BadInput("--port", str(self.port), "1 to 65535", "Name another; 8460 is usual.")
        with socket.socket() as tried:
            tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                tried.bind((self.host, self.port))
            except OSError as error:
                reason = error.strerror or str(error)
                do = "Stop what listens there, or name another with --port."
                raise BadInput(f"port {self.port} on {self.host}", reason, "a free port", do) from error

    def command(self) -> list[str]:
        """Give the child's command line."""
        where = ["--runtime", str(self.runtime), "--data", str(self.data)]
        store = ["--store", self.store] if self.store else []
        listen = ["--host", self.host, "--port", str(self.port)]
        return [sys.executable, "-m", "dashboard", *where, *store, *listen]

    def start(self) -> None:
        """Start it; its address is printed once it answers."""
        self._child = subprocess.Popen(self.command())
        threading.Thread(target=self._announce, args=(self._child,), name="page", daemon=True).start()

    def _announce(self, child: subprocess.Popen[bytes]) -> None:
        until = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < until and child.poll() is None:
            if self._answers():
                typer.echo(f"Open http://{self.host}:{self.port}/ in a browser on this machine. Stop with Ctrl-C.")
                return
            time.sleep(0.1)
        typer.echo("The page did not start; the station goes on. Stop with Ctrl-C.", err=True)

    def _answers(self) -> bool:
        connection = HTTPConnection(self.host, self.port, timeout=1)
        try:
            connection.request("GET", "/alive")
            return connection.getresponse().status < 500
        except OSError:
            return False
        finally:
            connection.close()

    def stop(self) -> None:
        """End it, by force if it does not end by itself."""
        if self._child is None:
            return
        self._child.terminate()
        try:
            self._child.wait(STOPS_WITHIN_S)
        except subprocess.TimeoutExpired:
            self._child.kill()
            self._child.wait()
