"""Puts one deliberate fault at a time into a copy of the project and expects tests to fail.

Run by `deploy/check --slow mutants`, or `python -m tests.mutants.run [WORD]` for the faults
whose name holds WORD.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from tests.mutants.faults import Fault, load

ROOT = Path(__file__).resolve().parents[2]
LIMIT_S = 300

_NOT_COPIED = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info", "build")


def copy_project(to: Path) -> None:
    """Copy everything but hidden files and what is made from the rest."""
    shutil.copytree(ROOT, to, ignore=_NOT_COPIED)
    if (ROOT / "tests/.data").exists():
        shutil.copytree(ROOT / "tests/.data", to / "tests/.data")


def run_tests(root: Path, tests: Sequence[str]) -> subprocess.CompletedProcess[bytes]:
    """Run tests of the copy on the copy, never on what is installed."""
    # A compiled file is trusted by second and size, which a quick one-letter change keeps.
    env = {**os.environ, "PYTHONPATH": str(root), "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tests]
    return subprocess.run(command, cwd=root, env=env, capture_output=True, timeout=LIMIT_S, check=False)


def is_caught(root: Path, fault: Fault) -> bool:
    """Tell whether a test fails with the fault in place; the copy is mended afterwards."""
    before = fault.apply(root)
    try:
        # Only 1 means that a test ran and failed; a fault that stops the tests from loading proves nothing.
        return run_tests(root, fault.tests).returncode == 1
    finally:
        (root / fault.file).write_text(before)


def main(word: str = "") -> int:
    """Try every fault; 0 if the sound copy passes and each fault is caught."""
    faults = [fault for fault in load() if word in fault.name]
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder) / "copy"
        copy_project(root)
        tests = sorted({test for fault in faults for test in fault.tests})
        sound = run_tests(root, tests)
        if sound.returncode != 0:
            say(f"{sound.stdout.decode()}\nThe tests fail without any fault, so they can show nothing.")
            return 1
        missed = 0
        for fault in faults:
            start = time.monotonic()
            caught = is_caught(root, fault)
            missed += not caught
            say(f"{'caught' if caught else 'MISSED'}  {fault.name}  ({fault.file}, {time.monotonic() - start:.1f} s)")
    say(f"{len(faults) - missed} passed, {missed} failed")
    return 1 if missed or not faults else 0


def say(text: str) -> None:
    """Print at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2]))
