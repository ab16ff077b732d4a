"""Report and export of a story as it was played: sixteen places, an open lead, a damp hour."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from monitor.probes.readings_csv import read
from monitor.report.export import export
from monitor.report.make import make_report
from monitor.report.selection import of_step
from monitor.report.words import When
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


def ended_ms(row: dict[str, Any], rows: list[dict[str, Any]]) -> int:
    """Find when a level of a warning ended: at the first row after it that eases below it or returns."""
    same = [
        r for r in rows if r["seq"] > row["seq"] and all(r["body"][k] == row["body"][k] for k in ("step", "limit"))
    ]
    sign = 1 if row["body"]["side"] == "high" else -1
    level = sign * float(row["body"]["at"])
    return next(
        int(r["at_ms"]) for r in same
        if r["kind"] == "alarm_returned" or (r["kind"] == "alarm_eased" and sign * float(r["body"]["at"]) < level)
    )  # fmt: skip


def test_each_level_is_printed_with_the_instants_of_its_own_rows(played: tuple[Store, str], tmp_path: Path) -> None:
    store, step = played
    path = make_report(store, step, tmp_path / "report.pdf")
    told = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True).stdout
    lines = [re.sub(r"\s+", " ", line) for line in told.splitlines()]
    rows = list(store.daybook(kinds=["alarm_raised", "alarm_eased", "alarm_returned"]))
    raised = [row for row in rows if row["kind"] == "alarm_raised"]
    assert len({(row["step"], row["body"]["at"]) for row in raised}) >= 4
    for row in raised:
        stood = f"{When().time(row['at_ms'])} to {When().time(ended_ms(row, rows))}"
        whose = "this step" if row["step"] == step else "Watch of the room"
        assert any(f"{stood} {whose}" in line for line in lines), (stood, whose)


def passes_that_count(store: Store, step: str) -> set[tuple[str, str]]:
    """Give place and pass of every contact that ended and was not taken back."""
    found: set[tuple[str, str]] = set()
    for row in store.daybook(step=step, kinds=["contact_ended", "contact_voided"]):
        key = (str(row["body"]["place"]), str(row["body"]["pass"]))
        found = found | {key} if row["kind"] == "contact_ended" else found - {key}
    return found


def test_the_report_tells_the_day_on_two_pages_at_most(played: tuple[Store, str], tmp_path: Path) -> None:
    store, step = played
    path = make_report(store, step, tmp_path / "report.pdf")
    told = subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, text=True, check=True).stdout
    said = re.sub(r"\s+", " ", told)
    # place, pass, time of day, humidity, seconds, lowest, mean and highest of the tool
    passes = re.findall(r"\b(\d+) (\d) (\d\d:\d\d:\d\d) (\d+) (\d+) \d+ \d+ \d+ \d+ to \d+\b", said)
    assert {(place, number) for place, number, *_ in passes} == passes_that_count(store, step)
    assert {int(place) for place, *_ in passes} == set(range(1, 17))
    for words in (
        "Harbour at low tide", "Estimates, not tried on a mock-up: no verdict.", "a lead was open",
        "place 11, pass 1 in hand", "who MK, TB", "no safety device", "Place 15, pass 1: mark taken back",
    ):  # fmt: skip
        assert words in said
    with pikepdf.open(path) as opened:
        assert len(opened.pages) <= 2
