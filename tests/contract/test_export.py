"""What `export` writes: a folder that is whole, exact, repeatable and readable without this program."""

from __future__ import annotations

import csv
import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.bench.events import row_hash
from monitor.errors import BadInput
from monitor.probes.readings_csv import HEADER, check, read
from monitor.report import readings_out
from monitor.report.export import export
from monitor.report.selection import of_period, of_step
from monitor.store.store import Store
from tests.unit.report_scene import (
    BEGUN_MS,
    DAMP,
    ENDED_MS,
    FAR,
    GAP_FROM_MS,
    GAP_TO_MS,
    OTHER_STEP,
    ROOM,
    SPIKE_C,
    START_MS,
    STEP,
    TOOL,
    WARM,
    Words,
    lay_out,
    readings,
    tool_c,
)  # fmt: skip

FILES = ["estimates.csv", "events.json", "manifest.json", "readings.csv"]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Give the day's store."""
    made = lay_out(tmp_path_factory.mktemp("export") / "store")
    yield made
    made.close()


def test_a_step_is_exported_as_four_files(store: Store, tmp_path: Path) -> None:
    manifest = export(store, of_step(store, STEP), tmp_path / "out")
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == FILES
    assert json.loads((tmp_path / "out" / "manifest.json").read_text()) == manifest
    assert (manifest["step"], manifest["channels"]) == (STEP, [WARM, DAMP, TOOL])
    assert (manifest["from"], manifest["to"]) == ("2026-05-04T09:01:00.000Z", "2026-05-04T09:11:00.001Z")
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_the_manifest_tells_digest_size_and_rows_of_each_file(store: Store, tmp_path: Path) -> None:
    manifest = export(store, of_step(store, STEP), tmp_path / "out")
    for name, told in manifest["files"].items():
        held = (tmp_path / "out" / name).read_bytes()
        assert told["sha256"] == hashlib.sha256(held).hexdigest()
        assert told["bytes"] == len(held)
    rows = {name: told["rows"] for name, told in manifest["files"].items()}
    assert rows["readings.csv"] == len((tmp_path / "out" / "readings.csv").read_text().splitlines()) - 1
    assert rows["events.json"] == len(json.loads((tmp_path / "out" / "events.json").read_text()))
    assert rows["estimates.csv"] == 2


def test_every_reading_of_the_step_comes_back_to_the_last_bit(store: Store, tmp_path: Path) -> None:
    export(store, of_step(store, STEP), tmp_path / "out")
    path = tmp_path / "out" / "readings.csv"
    assert path.read_bytes().startswith(HEADER.encode() + b"\n")
    given = [(row.at_ms, f"{row.probe}.{row.quantity}", row.value, row.quality) for row in read(path)]
    wanted = [
        (START_MS + r.mono_ms, r.channel, r.value, r.quality)
        for r in readings()
        if BEGUN_MS <= r.mono_ms <= ENDED_MS and r.channel != FAR
    ]
    assert given == sorted(wanted, key=lambda row: row[:2])
    assert check(path) == len(wanted)


def test_a_gap_has_an_empty_value_and_its_cause_and_a_spike_is_kept(store: Store, tmp_path: Path) -> None:
    export(store, of_step(store, STEP), tmp_path / "out")
    text = (tmp_path / "out" / "readings.csv").read_text()
    lines = text.splitlines()
    assert "2026-05-04T09:07:35.000Z,spatula,tool_temperature,,degC,open" in lines
    assert sum(line.endswith(",open") for line in lines) == (GAP_TO_MS - GAP_FROM_MS) // 200
    assert f"2026-05-04T09:05:00.000Z,spatula,tool_temperature,{SPIKE_C},degC,good" in lines
    assert tool_c(GAP_FROM_MS) is None


def test_a_period_takes_every_channel_and_leaves_out_its_end(store: Store, tmp_path: Path) -> None:
    export(store, of_period(store, START_MS + 100_000, START_MS + 102_000), tmp_path / "out")
    rows = list(read(tmp_path / "out" / "readings.csv"))
    assert {f"{row.probe}.{row.quantity}" for row in rows} == {TOOL, DAMP, WARM, FAR}
    assert len(rows) == 10 + 3 * 2
    assert max(row.at_ms for row in rows) < START_MS + 102_000


