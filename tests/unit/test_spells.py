"""Time beyond a level, counted instant by instant and by the code."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.bench.readings import Quality, Reading
from monitor.bench.spells import Side, Spells, spells_of

STALE = 3


def reading(at: int, value: float | None, *, clipped: bool = False) -> Reading:
    quality = Quality.ABSENT if value is None else Quality.CLIPPED if clipped else Quality.GOOD
    return Reading(at, "a.mass", value, quality)


def test_equal_is_not_beyond_and_the_last_reading_counts_for_nothing() -> None:
    found = spells_of([reading(0, 5), reading(1, 6), reading(2, 6), reading(3, 5), reading(4, 9)], Side(5, True), 3)
    assert (found.known_ms, found.outside_ms, found.longest_ms, found.count) == (4, 2, 2, 1)


def test_a_gap_and_a_silence_part_two_spells_of_one_height() -> None:
    rows = [reading(0, 6), reading(1, None), reading(2, 6), reading(4, 6), reading(20, 6), reading(21, 1)]
    found = spells_of(rows, Side(5, True), STALE)
    assert (found.known_ms, found.outside_ms, found.longest_ms, found.count) == (1 + 2 + 3 + 1, 7, 5, 3)


def test_a_clipped_reading_is_past_every_level_on_its_side_and_none_on_the_other() -> None:
    rows = [reading(0, 100, clipped=True), reading(1, 50), reading(2, 50)]
    assert spells_of(rows, Side(200, True), STALE).outside_ms == 1
    assert spells_of(rows, Side(200, False), STALE).outside_ms == 1  # the value of 50 alone


rows = st.lists(
    st.tuples(st.integers(0, 6), st.sampled_from([None, 4.0, 5.0, 6.0]), st.booleans()), min_size=1, max_size=25
)


@given(rows, st.sampled_from([True, False]))
def test_every_instant_is_counted_once(steps: list[tuple[int, float | None, bool]], high: bool) -> None:
    now, readings = 0, []
    for after, value, clipped in steps:
        now += after
        readings.append(reading(now, value, clipped=clipped))
    found = spells_of(readings, Side(5, high), STALE)
    known = outside = longest = run = count = 0
    for at in range(readings[0].mono_ms, now):
        last = [r for r in readings if r.mono_ms <= at][-1]
        holds = last.value is not None and at < last.mono_ms + STALE
        known += holds
        beyond = last.value is not None and (
            high if last.quality is Quality.CLIPPED else last.value > 5 if high else last.value < 5
        )
        run = run + 1 if holds and beyond else 0
        outside += run > 0
        count += run == 1
        longest = max(longest, run)
    assert (found.known_ms, found.outside_ms, found.longest_ms, found.count) == (known, outside, longest, count)


def test_nothing_read_is_nothing_known() -> None:
    assert spells_of([], Side(5, True), STALE) == Spells()


@pytest.mark.parametrize("to_ms", [5, 4])
def test_a_value_that_holds_for_no_time_parts_nothing(to_ms: int) -> None:
    found = Spells()
    found.take(0, 5, beyond=True)
    found.take(5, to_ms, beyond=False)
    found.take(5, 9, beyond=True)
    assert (found.longest_ms, found.count) == (9, 1)
