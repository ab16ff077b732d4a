"""Report and export of a story as it was played: sixteen places, an open lead, a damp hour."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pikepdf
import pytest

from monitor.probes.readings_csv import read
from monitor.report.export import export
from monitor.report.make import make_report
from monitor.report.selection import of_step
from monitor.store.store import Store
from tests.support.stories import StoryRun


@pytest.fixture
def played(story_run: Callable[[str], StoryRun]) -> Iterator[tuple[Store, str]]:
    """Give the store of the story and the id of its step on the painting."""
    store = Store.open(story_run("strip-lining").data, read_only=True)
    yield store, next(step.step for step in store.steps() if step.painting)
    store.close()


@pytest.mark.long
def test_the_report_holds_the_readings_that_export_writes(played: tuple[Store, str], tmp_path: Path) -> None:
    store, step = played
    path = make_report(store, step, tmp_path / "report.pdf")
    export(store, of_step(store, step), tmp_path / "out")
    subprocess.run(["pdfdetach", "-save", "1", "-o", str(tmp_path / "taken.csv"), str(path)], check=True)
    assert (tmp_path / "taken.csv").read_bytes() == (tmp_path / "out" / "readings.csv").read_bytes()
    gaps = [row for row in read(tmp_path / "taken.csv") if row.value is None]
    assert {(row.probe, row.quality.word) for row in gaps} == {("spatula", "open")}


def test_the_report_tells_the_day_on_two_pages_at_most(played: tuple[Store, str], tmp_path: Path) -> None:
    store, step = played
    path = make_report(store, step, tmp_path / "report.pdf")
    told = subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, text=True, check=True).stdout
    said = re.sub(r"\s+", " ", told)
    assert all(re.search(rf"\b{place} [12] \d+\.\d ", said) for place in range(1, 17))
    for words in (
        "Harbour at low tide", "Estimates, not tried on a mock-up: no verdict.", "a lead was open",
        "Warned", "tool temperature (spatula) below", "relative humidity (room) above", "no safety device",
    ):  # fmt: skip
        assert words in said
    with pikepdf.open(path) as opened:
        assert len(opened.pages) <= 2
