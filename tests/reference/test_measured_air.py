"""A measured year that no one here wrote goes through `replay`; an independent count must agree."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

TABLE = Path(__file__).parents[1] / ".data/weather.csv"
COMMAND = (sys.executable, "-c", "from monitor.cli import main; main()", "replay")
START = datetime(2013, 1, 1, tzinfo=UTC)
STALE_MIN = 3 * 60

Rows = list[tuple[int, float | None]]
"""Minute since START and value, None where the station gave none."""


@dataclass
class Count:
    """What one limit comes to: (minute, raise or clear) and the minutes beyond it."""

    transitions: list[tuple[int, str]] = field(default_factory=list)
    outside_min: int = 0


def count(rows: Rows, sign: int, level: float, deadband: float, on_min: int, off_min: int) -> Count:
    """Walk through the year minute by minute, as one would with paper and a clock."""
    found, at = Count(), dict(rows)
    raised, since, value, seen = False, None, None, 0
    first, last = rows[0][0], rows[-1][0]
    for minute in range(first, last + 1):
        if minute in at:
            value, seen = at[minute], minute
            beyond = value is not None and sign * (value - level) > 0
            back = value is not None and sign * (value - level) <= -deadband
            wanted = back if raised else beyond
            since = None if not wanted else minute if since is None else since
        elif minute > seen + STALE_MIN:
            since = None
        if since is not None and minute - since >= (off_min if raised else on_min):
            raised, since = not raised, None
            found.transitions.append((minute, "raise" if raised else "clear"))
        known = value is not None and minute < seen + STALE_MIN
        found.outside_min += minute < last and known and sign * (value - level) > 0
    return found


@dataclass(frozen=True)
class Measured:
    """The year as a readings file, and the same rows by channel."""

    file: Path
    channels: dict[str, Rows]


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> Measured:
    if not TABLE.exists():
        pytest.skip("tests/.data/weather.csv is not there; deploy/check fetches it")
    with TABLE.open(newline="") as file:
        taken = sorted(csv.DictReader(file), key=lambda row: (row["time_hour"], row["origin"]))
    out = tmp_path_factory.mktemp("air") / "year.csv"
    channels: dict[str, Rows] = {}
    with out.open("w") as file:
        file.write("time,probe,quantity,value,unit,quality\n")
        for row in taken:
            at = datetime.fromisoformat(row["time_hour"])
            probe, known = row["origin"].lower(), row["temp"] != "NA"
            values = {
                "air_temperature": (round((float(row["temp"]) - 32) / 1.8, 2) if known else None, "degC"),
                "relative_humidity": (float(row["humid"]) if known else None, "%RH"),
            }
            for quantity, (value, unit) in values.items():
                minute = int((at - START).total_seconds()) // 60
                channels.setdefault(f"{probe}.{quantity}", []).append((minute, value))
                shown, quality = ("", "absent") if value is None else (value, "good")
                file.write(f"{at:%Y-%m-%dT%H:%M:%SZ},{probe},{quantity},{shown},{unit},{quality}\n")
    return Measured(out, channels)


def replay(file: Path, limit: str) -> dict[str, Any]:
    done = subprocess.run([*COMMAND, str(file), "--limit", limit, "--json"], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    result: dict[str, Any] = json.loads(done.stdout)
    return result


@pytest.mark.long
@pytest.mark.parametrize(
    ("channel", "side", "level", "deadband", "on_min", "off_min", "fewest"),
    [
        ("ewr.relative_humidity", "high", 80, 2, 90, 30, 100),
        ("jfk.relative_humidity", "low", 40, 1, 1, 1, 100),
        ("lga.air_temperature", "high", 30, 0.5, 150, 60, 20),
        ("ewr.air_temperature", "low", -5, 1, 60, 200, 5),
    ],
)
def test_excursions_of_a_measured_year_equal_an_independent_count(
    measured: Measured, channel: str, side: str, level: float, deadband: float, on_min: int, off_min: int, fewest: int
) -> None:
    sign = 1 if side == "high" else -1
    rows = measured.channels[channel]
    expected = count(rows, sign, level, deadband, on_min, off_min)
    assert len(expected.transitions) >= fewest, "too few excursions to show anything"
    text = f"{channel} {side} {level} deadband {deadband} on-delay {on_min * 60} off-delay {off_min * 60}"
    result = replay(measured.file, text)
    probe, quantity = channel.split(".")
    assert {(t["probe"], t["quantity"]) for t in result["transitions"]} == {(probe, quantity)}
    found = [(datetime.fromisoformat(t["time"]), t["event"]) for t in result["transitions"]]
    assert found == [(START + timedelta(minutes=minute), event) for minute, event in expected.transitions]
    assert result["outside_s"] == expected.outside_min * 60
    assert result["readings"] == sum(v is not None for r in measured.channels.values() for _, v in r)
