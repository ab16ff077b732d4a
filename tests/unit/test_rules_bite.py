"""A small test run inside the test run shows that the rules of conftest fail what they should."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

BAD_TESTS = """
import asyncio, socket, threading, warnings
import pytest
from tests import conftest
from tests.support import leftovers

kept = []

@pytest.fixture(autouse=True)
def impatient(monkeypatch):
    monkeypatch.setattr(leftovers, "GRACE_S", 0.01)

def test_thread():
    thread = threading.Thread(target=threading.Event().wait, daemon=True)
    thread.start()

def test_socket():
    kept.extend(socket.socketpair())

def test_task():
    async def main():
        kept.append(asyncio.create_task(asyncio.Event().wait()))
    asyncio.run(main())

def test_warning():
    warnings.warn("old", DeprecationWarning)

@pytest.fixture
def all_is_long(monkeypatch):
    monkeypatch.setattr(conftest, "LONG_S", 0.0)

def test_long(all_is_long):
    pass

@pytest.mark.long
def test_long_and_says_so(all_is_long):
    pass

@pytest.mark.unheard_of
def test_marker():
    pass
"""


def _run(folder: Path, text: str) -> str:
    file = folder / "test_bad.py"
    file.write_text(text)
    options = ["-p", "no:cacheprovider", "-p", "tests.conftest", "-c", "pyproject.toml", "--rootdir", str(ROOT)]
    command = [sys.executable, "-m", "pytest", *options, str(file)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, check=False)
    assert done.returncode != 0
    return done.stdout.decode()


@pytest.mark.long
def test_each_rule_fails_its_breach(tmp_path: Path) -> None:
    said = _run(tmp_path, BAD_TESTS.replace("@pytest.mark.unheard_of\n", ""))
    summary = [line for line in said.splitlines() if line.startswith(("ERROR", "FAILED"))]
    blamed = sorted(line.split("::")[1].split(" ")[0] for line in summary)
    # The last test also answers for what the run as a whole has left behind.
    assert blamed == ["test_long", "test_marker", "test_socket", "test_task", "test_thread", "test_warning"]


@pytest.mark.long
def test_an_unknown_marker_stops_the_run(tmp_path: Path) -> None:
    assert "'unheard_of' not found in `markers`" in _run(tmp_path, BAD_TESTS)
