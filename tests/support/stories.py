"""Each story is run once in a test run, through the command, and shared by the tests."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

#: The longest that one story may take, in seconds.
LIMIT_S = 120

_COMMAND = (sys.executable, "-c", "from monitor.cli import main; main()")


@dataclass(frozen=True)
class StoryRun:
    """One finished run.

    Args:
        name: the story.
        data: its data directory, closed; tests that change it copy it first.
        printed: what `story NAME --json` wrote, byte for byte.
        events: the day-book's events in order, read from `printed`.
    """

    name: str
    data: Path
    printed: bytes
    events: list[dict[str, Any]]


def play(name: str, data: Path) -> StoryRun:
    """Run a story into the new folder `data`; AssertionError with its words if it fails."""
    done = subprocess.run(
        [*_COMMAND, "story", name, "--json", "--data", str(data)],
        capture_output=True,
        timeout=LIMIT_S,
        check=False,
    )
    assert done.returncode == 0, f"story {name} ended with {done.returncode}:\n{done.stderr.decode()}"
    return StoryRun(name, data, done.stdout, json.loads(done.stdout))
