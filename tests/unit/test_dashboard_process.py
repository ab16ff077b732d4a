"""The dashboard as a process: how it starts, refuses to start, and stops."""

from __future__ import annotations

import http.client
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from dashboard.__main__ import listening
from monitor.errors import BadInput

NEVER_AT_START = ("plotly", "numpy", "scipy", "typst", "alembic", "apprise", "psycopg", "pytest", "monitor.station")


def command(folder: Path, *more: str) -> list[str]:
    return [sys.executable, "-m", "dashboard", "--runtime", str(folder), "--data", str(folder), *more]


@pytest.fixture
def taken() -> Iterator[int]:
    with socket.create_server(("127.0.0.1", 0)) as held:
        yield held.getsockname()[1]


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as held:
        return int(held.getsockname()[1])


def test_a_port_in_use_is_told_in_one_sentence(tmp_path: Path, taken: int) -> None:
    ended = subprocess.run(command(tmp_path, "--port", str(taken)), capture_output=True, text=True, timeout=20)
    assert ended.returncode == 1
    assert f"port {taken} on 127.0.0.1: Address already in use" in ended.stderr
    assert "--port" in ended.stderr
    assert "Traceback" not in ended.stderr


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.4", "studio.example", "::"])
def test_only_loopback_is_listened_on(host: str) -> None:
    with pytest.raises(BadInput, match="a loopback address"):
        listening(host, 0)


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "::1"])
def test_loopback_may_be_named(host: str) -> None:
    listening(host, 0).close()


def test_it_stops_at_once_though_a_page_listens(tmp_path: Path) -> None:
    port = free_port()
    with subprocess.Popen(command(tmp_path, "--port", str(port)), stderr=subprocess.PIPE, text=True) as process:
        try:
            with closing(connected(port, process)) as page:
                page.request("GET", "/live?page=work")
                with page.getresponse() as stream:
                    assert stream.readline().rstrip() == b"event: parts"
                    asked = time.monotonic()
                    process.send_signal(signal.SIGTERM)
                    _, told = process.communicate(timeout=10)
                    assert time.monotonic() - asked < 3.0
        finally:
            process.kill()
    assert "Traceback" not in told


def connected(port: int, process: subprocess.Popen[str]) -> http.client.HTTPConnection:
    """Connect as soon as it listens: the connection is refused until then."""
    pause, end = threading.Event(), time.monotonic() + 15
    while time.monotonic() < end and process.poll() is None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        try:
            connection.connect()
        except ConnectionRefusedError:
            connection.close()
            pause.wait(0.02)
            continue
        return connection
    raise AssertionError("the dashboard did not listen within 15 s")


def test_what_is_not_needed_is_not_loaded(tmp_path: Path) -> None:
    look = (
        "import asyncio, sys, pathlib; from dashboard.app import Settings, create_app; import dashboard.__main__; "
        f"create_app(Settings(pathlib.Path('.'), pathlib.Path({str(tmp_path)!r}))); "
        f"print([m for m in {NEVER_AT_START!r} if m in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, timeout=20, check=True)
    assert told.stdout.strip() == "[]"
