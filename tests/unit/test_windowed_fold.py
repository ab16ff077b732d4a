"""Limits that look back: held against the slow textbook on random days with gaps, restarts and clock steps."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.bench import engine
from monitor.bench.inputs import Input, Tick
from monitor.bench.outputs import Output
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from tests.support.past_oracle import MINUTE_MS, Boot, PastBook, told
from tests.support.pasts import INTERVAL_MS, ROOM_RH, happened, inputs_of, looking_back, played, watched

STALE_MS = 3 * INTERVAL_MS
VALUES = (48.0, 50.0, 52.5, 55.0, 58.0, 62.0, 70.0, 81.0)

# A stretch: so many minutes, from one value to another, read well, badly or not at all.
stretches = st.tuples(
    st.sampled_from([1, 2, 4, 7, 20, 45, 61, 130, 400]), st.sampled_from(VALUES), st.sampled_from(VALUES),
    st.sampled_from(["read"] * 6 + ["gaps", "silent", "clipped"]),
)  # fmt: skip
means = st.lists(
    st.tuples(st.integers(0, 600), st.sampled_from([50.0, 56.25, None]), st.sampled_from([168, 200, 167])), max_size=3
)
boots_of = st.lists(
    st.tuples(
        st.integers(0, 200_000), st.sampled_from([1, 25_000, 95_000, 600_000, 4_000_000, 90_000_000, None]),
        st.lists(stretches, min_size=1, max_size=5), means, st.lists(st.integers(0, 500), max_size=2),
        st.dictionaries(st.integers(0, 500), st.sampled_from([-3_600_000, 5_000, 86_400_000]), max_size=2),
    ),
    min_size=1, max_size=3,
)  # fmt: skip


def boot_of(
    number: int, from_ms: int, missed_ms: int | None, parts: list[Any], given: list[Any], stages: list[int],
    clock: dict[int, int],
) -> Boot:  # fmt: skip
    """Lay the stretches one after the other, a reading every 20 s, 7 ms off the second."""
    from_ms, missed_ms = (0, 0) if number == 0 else (from_ms, missed_ms)
    now = from_ms // INTERVAL_MS * INTERVAL_MS + INTERVAL_MS
    readings: dict[int, tuple[float | None, bool]] = {}
    for minutes, first, last, how in parts:
        count = minutes * MINUTE_MS // INTERVAL_MS
        for n in range(count):
            value = round(first + (last - first) * n / count, 2)
            if how == "clipped":
                readings[now + 7] = (100.0 if first > 55 else 0.0, True)
            elif how == "read" or (how == "gaps" and n % 7 < 3):
                readings[now + 7] = (value, False)
            elif how == "gaps":
                readings[now + 7] = (None, False)
            now += INTERVAL_MS
    until = now + MINUTE_MS + 1
    steps = {t * MINUTE_MS + from_ms + 5: ms for t, ms in sorted(clock.items())}
    inside = [(t * MINUTE_MS + from_ms + 3, mean, hours) for t, mean, hours in given]
    begun = sorted({t * MINUTE_MS + from_ms + 1 for t in stages})
    return Boot(
        from_ms, until, missed_ms, readings, {t: (mean, hours) for t, mean, hours in inside if t < until},
        [t for t in begun if t < until], {t: ms for t, ms in steps.items() if t < until},
    )  # fmt: skip


def book_of(drawn: list[Any]) -> list[Boot]:
    return [boot_of(n, *one) for n, one in enumerate(drawn)]


delays = st.sampled_from([0, 30_000, 60_000, 90_000, 300_000])
LEVELS: dict[str, dict[bool, list[float]]] = {
    "rate_1h": {True: [3.0, 8.0], False: [-3.0, -8.0]},
    "change_24h": {True: [5.0, 10.0, 20.0], False: [2.0]},
    "departure_30d": {True: [2.0, 5.0], False: [-2.0, -5.0]},
    "minutes_above": {True: [10.0, 45.0], False: [1.0]},
}


def limits_of(on_ms: int, off_ms: int, *, high: bool) -> list[Any]:
    how: dict[str, Any] = {"on_delay_ms": on_ms, "off_delay_ms": off_ms, "side": "high" if high else "low"}
    counted = {"of": "relative_humidity", "threshold": 55.0}
    return [
        looking_back(quantity, quantity, *at[high], **how, **(counted if quantity == "minutes_above" else {}))
        for quantity, at in LEVELS.items()
    ]


@pytest.mark.long
@settings(max_examples=40)
@given(drawn=boots_of, on_ms=delays, off_ms=delays, high=st.booleans(), dated=st.booleans())
def test_fold_agrees_with_the_textbook(drawn: list[Any], on_ms: int, off_ms: int, high: bool, dated: bool) -> None:
    """Days of up to three boots: nothing missed, early or double."""
    boots = book_of(drawn)
    fold = watched(*limits_of(on_ms, off_ms, high=high))
    made = inputs_of(boots, ROOM_RH, dated=dated)
    out = [played(fold, [boot], [items]) for boot, items in zip(boots, made, strict=True)]
    book = PastBook(boots, STALE_MS, threshold=55.0)
    work_out = {
        "rate_1h": book.rate, "change_24h": book.change, "departure_30d": book.departure,
        "minutes_above": book.counted,
    }  # fmt: skip
    for quantity, of in work_out.items():
        resets = quantity == "minutes_above"
        expected = told(book, of, LEVELS[quantity][high], 1.0, on_ms, off_ms, high=high, resets=resets)
        found = [(n, *row) for n, part in enumerate(out) for row in happened(part, quantity)]
        assert found == expected, quantity


@settings(max_examples=25)
@given(drawn=boots_of, on_ms=delays, cuts=st.sets(st.integers(0, 3000), max_size=5))
def test_a_state_kept_anywhere_goes_on_as_if_never_stopped(drawn: list[Any], on_ms: int, cuts: set[int]) -> None:
    boots = book_of(drawn)
    made = inputs_of(boots, ROOM_RH)
    whole, kept = watched(*limits_of(on_ms, 0, high=True)), watched(*limits_of(on_ms, 0, high=True))
    n = 0
    for boot, items in zip(boots, made, strict=True):
        for item in items:
            if n in cuts:
                kept = Fold(load(dump(kept.state)))
            n += 1
            assert kept.feed(item) == whole.feed(item)
        assert kept.pass_time(boot.until_ms) == whole.pass_time(boot.until_ms)
        assert dump(kept.state) == dump(whole.state)


@settings(max_examples=25)
@given(
    parts=st.lists(stretches.filter(lambda part: part[0] <= 61), min_size=1, max_size=3), on_ms=delays,
    given_means=means, stages=st.lists(st.integers(0, 100), max_size=2),
)  # fmt: skip
def test_ticks_may_be_left_out(parts: list[Any], on_ms: int, given_means: list[Any], stages: list[int]) -> None:
    """The same outputs with a tick at every second."""
    boots = [boot_of(0, 0, 0, parts, given_means, stages, {})]
    (items,) = inputs_of(boots, ROOM_RH)
    sparing, every = watched(*limits_of(on_ms, 30_000, high=True)), watched(*limits_of(on_ms, 30_000, high=True))
    assert played(sparing, boots, [items]) == _with_every_tick(every, items, boots[0].until_ms)
    assert dump(replace(sparing.state, mono_ms=0)) == dump(replace(every.state, mono_ms=0))


def _with_every_tick(fold: Fold, items: list[Input], end: int) -> list[Output]:
    out: list[Output] = []
    second = 0
    for item in items:
        while second * 1000 < item.mono_ms:
            out += engine.advance(fold.state, Tick(second * 1000))[1]
            second += 1
        record = engine.record_of(item)
        out += ([record] if record is not None else []) + engine.advance(fold.state, item)[1]
    while second * 1000 < end:
        out += engine.advance(fold.state, Tick(second * 1000))[1]
        second += 1
    return out