def test_events_of_a_step_leave_other_paintings_out(store: Store, tmp_path: Path) -> None:
    export(store, of_step(store, STEP), tmp_path / "out")
    text = (tmp_path / "out" / "events.json").read_text()
    rows = json.loads(text)
    assert {row["step"] for row in rows} == {STEP, ROOM, None}
    assert {row["kind"] for row in rows if row["step"] == ROOM} == {"alarm_raised", "alarm_seen", "alarm_returned"}
    assert {row["kind"] for row in rows if row["step"] is None} == {"probe_fault", "probe_restored"}
    assert "Winter road" not in text
    assert "tacking iron" not in text


def test_events_of_a_period_hold_every_dated_row(store: Store, tmp_path: Path) -> None:
    export(store, of_period(store, START_MS, START_MS + 1_000_000), tmp_path / "out")
    rows = json.loads((tmp_path / "out" / "events.json").read_text())
    assert rows == list(store.daybook())
    assert OTHER_STEP in {row["step"] for row in rows}


def test_each_event_still_proves_itself(store: Store, tmp_path: Path) -> None:
    export(store, of_step(store, STEP), tmp_path / "out")
    rows = json.loads((tmp_path / "out" / "events.json").read_text())
    assert [row["seq"] for row in rows] == sorted(row["seq"] for row in rows)
    assert all(row_hash(row) == row["hash"] for row in rows)


def test_estimates_carry_unit_depth_and_band(store: Store, tmp_path: Path) -> None:
    export(store, of_step(store, STEP), tmp_path / "out")
    with (tmp_path / "out" / "estimates.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    first = rows[0]
    assert {row["depth"] for row in rows} == {"bond_line", "face"}
    assert first["time"] == "2026-05-04T09:01:40.000Z"
    assert (first["place"], first["pass"], first["unit"]) == ("1", "1", "degC")
    assert (first["p05"], first["p50"], first["p95"], first["p_reached"]) == ("60.1", "63.4", "66.8", "")


def test_the_same_export_is_the_same_bytes(store: Store, tmp_path: Path) -> None:
    for name in ("one", "two"):
        export(store, of_step(store, STEP), tmp_path / name)
    for file in FILES:
        assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()


def test_an_empty_folder_may_be_used(store: Store, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    export(store, of_step(store, STEP), tmp_path / "out")
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == FILES


def test_a_folder_that_holds_something_is_refused_and_left_alone(store: Store, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letter.txt").write_text("mine")
    with pytest.raises(BadInput, match=r"out: the folder is not empty; expected a new or an empty folder"):
        export(store, of_step(store, STEP), tmp_path / "out")
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["letter.txt"]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("where", ["no/such/out", "letter.txt"])
def test_a_place_that_cannot_be_a_folder_is_refused(store: Store, tmp_path: Path, where: str) -> None:
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(BadInput):
        export(store, of_step(store, STEP), tmp_path / where)
    assert (tmp_path / "letter.txt").read_text() == "mine"


def test_a_failure_half_way_leaves_nothing(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> int:
        raise OSError("no space left on the device")

    monkeypatch.setattr(readings_out, "write", full)
    with pytest.raises(OSError, match="no space"):
        export(store, of_step(store, STEP), tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_step_is_named_with_those_that_exist(store: Store) -> None:
    with pytest.raises(BadInput, match=r"step 's9': not in the day-book; expected one of s3, s2, s1"):
        of_step(store, "s9")


def test_a_period_that_ends_before_it_begins_is_refused(store: Store) -> None:
    with pytest.raises(BadInput, match="an end after the beginning"):
        of_period(store, START_MS, START_MS)


def test_a_step_that_still_runs_is_taken_up_to_the_newest_reading(store: Store) -> None:
    selection = of_step(store, OTHER_STEP)
    assert selection.channels == (FAR,)
    assert selection.to_ms == START_MS + max(r.mono_ms for r in readings()) + 1


def test_a_step_begun_before_the_time_was_known_is_refused_until_it_is_dated(tmp_path: Path) -> None:
    store = lay_out(tmp_path / "store", known=False)
    try:
        with pytest.raises(BadInput, match="did not know the time"):
            of_step(store, STEP)
    finally:
        store.close()


def test_a_note_with_commas_quotes_and_lines_comes_back_as_it_was(tmp_path: Path) -> None:
    store = lay_out(tmp_path / "store", Words(note='a "note", with a comma\nand a line'))
    try:
        export(store, of_step(store, STEP), tmp_path / "out")
        rows = json.loads((tmp_path / "out" / "events.json").read_text())
        assert 'a "note", with a comma\nand a line' in [row["body"].get("text") for row in rows]
    finally:
        store.close()
