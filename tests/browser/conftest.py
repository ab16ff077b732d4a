"""One Chromium for the whole run; each test talks to it through a connection and a context of its own."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page, sync_playwright

from tests.support import leftovers
from tests.support.pages import Rig, rig

CHROMIUM = shutil.which("chromium")
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--remote-debugging-port=0",
    "--no-first-run",
    "--disable-gpu",
    "--disable-dev-shm-usage",
)
PORT_WITHIN_S = 20.0
SIZES = {"desktop": (1280, 800), "tablet": (820, 1180), "phone": (390, 844)}


@dataclass
class Seen:
    """A page and what its console said: errors, refused styles and scripts, exceptions."""

    page: Page
    complaints: list[str] = field(default_factory=list)


class Browser:
    """A running Chromium. `open` gives a page in a fresh context and closes it afterwards."""

    def __init__(self, endpoint: str) -> None:
        self._endpoint = endpoint
        self._chromium: Chromium | None = None

    @contextlib.contextmanager
    def connected(self) -> Iterator[None]:
        """Keep one connection; an event loop runs in this thread meanwhile, so not for the whole run."""
        with sync_playwright() as playwright:
            self._chromium = playwright.chromium.connect_over_cdp(self._endpoint)
            try:
                yield
            finally:
                self._chromium.close()
                self._chromium = None

    @contextlib.contextmanager
    def open(self, size: str = "desktop", *, dim: bool = False, url: str = "") -> Iterator[Seen]:
        """Give a page of one of SIZES; `url` is where the cookie is set when `dim` is asked for."""
        assert self._chromium is not None, "not connected"
        width, height = SIZES[size]
        context = self._chromium.new_context(
            viewport={"width": width, "height": height}, timezone_id="Europe/Lisbon", locale="en-GB"
        )
        context.set_default_timeout(4000)
        if dim:
            context.add_cookies([{"name": "blotter_light", "value": "dim", "url": url}])
        seen = Seen(context.new_page())
        seen.page.on("console", lambda m: seen.complaints.append(m.text) if m.type in ("error", "warning") else None)
        seen.page.on("pageerror", lambda error: seen.complaints.append(str(error)))
        try:
            yield seen
        finally:
            context.close()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Give Chromium, started once; skipped where none is installed, failed there when CI is set."""
    if CHROMIUM is None:
        assert not os.environ.get("CI"), "no chromium on this machine; with CI set nothing may be skipped"
        pytest.skip("chromium is not installed")
    profile = Path(tempfile.mkdtemp(prefix="chromium-"))
    with leftovers.shared(), (profile / "log").open("wb") as log:
        process = subprocess.Popen([CHROMIUM, *FLAGS, f"--user-data-dir={profile}"], stdout=log, stderr=log)
    try:
        yield Browser(f"http://127.0.0.1:{_port(profile, process)}")
    finally:
        process.terminate()
        process.wait(10)
        shutil.rmtree(profile, ignore_errors=True)


@pytest.fixture(scope="module", autouse=True)
def _connected(browser: Browser) -> Iterator[None]:
    with browser.connected():
        yield


def _port(profile: Path, process: subprocess.Popen[bytes]) -> int:
    """Wait for the port that Chromium writes into its profile."""
    found = profile / "DevToolsActivePort"
    pause, end = threading.Event(), time.monotonic() + PORT_WITHIN_S
    while time.monotonic() < end and process.poll() is None:
        lines = found.read_text().splitlines() if found.is_file() else []
        if lines:
            return int(lines[0])
        pause.wait(0.05)
    raise AssertionError(
        f"chromium gave no port within {PORT_WITHIN_S:.0f} s: {(profile / 'log').read_text()[-500:]}"
    )


@pytest.fixture(scope="session")
def chart_dir(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the folder in which the chart script is compressed once for all tests."""
    return tmp_path_factory.mktemp("data")


@pytest.fixture
def dashboard(chart_dir: Path) -> Iterator[Rig]:
    """Give a running dashboard over a double of the station."""
    with tempfile.TemporaryDirectory(prefix="rig-") as runtime, rig(Path(runtime), chart_dir) as running:
        yield running
