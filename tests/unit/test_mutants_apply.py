"""The table of deliberate faults fits the code as it stands; that each is caught is shown by its runner."""

from __future__ import annotations

import ast
import shutil
from pathlib import Path

import pytest

from tests.mutants import run
from tests.mutants.faults import Fault, load

ROOT = Path(__file__).parents[2]
FAULTS = load()


def test_there_are_ten_and_each_has_its_own_name() -> None:
    assert len({fault.name for fault in FAULTS}) == len(FAULTS) >= 10


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_it_changes_one_place_and_leaves_python(fault: Fault, tmp_path: Path) -> None:
    copy = tmp_path / fault.file
    copy.parent.mkdir(parents=True)
    shutil.copyfile(ROOT / fault.file, copy)
    before = fault.apply(tmp_path)
    after = copy.read_text()
    assert after != before
    assert len(after.splitlines()) == len(before.splitlines())
    ast.parse(after)
    for test in fault.tests:
        assert (ROOT / test.split("::")[0]).exists(), test


def test_a_table_out_of_date_is_said(tmp_path: Path) -> None:
    (tmp_path / "file.py").write_text("a = 1\nb = 1\n")
    with pytest.raises(ValueError, match=r"stands 2 times in file\.py; expected once"):
        Fault("twice", "file.py", "= 1", "= 2", ()).apply(tmp_path)


@pytest.mark.long
@pytest.mark.parametrize(("new", "caught"), [("2", True), ("1 + 0", False), ("(", False)])
def test_only_a_failing_test_counts_as_caught(tmp_path: Path, new: str, caught: bool) -> None:
    (tmp_path / "small.py").write_text("answer = 1\n")
    (tmp_path / "test_small.py").write_text("import small\n\ndef test_it():\n    assert small.answer == 1\n")
    fault = Fault("tried", "small.py", "1", new, ("test_small.py",))
    assert run.is_caught(tmp_path, fault) is caught
    assert (tmp_path / "small.py").read_text() == "answer = 1\n"
