"""Statistics of a climate by time: closed forms, a walk instant by instant as oracle, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.science import climate
from monitor.science.changes import DAY_MS, HOUR_MS, MONTH_MS

NAN = float("nan")
MIN_MS = 60_000


@dataclass(frozen=True)
class Case:
    """A random series on a short scale: one millisecond stands for a minute."""

    at: list[int]
    values: list[float]
    held: int
    start: int
    end: int

    @property
    def taken(self) -> climate.Record:
        return climate.record(self.at, self.values, held_ms=self.held, from_ms=self.start, until_ms=self.end)

    def at_instant(self, t: int) -> float:
        """Give the value in force, found by looking through the whole list."""
        before = [(a, v) for a, v in zip(self.at, self.values, strict=True) if a <= t]
        return before[-1][1] if before and t < before[-1][0] + self.held else NAN

    @property
    def walk(self) -> dict[int, float]:
        """Give the value in force at each instant of the period, NaN where nothing is known."""
        return {t: self.at_instant(t) for t in range(self.start, self.end)}

    @property
    def known(self) -> dict[int, float]:
        return {t: v for t, v in self.walk.items() if not math.isnan(v)}


@st.composite
def cases(draw: st.DrawFn) -> Case:
    steps = draw(st.lists(st.integers(1, 9), min_size=1, max_size=14))
    at = [draw(st.integers(-5, 5))]
    for step in steps:
        at.append(at[-1] + step)
    value = st.one_of(st.integers(40, 60).map(lambda n: n / 2), st.just(NAN))
    values = draw(st.lists(value, min_size=len(at), max_size=len(at)))
    start = draw(st.integers(at[0] - 4, at[-1]))
    return Case(at, values, draw(st.integers(1, 12)), start, draw(st.integers(start, at[-1] + 15)))


@given(cases())
def test_mean_and_coverage_are_those_of_a_walk(case: Case) -> None:
    found, known = climate.mean(case.taken), list(case.known.values())
    assert found.known == climate.Known(len(known), case.end - case.start)
    assert found.value == pytest.approx(sum(known) / len(known) if known else NAN, nan_ok=True)
    share = len(known) / len(case.walk) if case.walk else NAN
    assert found.known.share == pytest.approx(share, nan_ok=True)


@given(cases(), st.lists(st.integers(0, 100), min_size=1, max_size=4))
def test_percentiles_are_those_of_a_walk(case: Case, pcts: list[int]) -> None:
    found, known = climate.percentiles(case.taken, pcts), sorted(case.known.values())
    # the first value with at least that share of the instants at or below it
    expected = [known[max(-(-pct * len(known) // 100), 1) - 1] if known else NAN for pct in pcts]
    assert found.values == pytest.approx(expected, nan_ok=True)


@given(cases(), st.integers(40, 60), st.integers(40, 60))
def test_time_inside_is_that_of_a_walk(case: Case, one: int, other: int) -> None:
    low, high = min(one, other) / 2, max(one, other) / 2
    found, known = climate.time_inside(case.taken, low, high), case.known.values()
    assert found.inside_ms == sum(low <= v <= high for v in known)
    assert found.below_ms == sum(v < low for v in known)
    assert found.above_ms == sum(v > high for v in known)
    assert found.inside_ms + found.below_ms + found.above_ms == found.known.known_ms
    assert found.share == pytest.approx(found.inside_ms / len(known) if known else NAN, nan_ok=True)


@given(cases(), st.integers(40, 60), st.integers(40, 60))
def test_the_longest_spell_outside_is_that_of_a_walk(case: Case, one: int, other: int) -> None:
    low, high = min(one, other) / 2, max(one, other) / 2
    spells: list[list[int]] = []
    for t, v in case.walk.items():
        if v < low or v > high:
            if spells and spells[-1][1] == t:
                spells[-1][1] = t + 1
            else:
                spells.append([t, t + 1])
    longest = max(spells, key=lambda s: s[1] - s[0], default=None)
    found = climate.longest_outside(case.taken, low, high)
    assert found == (climate.Spell(*longest) if longest else None)


@given(cases(), st.integers(1, 30))
def test_the_largest_changes_are_those_of_all_pairs(case: Case, window: int) -> None:
    known = case.known
    pairs = [b_v - a_v for a, a_v in known.items() for b, b_v in known.items() if 0 <= b - a <= window]
    found = climate.largest_changes(case.taken, window)
    if not known:
        assert found is None
        return
    assert found is not None
    assert (found.rise.size, found.fall.size) == (max(pairs), max(-p for p in pairs))
    assert found.largest.size == max(abs(p) for p in pairs)
    for change, sign in ((found.rise, 1), (found.fall, -1)):
        assert change.size == sign * (change.to_value - change.from_value)
        assert 0 <= change.to_ms - change.from_ms < window
        assert known[change.to_ms] == change.to_value
        if change.size:  # the first was in force up to the instant that is named
            assert known[change.from_ms - 1] == change.from_value
            assert change.from_value not in [known.get(t) for t in range(change.from_ms, change.to_ms)], "the latest"


@given(cases(), st.integers(1, 30))
def test_the_rate_is_the_difference_of_two_instants(case: Case, window: int) -> None:
    asked = list(range(case.at[0] - 3, case.at[-1] + 15))
    found = climate.rate_per_h(case.taken, asked, window_ms=window)
    expected = [(case.at_instant(t) - case.at_instant(t - window)) * HOUR_MS / window for t in asked]
    assert found == pytest.approx(expected, nan_ok=True)
    at_readings = climate.rate_per_h(case.taken, window_ms=window)
    assert at_readings == pytest.approx(climate.rate_per_h(case.taken, case.at, window_ms=window), nan_ok=True)


@given(cases(), st.integers(1, 40))
def test_the_trailing_mean_is_that_of_the_instants_before(case: Case, trailing: int) -> None:
    asked = list(range(case.start - 2, case.end + 12))
    means, known_ms = climate.trailing_mean(case.taken, asked, trailing_ms=trailing)
    for t, mean, known in zip(asked, means, known_ms, strict=True):
        before = [v for a, v in case.known.items() if t - trailing <= a < t]
        assert known == len(before)
        assert mean == pytest.approx(sum(before) / len(before) if before else NAN, nan_ok=True)


@given(cases(), st.integers(1, 40))
def test_the_departure_is_from_what_was_before(case: Case, trailing: int) -> None:
    now = case.at[-1]
    found = climate.departure_from_trailing_mean(case.taken, trailing_ms=trailing)
    means, known_ms = climate.trailing_mean(case.taken, [now], trailing_ms=trailing)
    assert found.value == pytest.approx(case.at_instant(now), nan_ok=True)
    assert found.mean.known == climate.Known(int(known_ms[0]), trailing)
    assert found.departure == pytest.approx(case.at_instant(now) - float(means[0]), nan_ok=True)


@given(cases(), st.data())
def test_reading_a_value_more_often_changes_nothing(case: Case, data: st.DataObject) -> None:
    """A value that holds may be read again as often as one likes: time counts, not rows."""
    rows = dict(zip(case.at, case.values, strict=True))
    held = 10_000  # so that no row is forgotten, and one read in between is no news
    more = {t: v for t, v in case.known.items() if t not in rows and data.draw(st.booleans())}
    scarce = climate.record(case.at, case.values, held_ms=held, from_ms=case.start, until_ms=case.end)
    filled = {**rows, **{t: float(scarce.value_at(t)) for t in more}}
    often = climate.record(sorted(filled), [filled[t] for t in sorted(filled)], held_ms=held,
                           from_ms=case.start, until_ms=case.end)  # fmt: skip
    assert climate.mean(often).value == pytest.approx(climate.mean(scarce).value, nan_ok=True)
    found, expected = (climate.percentiles(taken, [5, 50, 95]).values for taken in (often, scarce))
    assert found == pytest.approx(expected, nan_ok=True)
    assert climate.time_inside(often, 24, 26) == climate.time_inside(scarce, 24, 26)
    assert climate.longest_outside(often, 24, 26) == climate.longest_outside(scarce, 24, 26)
    one, other = climate.largest_changes(often, 9), climate.largest_changes(scarce, 9)
    assert (one and (one.rise.size, one.fall.size)) == (other and (other.rise.size, other.fall.size))


def sampled(curve: Callable[[float], float], days: float, every_ms: int) -> climate.Record:
    """Sample a curve of time in days."""
    at = np.arange(0, int(days * DAY_MS) + 1, every_ms)
    return climate.record(at, [curve(t / DAY_MS) for t in at], held_ms=3 * every_ms)


def test_a_sine_of_a_day() -> None:
    """50 + 5 sin: half the time below 50, five sixths below 50 + 5 sin(60 deg), and 10 from trough to crest."""
    day = sampled(lambda t: 50 + 5 * math.sin(2 * math.pi * t), 10, MIN_MS)
    assert climate.mean(day).value == pytest.approx(50, abs=1e-3)
    expected = [45, 50, 50 + 5 * math.sin(math.pi / 3), 55]
    assert climate.percentiles(day, [0, 50, 100 * 5 / 6, 100]).values == pytest.approx(expected, abs=0.03)
    changes = climate.largest_changes(day)
    assert changes is not None
    assert changes.rise.size == pytest.approx(10, abs=1e-4)
    assert changes.rise.to_ms - changes.rise.from_ms == pytest.approx(DAY_MS / 2, abs=10 * MIN_MS)
    short = climate.largest_changes(day, 6 * HOUR_MS)
    assert short is not None
    assert short.largest.size == pytest.approx(2 * 5 * math.sin(math.pi / 4), abs=0.05)  # a quarter round its middle
    inside = climate.time_inside(day, 47.5, 52.5)
    assert inside.share == pytest.approx(1 / 3, abs=1e-3)  # within 30 deg of each crossing
    outside = climate.longest_outside(day, 47.5, 52.5)
    assert outside is not None
    assert outside.length_ms == pytest.approx(DAY_MS / 3, abs=2 * MIN_MS)


def test_a_ramp() -> None:
    """2 %RH a day for forty days."""
    ramp = sampled(lambda t: 30 + 2 * t, 40, 10 * MIN_MS)
    changes = climate.largest_changes(ramp)
    assert changes is not None
    assert changes.rise.size == pytest.approx(2, abs=0.03)
    assert changes.fall.size == 0
    assert climate.rate_per_h(ramp)[-1] == pytest.approx(2 / 24)
    assert climate.rate_per_h(ramp, window_ms=2 * HOUR_MS)[-1] == pytest.approx(2 / 24)
    assert np.isnan(climate.rate_per_h(ramp)[:6]).all(), "an hour before the first reading nothing is known"
    now = climate.departure_from_trailing_mean(ramp)
    assert now.departure == pytest.approx(2 * 15, abs=0.01), "a trailing mean of a ramp lies half its length behind"
    assert now.mean.known.share == 1


def test_steps_and_a_gap() -> None:
    """40 for an hour, nothing for an hour, 60 for two hours, then 40 for a minute."""
    at = [0, HOUR_MS, 2 * HOUR_MS, 4 * HOUR_MS, 4 * HOUR_MS + MIN_MS]
    taken = climate.record(at, [40.0, NAN, 60.0, 40.0, 40.0], held_ms=3 * HOUR_MS)
    known_ms = 3 * HOUR_MS + MIN_MS
    assert climate.mean(taken).value == pytest.approx((61 * 40 + 120 * 60) / 181)
    assert climate.mean(taken).known == climate.Known(known_ms, 4 * HOUR_MS + MIN_MS)
    assert climate.percentiles(taken, [33, 34]).values == (40, 60)
    changes = climate.largest_changes(taken)
    assert changes is not None
    assert changes.rise == climate.Change(20, 40, 60, HOUR_MS, 2 * HOUR_MS)
    assert changes.fall == climate.Change(20, 60, 40, 4 * HOUR_MS, 4 * HOUR_MS)
    assert climate.largest_changes(taken, HOUR_MS).rise.size == 0, "an hour lies between them: in no hour were both"  # type: ignore[union-attr]
    assert climate.longest_outside(taken, 45, 55) == climate.Spell(2 * HOUR_MS, 4 * HOUR_MS + MIN_MS), (
        "high, then low"
    )
    rates = climate.rate_per_h(taken)
    assert rates[3] == -20  # from 60 an hour before
    assert np.isnan(rates[[0, 1, 2]]).all(), "before the first reading and in the gap nothing is known"


def test_a_value_is_not_taken_to_hold_for_ever() -> None:
    taken = climate.record([0, 100 * MIN_MS], [50.0, 70.0], held_ms=30 * MIN_MS)
    assert climate.mean(taken) == climate.Mean(50.0, climate.Known(30 * MIN_MS, 100 * MIN_MS))
    later = climate.record([0, 100 * MIN_MS], [50.0, 70.0], held_ms=30 * MIN_MS, until_ms=200 * MIN_MS)
    assert climate.mean(later) == climate.Mean(60.0, climate.Known(60 * MIN_MS, 200 * MIN_MS))
    assert taken.value_at([30 * MIN_MS - 1, 30 * MIN_MS, 129 * MIN_MS]).tolist()[::2] == [50.0, 70.0]
    assert math.isnan(taken.value_at(30 * MIN_MS))


def test_equal_to_a_limit_is_inside() -> None:
    taken = climate.record([0, 1, 2, 3], [40.0, 60.0, 60.01, 0.0], held_ms=5)
    assert climate.time_inside(taken, 40, 60).inside_ms == 2
    assert climate.longest_outside(taken, 40, 60) == climate.Spell(2, 3)
    assert climate.longest_outside(taken, 40, 60.01) is None
    assert climate.time_inside(taken, high=60).above_ms == 1


def test_of_nothing_nothing_is_said() -> None:
    for taken in (
        climate.record([], [], held_ms=5, from_ms=0, until_ms=10),
        climate.record([0, 5], [NAN, NAN], held_ms=5, until_ms=10),
    ):
        assert taken.known == climate.Known(0, 10)
        assert math.isnan(climate.mean(taken).value)
        assert all(math.isnan(v) for v in climate.percentiles(taken, [0, 50]).values)
        assert climate.time_inside(taken, 40, 60).inside_ms == 0
        assert math.isnan(climate.time_inside(taken, 40, 60).share)
        assert climate.longest_outside(taken, 40, 60) is None
        assert climate.largest_changes(taken) is None
        assert np.isnan(climate.rate_per_h(taken, [3])).all()
        assert math.isnan(climate.departure_from_trailing_mean(taken, 7).departure)


def test_a_month_of_which_half_is_known_says_so() -> None:
    half = sampled(lambda t: 50.0, 15, HOUR_MS)
    now = climate.departure_from_trailing_mean(half)
    assert now.mean.known == climate.Known(MONTH_MS // 2, MONTH_MS)
    assert (now.value, now.departure) == (50.0, 0.0)


@pytest.mark.parametrize(
    ("at", "values", "asked", "told"),
    [
        ([0, 5, 5, 9], [1.0] * 4, {}, "instant 5 ms stands twice, in rows 1 and 2"),
        ([0, 9, 5], [1.0] * 3, {}, "goes back from 9 to 5 ms in row 2"),
        ([0, 9, 5, 5], [1.0] * 4, {}, "goes back from 9 to 5 ms in row 2"),
        ([0, 5], [1.0], {}, r"instants have shape \(2,\), values \(1,\)"),
        ([[0]], [[1.0]], {}, "one value an instant"),
        ([0.5], [1.0], {}, "of type float64; they must be whole milliseconds"),
        ([0, 1], [1.0, math.inf], {}, "value in row 1 is infinite"),
        ([0], [1.0], {"held_ms": 0}, "held_ms is 0"),
        ([0], [1.0], {"from_ms": 5, "until_ms": 4}, "the period ends at 4 ms, before it begins at 5 ms"),
        ([], [], {"from_ms": 5}, "there is no reading"),
    ],
)
def test_what_is_no_series_is_refused(at: list[int], values: list[float], asked: dict[str, int], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        climate.record(at, values, **{"held_ms": 10, **asked})  # type: ignore[arg-type]


def test_what_cannot_be_asked_is_refused() -> None:
    taken = climate.record([0, 5], [1.0, 2.0], held_ms=5)
    with pytest.raises(ValueError, match=r"percentile is 100\.5 %"):
        climate.percentiles(taken, [50, 100.5])
    with pytest.raises(ValueError, match="limits are 60 and 40"):
        climate.time_inside(taken, 60, 40)
    with pytest.raises(ValueError, match="limits are nan and 40"):
        climate.longest_outside(taken, NAN, 40)
    for asked in (climate.largest_changes, lambda r, w: climate.rate_per_h(r, window_ms=w)):
        with pytest.raises(ValueError, match="the window is 0 ms long"):
            asked(taken, 0)
    with pytest.raises(ValueError, match="the window is 0 ms long"):
        climate.departure_from_trailing_mean(taken, trailing_ms=0)
    empty = climate.record([], [], held_ms=5, from_ms=0, until_ms=10)
    with pytest.raises(ValueError, match="there is no reading; without one at_ms"):
        climate.departure_from_trailing_mean(empty)
