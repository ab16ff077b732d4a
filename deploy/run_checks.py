"""Runs the checks group by group, times each, and closes with one line of totals.

Started by `deploy/check`, which has made `.venv` and installed what the tests start.
"""

from __future__ import annotations

import argparse
import os
import signal
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
BIN = ROOT / ".venv" / "bin"

#: The longest that a group may take on two cores, in seconds; 15 minutes in all at most.
SHARES = {"static": 60, "unit": 180, "contract": 180, "stories": 140, "reference": 40, "browser": 150, "faults": 130}

STATIC = {
    "ruff check": [BIN / "ruff", "check", "."],
    "ruff format": [BIN / "ruff", "format", "--check", "."],
    "mypy --strict": [BIN / "mypy"],
    "import contracts": [BIN / "lint-imports"],
}

PYTEST = (sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider")

#: What `--slow` offers: the commands of a group, or none while this version does not have it.
SLOW: dict[str, list[Sequence[str | Path]]] = {
    "kill": [(*PYTEST, "tests/faults", "-m", "slow_kill")],
    "mutants": [(sys.executable, "-m", "tests.mutants.run")],
    "benchmarks": [(sys.executable, script) for script in sorted((ROOT / "tests/benchmarks").glob("bench_*.py"))],
    "soak": [],
    "tenyears": [],
    "arm": [],
}


@dataclass
class Outcome:
    """What one group came to."""

    name: str
    passed: int = 0
    failed: int = 0
    skipped: list[str] = field(default_factory=list)
    seconds: float = 0.0

    @property
    def too_long(self) -> bool:
        """Tell whether the group took more than its share."""
        return self.seconds > SHARES[self.name]

    def line(self) -> str:
        """Give the group's row of the closing table."""
        counts = f"{self.passed:5d} passed {self.failed:3d} failed {len(self.skipped):3d} skipped"
        over = "  ABOVE ITS SHARE" if self.too_long else ""
        return f"{self.name:10s} {counts} {self.seconds:6.1f} s of {SHARES[self.name]} s{over}"


def run_static() -> Outcome:
    """Run the linters side by side; each counts as one check."""
    outcome = Outcome("static")
    started = {
        name: subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        for name, command in STATIC.items()
    }
    for name, process in started.items():
        said = process.communicate()[0].decode()
        if process.returncode == 0:
            outcome.passed += 1
            say(f"{name}: in order")
        else:
            outcome.failed += 1
            say(f"{name}: NOT in order\n{said}")
    return outcome


def run_tests(group: str) -> Outcome:
    """Run the tests of one folder; a folder without any is a failure."""
    outcome = Outcome(group)
    with tempfile.TemporaryDirectory() as folder:
        results = Path(folder) / "results.xml"
        command = [*PYTEST, f"tests/{group}", "-m", "not slow_kill", f"--junit-xml={results}"]
        code = run_for(command, 2 * SHARES[group])
        cases = list(ET.parse(results).iter("testcase")) if results.exists() else []
    for case in cases:
        skip = case.find("skipped")
        if skip is not None:
            outcome.skipped.append(f"{case.get('classname')}::{case.get('name')}: {skip.get('message')}")
        elif case.find("failure") is not None or case.find("error") is not None:
            outcome.failed += 1
        else:
            outcome.passed += 1
    if code != 0 and not outcome.failed:
        outcome.failed = 1
        say(f"{group}: the test runner ended with {code}")
    return outcome


def run_for(command: Sequence[str], seconds: float) -> int:
    """Run a command and give its exit code; what hangs is ended with all that it has started."""
    process = subprocess.Popen(command, cwd=ROOT, start_new_session=True)
    try:
        return process.wait(seconds)
    except BaseException as why:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        if not isinstance(why, subprocess.TimeoutExpired):
            raise
        say(f"ended after {seconds:.0f} s: {' '.join(command)}")
        return -signal.SIGKILL


def timed(group: str) -> Outcome:
    """Run one group and note its time."""
    say(f"\n== {group}")
    start = time.monotonic()
    outcome = run_static() if group == "static" else run_tests(group)
    outcome.seconds = time.monotonic() - start
    return outcome


def close(outcomes: list[Outcome], *, may_skip: bool) -> int:
    """Print the table, what was skipped and why, and the totals; give the exit code."""
    skipped = [line for outcome in outcomes for line in outcome.skipped]
    over = [outcome.name for outcome in outcomes if outcome.too_long]
    failed = sum(outcome.failed for outcome in outcomes) + len(over)
    say("\n== time per group")
    for outcome in outcomes:
        say(outcome.line())
    if skipped:
        say("\nSkipped" + ("" if may_skip else ", which CI=true does not allow") + ":")
        for line in skipped:
            say(f"  {line}")
    if over:
        say(f"\nAbove their share of time, each counted as a failure: {', '.join(over)}")
    say(f"\n{sum(o.passed for o in outcomes)} passed, {failed} failed, {len(skipped)} skipped")
    return 1 if failed or (skipped and not may_skip) else 0


def run_slow(group: str) -> int:
    """Run one of the long groups; 2 if this version does not have it."""
    if not SLOW[group]:
        say(f"{group}: not in this version")
        return 2
    return max(subprocess.run(command, cwd=ROOT, check=False).returncode for command in SLOW[group])


def say(text: str) -> None:
    """Print in step with what the children print."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def main() -> int:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(prog="deploy/check", description="Run every check, or one of the long ones.")
    parser.add_argument("--slow", choices=sorted(SLOW), metavar="GROUP", help=f"one of {', '.join(sorted(SLOW))}")
    parser.add_argument("--only", choices=list(SHARES), metavar="GROUP", help=f"one of {', '.join(SHARES)}")
    args = parser.parse_args()
    if args.slow:
        return run_slow(args.slow)
    groups = [args.only] if args.only else list(SHARES)
    return close([timed(group) for group in groups], may_skip=os.environ.get("CI") != "true")


if __name__ == "__main__":
    sys.exit(main())
