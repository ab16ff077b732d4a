"""The demo itself in Chromium: values move, a warning is seen, a dead station is told."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from monitor.store.store import Store
from monitor.stories import script

# the command itself, with the folder of this test's story in place of the built-in ones
RUN = """
import pathlib, sys
from monitor.stories import script
script.FOLDER = pathlib.Path(sys.argv.pop(1))
from monitor.cli import main
main()
"""


@dataclass(frozen=True)
class Demo:
    """A running demo."""

    process: subprocess.Popen[str]
    url: str
    data: Path


@contextmanager
def demo(folder: Path) -> Iterator[Demo]:
    """Run `benchblotter demo` over the story beside this file; everything is ended afterwards."""
    stories, data = folder / "stories", folder / "data"
    stories.mkdir()
    shutil.copy(Path(__file__).with_name("cold-tool.toml"), stories)
    shutil.copy(script.FOLDER / "quay.studio.toml", stories)
    port = _free_port()
    told = ["demo", "--story", "cold-tool", "--speed", "4", "--port", str(port), "--data", str(data)]
    with subprocess.Popen(
        [sys.executable, "-c", RUN, str(stories), *told], stdout=subprocess.PIPE, text=True
    ) as process:
        try:
            assert process.stdout is not None
            assert f"http://127.0.0.1:{port}/" in process.stdout.readline()
            yield Demo(process, f"http://127.0.0.1:{port}", data)
        finally:
            _end(process)


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as held:
        return int(held.getsockname()[1])


def _children(pid: int) -> list[int]:
    return [int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def _end(process: subprocess.Popen[str]) -> None:
    if process.poll() is None:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(15)
        except subprocess.TimeoutExpired:
            process.kill()


@pytest.mark.long
def test_a_warning_seen_in_the_browser_stands_in_the_day_book(browser: Any, tmp_path: Path) -> None:
    with demo(tmp_path) as running, browser.open() as seen:
        page = seen.page
        page.context.set_default_timeout(20_000)
        page.goto(running.url + "/bench/north%20bench")
        expect(page.locator(".bench-title")).to_contain_text("stage: Place by place", timeout=20_000)
        bar = page.locator(".rule .bar")
        first = bar.get_attribute("x1")
        expect(bar).not_to_have_attribute("x1", first or "")
        page.get_by_text("who works?").click()
        page.get_by_label("Initials").fill("JT")
        page.get_by_role("button", name="At work").click()
        expect(page.locator("#initials")).to_have_text("JT at work")
        page.get_by_role("button", name="Seen").first.click()
        expect(page.get_by_role("button", name="Seen")).to_have_count(0)
        assert seen.complaints == []
    (row,) = rows(running.data, "alarm_seen")
    assert (row["by"], row["body"]["limit"]) == ("JT", "tool-too-cold")
    assert row["via"].startswith("browser:")


@pytest.mark.long
def test_a_killed_station_is_told_within_three_seconds(browser: Any, tmp_path: Path) -> None:
    with demo(tmp_path) as running, browser.open() as seen:
        page = seen.page
        page.goto(running.url + "/")
        expect(page.locator(".ledger")).to_contain_text("Harbour at low tide")
        dashboards = _children(running.process.pid)
        try:
            running.process.kill()
            killed = time.monotonic()
            expect(page.locator("#part-notice")).to_contain_text(
                "The station does not answer. Readings shown are from"
            )
            assert time.monotonic() - killed < 3.0
        finally:
            for pid in dashboards:
                with suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGTERM)


def rows(data: Path, kind: str) -> list[dict[str, Any]]:
    store = Store.open(data, read_only=True)
    try:
        return list(store.daybook(kinds=[kind]))
    finally:
        store.close()
