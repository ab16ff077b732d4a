"""What README tells a newcomer to type does what it says."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PROGRAM = (sys.executable, "-c", "from monitor.cli import main; main()")


def commands() -> list[list[str]]:
    """Give the words of each command line of README that calls the program."""
    lines = re.findall(r"^\.venv/bin/benchblotter (.+)$", (ROOT / "README.md").read_text(), re.MULTILINE)
    return [line.split() for line in lines]


@pytest.mark.long
def test_the_commands_of_readme_run_in_their_order(tmp_path: Path) -> None:
    typed = commands()
    assert [words[0] for words in typed] == ["story", "steps", "report", "check-store"]
    for words in typed:
        done = subprocess.run([*PROGRAM, *words], cwd=tmp_path, capture_output=True, timeout=120, check=False)
        assert done.returncode == 0, f"{' '.join(words)}:\n{done.stderr.decode()}"
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF-")
