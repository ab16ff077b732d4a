"""The two commands say what is missing, and the check cannot pass by looking away."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from deploy import run_checks
from deploy.run_checks import Outcome, close

ROOT = Path(__file__).parents[2]


def outcome(**changes: object) -> Outcome:
    return Outcome("unit", **{"passed": 3, "seconds": 1.0, **changes})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changes", "may_skip", "code", "last"),
    [
        ({}, False, 0, "3 passed, 0 failed, 0 skipped"),
        ({"failed": 1}, True, 1, "3 passed, 1 failed, 0 skipped"),
        ({"skipped": ["test_x: no browser"]}, True, 0, "3 passed, 0 failed, 1 skipped"),
        ({"skipped": ["test_x: no browser"]}, False, 1, "3 passed, 0 failed, 1 skipped"),
        ({"seconds": run_checks.SHARES["unit"] + 1.0}, True, 1, "3 passed, 1 failed, 0 skipped"),
    ],
)
def test_failures_skips_and_long_groups_count(
    changes: dict[str, object], may_skip: bool, code: int, last: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert close([outcome(**changes)], may_skip=may_skip) == code
    said = capsys.readouterr().out
    assert said.splitlines()[-1] == last
    if "skipped" in changes:
        assert "test_x: no browser" in said


def test_shares_stay_within_a_quarter_of_an_hour() -> None:
    assert sum(run_checks.SHARES.values()) <= 15 * 60


def test_every_folder_of_tests_belongs_to_a_group() -> None:
    folders = {p.parent.relative_to(ROOT / "tests").parts[0] for p in (ROOT / "tests").glob("*/**/test_*.py")}
    assert folders <= set(run_checks.SHARES) - {"static"}


def tree(root: Path, **files: str) -> None:
    for name, text in files.items():
        path = root / "tests" / name / "test_it.py"
        path.parent.mkdir(parents=True)
        path.write_text(text)


@pytest.mark.long
def test_a_group_is_counted_test_by_test(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run_checks, "ROOT", tmp_path)
    tree(
        tmp_path,
        unit="import pytest\ndef test_a(): pass\ndef test_b(): assert 0\ndef test_c(): pytest.skip('no bus')\n",
        contract="import nothing_of_this_name\n",
    )
    (tmp_path / "tests/faults").mkdir()
    mixed, broken, empty = (run_checks.run_tests(group) for group in ("unit", "contract", "faults"))
    assert (mixed.passed, mixed.failed) == (1, 1)
    assert mixed.skipped == ["tests.unit.test_it::test_c: no bus"]
    assert (broken.passed, broken.failed) == (0, 1)
    assert (empty.passed, empty.failed) == (0, 1)


def test_what_hangs_is_ended(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_checks.run_for(["/bin/sh", "-c", "read never < /dev/zero"], 0.05) < 0
    assert capsys.readouterr().out.startswith("ended after 0 s: /bin/sh")


def test_what_this_version_lacks_ends_with_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_checks.run_slow("soak") == 2
    assert capsys.readouterr().out == "soak: not in this version\n"


@pytest.fixture
def no_apt(tmp_path: Path) -> dict[str, str]:
    """Give an environment in which Python lacks its venv module and there is no apt-get."""
    programs = tmp_path / "bin"
    programs.mkdir()
    for name in ("id", "sh"):
        (programs / name).symlink_to(
            subprocess.check_output(["/bin/sh", "-c", f"command -v {name}"]).decode().strip()
        )
    bare = programs / "bare-python"
    bare.write_text('#!/bin/sh\ncase "$2" in *ensurepip*) exit 1 ;; esac\nexit 0\n')
    bare.chmod(0o755)
    return {"PATH": str(programs), "PYTHON": str(bare)}


def shell(command: str, env: dict[str, str]) -> subprocess.CompletedProcess[str]:
    text = f"set -eu; . deploy/environment.sh; {command}"
    return subprocess.run(["/bin/sh", "-c", text], cwd=ROOT, env=env, capture_output=True, text=True, check=False)


def test_without_the_venv_module_the_one_command_is_printed(no_apt: dict[str, str]) -> None:
    done = shell("find_python; need_venv_module", no_apt)
    assert done.returncode == 1
    assert done.stderr.splitlines()[-1].strip() == "sudo apt-get install python3-venv"


def test_without_a_fitting_python_it_says_which_fit(no_apt: dict[str, str]) -> None:
    done = shell("find_python", {**no_apt, "PYTHON": "no-such-python"})
    assert done.returncode == 1
    assert "No Python 3.11, 3.12 or 3.13 found" in done.stderr


def third_party(folder: str) -> set[str]:
    """Give the top-level modules a folder imports that are neither ours nor Python's."""
    names = set()
    for path in (ROOT / folder).rglob("*.py"):
        if path.is_relative_to(ROOT / "tests/.data"):  # fetched, not ours
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                names |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names.add(node.module.split(".")[0])
    ours = {"monitor", "dashboard", "tests", "deploy"} | {p.stem for p in (ROOT / "tests").rglob("*.py")}
    return names - set(sys.stdlib_module_names) - ours


@pytest.mark.parametrize(
    ("folder", "extras"), [("monitor", ["gpio", "postgresql"]), ("dashboard", []), ("tests", ["test"])]
)
def test_what_is_imported_is_declared(folder: str, extras: list[str]) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    lines = project["dependencies"] + [line for extra in extras for line in project["optional-dependencies"][extra]]
    declared = {re.split(r"[\[<>=]", line)[0] for line in lines}
    provided = packages_distributions()
    for module in third_party(folder):
        # an extra that is not installed has no modules to look up; its module bears its name
        named = {name.lower().replace("_", "-") for name in provided.get(module, [module])}
        assert named & declared, f"{folder} imports {module}, which pyproject.toml does not name"


def test_every_file_of_the_packages_is_installed_with_them() -> None:
    patterns = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["package-data"]["*"]
    for package in ("monitor", "dashboard"):
        for path in (ROOT / package).rglob("*.*"):
            if path.is_file() and path.suffix not in (".py", ".pyc"):
                assert any(path.match(pattern) for pattern in patterns), path


@pytest.mark.parametrize("name", ["demo", "check", "lock"])
def test_scripts_can_be_started(name: str) -> None:
    assert os.access(ROOT / "deploy" / name, os.X_OK)
