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

from monitor.bench.readings import Quality, Reading
from monitor.clock import Segment
from monitor.store.batch import Batch
from monitor.store.declaring import Series
from monitor.store.migrating import migrate
from monitor.store.store import Store

TABLE = Path(__file__).parents[1] / ".data/weather.csv"
COMMAND = (sys.executable, "-c", "from monitor.cli import main; main()", "replay")
START = datetime(2013, 1, 1, tzinfo=UTC)
STALE_MIN = 3 * 60

Rows = list[tuple[int, float | None]]
"""Minute since START and value, None where the station gave none."""


@dataclass
class Count:
    """What one limit comes to: (minute, raise or clear), and the minutes beyond it, all and in one stretch."""

    transitions: list[tuple[int, str]] = field(default_factory=list)
    outside_min: int = 0
    known_min: int = 0
    stretches: list[int] = field(default_factory=list)


def count(rows: Rows, sign: int, level: float, deadband: float, on_min: int, off_min: int) -> Count:
    """Walk through the year minute by minute, as one would with paper and a clock."""
    found, at = Count(), dict(rows)
    raised, since, value, seen, was_outside = False, None, None, 0, False
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
        outside = minute < last and known and value is not None and sign * (value - level) > 0
        found.outside_min += outside
        found.known_min += minute < last and known
        if outside and not was_outside:
            found.stretches.append(0)
        if outside:
            found.stretches[-1] += 1
        was_outside = outside
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


def replay(*words: str) -> dict[str, Any]:
    done = subprocess.run([*COMMAND, *words, "--json"], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    result: dict[str, Any] = json.loads(done.stdout)
    return result


@pytest.fixture(scope="module")
def kept(measured: Measured, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a store with the year in it, read hourly."""
    folder = tmp_path_factory.mktemp("kept")
    migrate(folder)
    store, start_ms = Store.open(folder), int(START.timestamp()) * 1000
    store.begin_boot("hub", "a-measured-year", start_ms, 1, "0.1.0")
    probes = sorted({channel.split(".")[0] for channel in measured.channels})
    quantities = ("air_temperature", "relative_humidity")
    store.declare_series(
        [Series("roof", probe, "sht45", quantities, 3_600_000, "a measured year") for probe in probes]
    )
    rows = sorted(
        (minute * 60_000, channel, value) for channel, rows in measured.channels.items() for minute, value in rows
    )
    readings = [Reading(at, c, v, Quality.ABSENT if v is None else Quality.GOOD) for at, c, v in rows]
    for begin in range(0, len(readings), 6000):
        store.write(Batch(Segment(1, store.boot, 0, start_ms, True), readings[begin : begin + 6000]))
    store.close()
    return folder


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
    measured: Measured, kept: Path, channel: str, side: str, level: float, deadband: float, on_min: int, off_min: int,
    fewest: int,
) -> None:  # fmt: skip
    sign = 1 if side == "high" else -1
    rows = measured.channels[channel]
    expected = count(rows, sign, level, deadband, on_min, off_min)
    assert len(expected.transitions) >= fewest, "too few excursions to show anything"
    text = f"{channel} {side} {level} deadband {deadband} on-delay {on_min * 60} off-delay {off_min * 60}"
    result = replay(str(measured.file), "--limit", text)
    probe, quantity = channel.split(".")
    assert {(t["probe"], t["quantity"]) for t in result["transitions"]} == {(probe, quantity)}
    found = [(datetime.fromisoformat(t["time"]), t["event"]) for t in result["transitions"]]
    assert found == [(START + timedelta(minutes=minute), event) for minute, event in expected.transitions]
    assert result["outside_s"] == expected.outside_min * 60
    assert result["longest_s"] == max(expected.stretches) * 60
    assert result["count"] == sum(event == "raise" for _, event in expected.transitions)
    (row,) = result["limits"]
    assert (row["spells"], row["known_s"]) == (len(expected.stretches), expected.known_min * 60)
    assert result["readings"] == sum(v is not None for r in measured.channels.values() for _, v in r)
    stored = replay(
        "--data", str(kept), "--from", "2013-01-01T00:00:00Z", "--to", "2014-02-01T00:00:00Z", "--limit", text
    )
    assert stored == {**result, "readings": sum(v is not None for _, v in rows)}
