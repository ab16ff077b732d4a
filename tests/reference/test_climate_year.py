"""A measured year at three airports: the statistics against a walk minute by minute and against pandas.

The table is that of `test_measured_air.py`, 26,114 complete rows, an hour apart and with gaps. The walk below is
written for this test alone; pandas puts the year on a grid of minutes and takes plain and rolling statistics of that.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from monitor.science import climate
from monitor.science.changes import DAY_MS, HOUR_MS, MONTH_MS

TABLE = Path(__file__).parents[1] / ".data/weather.csv"
MIN_MS = 60_000
HELD_MS = 3 * HOUR_MS
UNKNOWN = -999.0
STATIONS = ("EWR", "JFK", "LGA")


@dataclass(frozen=True)
class Year:
    """A station's year: instants and relative humidity, NaN where the table says NA."""

    at_ms: list[int]
    values: list[float]

    @property
    def taken(self) -> climate.Record:
        return climate.record(self.at_ms, self.values, held_ms=HELD_MS)

    def walk(self) -> list[float]:
        """Give the value in force at each minute up to the last row, NaN for unknown: with paper and a clock."""
        rows = {at: value for at, value in zip(self.at_ms, self.values, strict=True)}
        minutes, value, seen = [], math.nan, self.at_ms[0]
        for at in range(self.at_ms[0], self.at_ms[-1], MIN_MS):
            if at in rows:
                value, seen = rows[at], at
            minutes.append(value if at < seen + HELD_MS else math.nan)
        return minutes

    def on_a_grid(self) -> pd.Series:
        """Give the same by pandas: on a grid of minutes, each row filled forward for three hours at most."""
        index = pd.to_datetime(self.at_ms, unit="ms")
        told = pd.Series(self.values, index=index).fillna(UNKNOWN)  # a gap is news too, and no value runs on over it
        return told.resample("1min").ffill(limit=HELD_MS // MIN_MS - 1).replace(UNKNOWN, np.nan)


@pytest.fixture(scope="module")
def years() -> dict[str, Year]:
    if not TABLE.exists():
        pytest.skip("tests/.data/weather.csv is not there; deploy/check fetches it")
    found = {name: Year([], []) for name in STATIONS}
    with TABLE.open(newline="") as file:
        for row in sorted(csv.DictReader(file), key=lambda r: r["time_hour"]):
            at = datetime.fromisoformat(row["time_hour"]).astimezone(UTC)
            found[row["origin"]].at_ms.append(int(at.timestamp()) * 1000)
            found[row["origin"]].values.append(math.nan if row["humid"] == "NA" else float(row["humid"]))
    return found


def test_it_is_the_table_of_26114_complete_rows(years: dict[str, Year]) -> None:
    assert sum(not math.isnan(v) for year in years.values() for v in year.values) == 26_114


@pytest.mark.parametrize("name", STATIONS)
def test_mean_coverage_and_time_inside_equal_a_walk(years: dict[str, Year], name: str) -> None:
    year = years[name]
    minutes = year.walk()
    known = [v for v in minutes if not math.isnan(v)]
    mean = climate.mean(year.taken)
    assert mean.known == climate.Known(len(known) * MIN_MS, len(minutes) * MIN_MS)
    assert 0 < len(minutes) - len(known) < 0.02 * len(minutes), "there is unknown time, or this shows nothing of it"
    assert mean.value == pytest.approx(math.fsum(known) / len(known), rel=1e-12)
    inside = climate.time_inside(year.taken, 40, 60)
    counted = tuple(sum(test) * MIN_MS for test in (
        (40 <= v <= 60 for v in known), (v < 40 for v in known), (v > 60 for v in known),
    ))  # fmt: skip
    assert (inside.inside_ms, inside.below_ms, inside.above_ms) == counted


@pytest.mark.parametrize("name", STATIONS)
@pytest.mark.parametrize(("low", "high"), [(40.0, 60.0), (0.0, 85.0)])
def test_the_longest_spell_outside_equals_a_walk(years: dict[str, Year], name: str, low: float, high: float) -> None:
    year = years[name]
    longest, run, begun = (0, 0), 0, 0
    for minute, value in enumerate(year.walk()):
        outside = value < low or value > high
        begun = begun if run else minute
        run = run + 1 if outside else 0
        longest = max(longest, (run, -begun))
    found = climate.longest_outside(year.taken, low, high)
    start_ms = year.at_ms[0] - longest[1] * MIN_MS
    assert found == climate.Spell(start_ms, start_ms + longest[0] * MIN_MS)
    assert longest[0] > 12 * 60, "a spell of some hours at least"


@pytest.mark.parametrize("name", STATIONS)
def test_statistics_equal_those_of_pandas_on_a_grid(years: dict[str, Year], name: str) -> None:
    taken, grid = years[name].taken, years[name].on_a_grid()[:-1]  # the last row's own minute is after the period
    known = grid.dropna()
    mean = climate.mean(taken)
    assert mean.value == pytest.approx(known.mean(), rel=1e-9)
    assert mean.known.known_ms == len(known) * MIN_MS
    pcts = [1, 5, 25, 50, 75, 95, 99]
    expected = np.percentile(known.to_numpy(), pcts, method="inverted_cdf")
    assert climate.percentiles(taken, pcts).values == tuple(expected)


@pytest.mark.parametrize("name", STATIONS)
@pytest.mark.parametrize("hours", [1, 6, 24])
def test_the_largest_changes_equal_rolling_ones_of_pandas(years: dict[str, Year], name: str, hours: int) -> None:
    taken, grid = years[name].taken, years[name].on_a_grid()[:-1]
    rolling = grid.rolling(f"{hours}h", closed="both", min_periods=1)
    changes = climate.largest_changes(taken, hours * HOUR_MS)
    assert changes is not None
    assert changes.rise.size == pytest.approx((grid - rolling.min()).max(), abs=1e-9)
    assert changes.fall.size == pytest.approx((rolling.max() - grid).max(), abs=1e-9)
    assert changes.largest.size == pytest.approx((rolling.max() - rolling.min()).max(), abs=1e-9)
    for change in (changes.rise, changes.fall):
        end = pd.to_datetime(change.to_ms, unit="ms")
        assert grid[end] == change.to_value
        assert grid[pd.to_datetime(change.from_ms - MIN_MS, unit="ms")] == change.from_value


def test_a_day_can_bring_more_than_forty_percent(years: dict[str, Year]) -> None:
    changes = climate.largest_changes(years["JFK"].taken, DAY_MS)
    assert changes is not None
    assert changes.largest.size > 40


@pytest.mark.parametrize("name", STATIONS)
def test_trailing_means_equal_rolling_ones_of_pandas(years: dict[str, Year], name: str) -> None:
    year = years[name]
    rolling = year.on_a_grid().rolling("30D", closed="left", min_periods=1).mean()
    asked = year.at_ms[:: 24 * 5][1:]
    means, known_ms = climate.trailing_mean(year.taken, asked)
    expected = rolling[pd.to_datetime(asked, unit="ms")].to_numpy()
    assert means == pytest.approx(expected, abs=1e-6)
    assert (known_ms <= MONTH_MS).all()
    now = climate.departure_from_trailing_mean(year.taken, asked[-1])
    assert now.departure == pytest.approx(year.values[year.at_ms.index(asked[-1])] - expected[-1], abs=1e-6)


@pytest.mark.parametrize("name", STATIONS)
def test_the_rate_equals_a_shifted_difference_of_pandas(years: dict[str, Year], name: str) -> None:
    year = years[name]
    grid = year.on_a_grid()
    expected = (grid - grid.shift(90)) / 1.5
    found = climate.rate_per_h(year.taken, year.at_ms, window_ms=90 * MIN_MS)
    assert found == pytest.approx(expected[pd.to_datetime(year.at_ms, unit="ms")].to_numpy(), nan_ok=True)
