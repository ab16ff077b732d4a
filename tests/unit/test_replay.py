"""The command replay on a file: its stable form, its sentences, and the mistakes it names."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from monitor.cli import app
from monitor.clock import iso
from monitor.probes.readings_csv import HEADER
from tests.support import reference

START_MS = 1_777_885_200_000
LIMIT = "room.relative_humidity high 65 deadband 1 on-delay 5 off-delay 5"


@pytest.fixture
def trace(tmp_path: Path) -> Path:
    """Write the reference trace as a readings file."""
    path = tmp_path / "trace.csv"
    rows = [f"{iso(START_MS + int(r['t_s']) * 1000)},room,relative_humidity,{r['value']},%RH,good"
            for r in reference.rows("alarm_trace")]  # fmt: skip
    path.write_text("\n".join([HEADER, *rows]) + "\n")
    return path


def said(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, ["replay", *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def test_the_reference_trace_in_the_stable_form(trace: Path) -> None:
    """Raised only at 13 s, cleared only at 31 s; the sums are counted by hand from the trace."""
    code, text = said(str(trace), "--limit", LIMIT, "--json")
    assert code == 0
    plain = {"probe": "room", "quantity": "relative_humidity"}
    assert json.loads(text) == {
        "transitions": [
            {"time": "2026-05-04T09:00:13.000Z", **plain, "event": "raise", "value": 66.0},
            {"time": "2026-05-04T09:00:31.000Z", **plain, "event": "clear", "value": 63.5},
        ],
        "outside_s": 15, "readings": 45, "longest_s": 10, "count": 1,
        "limits": [{"limit": "room.relative_humidity high 65", **plain, "side": "high", "at": 65.0, "count": 1,
                    "outside_s": 15, "longest_s": 10, "spells": 3, "known_s": 44}],
        "not_judged": [],
    }  # fmt: skip


def test_the_same_in_sentences(trace: Path) -> None:
    _, text = said(str(trace), "--limit", LIMIT)
    assert text.splitlines() == [
        "2026-05-04T09:00:13.000Z room relative_humidity beyond the limit: 66",
        "2026-05-04T09:00:31.000Z room relative_humidity back inside: 63.5",
        "room.relative_humidity high 65: 1 warning, 15 s beyond it in 3 spells, the longest 10 s; known for 44 s",
        "45 readings, 15 s of known time beyond what you set",
    ]


def test_a_sheet_tells_each_limit_on_each_channel_and_what_it_lacked(trace: Path) -> None:
    _, text = said(str(trace), "--sheet", "room")
    assert "humidity-high, room.relative_humidity high 60: " in text
    assert "not judged, since not all they need was read: " in text
    assert "not judged" in said(str(trace), "--sheet", "room", "--json")[1].replace("_", " ")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("FILE", "--data", "there", "--limit", LIMIT), "FILE.csv and --data"),
        (("--limit", LIMIT), "FILE.csv and --data"),
        (("FILE", "--from", "2026-05-04T09:00:00Z", "--limit", LIMIT), "with --data only"),
        (("--data", "there", "--to", "2026-05-04T09:00:00Z", "--limit", LIMIT), "--from: None is no instant"),
        (("--data", "there", "--from", "2026-05-04T09:00:00Z", "--to", "noon", "--limit", LIMIT), "--to: 'noon'"),
        (("FILE", "--limit", "room.relative_humidity high 65 deadband -1"), "deadband is -1; expected 0 or more"),
        (("FILE", "--limit", "room.relative_humidity high damp"), "the level is 'damp'"),
        (("FILE", "--limit", "cellar.relative_humidity high 65"), "no readings of cellar.relative_humidity"),
    ],
)
def test_each_mistake_is_told(trace: Path, words: tuple[str, ...], says: str) -> None:
    code, text = said(*(str(trace) if word == "FILE" else word for word in words))
    assert (code, says in text) == (2, True), text
