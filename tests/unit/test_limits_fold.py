"""Limits in the fold: the reference trace, the oracle, ticks left out, states kept and resumed."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.bench import engine
from monitor.bench.inputs import Break, Tick
from monitor.bench.outputs import Draft, Output, Refusal, Signal
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Level
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from tests.support import reference
from tests.support.folds import TOOL, asked, drafts, limit, running, sheet, start
from tests.support.oracle import GRID_MS, Textbook

TRACE = reference.rows("alarm_trace")
WORDS = {
    "alarm_raised": "raised", "alarm_eased": "eased", "alarm_returned": "returned", "alarm_seen": "seen",
    "alarm_suppressed": "suppressed", "alarm_released": "released", "alarm_chatters": "chatters",
}  # fmt: skip


def reading(mono_ms: int, value: float | None, quality: Quality = Quality.GOOD) -> Reading:
    return Reading(mono_ms, TOOL, value, Quality.ABSENT if value is None else quality)


def see(mono_ms: int, step: str = "s1") -> Any:
    return asked(mono_ms, "see_asked", step=step, limit="hot", channel=TOOL)


def test_reference_trace_raises_at_13_s_and_clears_at_31_s_only() -> None:
    fold = running(sheet(limit()))
    happened = [
        (d.mono_ms, d.kind)
        for row in TRACE
        for d in drafts(fold.feed(reading(int(row["t_s"]) * 1000, float(row["value"]))), *WORDS)
    ]
    assert happened == [(13_000, "alarm_raised"), (31_000, "alarm_returned")]
    assert [int(r["t_s"]) * 1000 for r in TRACE if r["event"]] == [13_000, 31_000]


values = st.sampled_from([60.0, 63.9, 64.0, 64.5, 65.0, 65.1, 66.0, 68.0, 70.0, 70.1, 75.0])
series = st.lists(
    st.tuples(st.sampled_from([1, 2, 2, 2, 3, 6, 7, 13]), st.one_of(values, values, values, st.none())),
    min_size=1, max_size=60,
)  # fmt: skip
delays = st.sampled_from([0, 500, 1000, 2500, 5000])


def played(fold: Fold, moments: list[tuple[int, Any]], until: int) -> list[tuple[int, str]]:
    out: list[Output] = []
    for _, item in moments:
        out += [o for o in fold.feed(item) if not isinstance(o, Refusal)]
    out += fold.pass_time(until + 1)
    return [(o.mono_ms, WORDS[o.kind]) for o in out if isinstance(o, Draft) and o.kind in WORDS]


def timed(steps: list[tuple[int, float | None]]) -> dict[int, float | None]:
    now, found = 0, {}
    for gap, value in steps:
        now += gap * GRID_MS
        found[now] = value
    return found


@settings(max_examples=400)
@given(
    steps=series, on_ms=delays, off_ms=delays, high=st.booleans(), must=st.booleans(),
    levels=st.sampled_from([(65.0,), (65.0, 70.0), (64.5, 65.0, 68.0)]),
    looks=st.lists(st.integers(1, 60), max_size=4),
)  # fmt: skip
def test_fold_agrees_with_the_textbook(
    steps: list[tuple[int, float | None]], on_ms: int, off_ms: int, high: bool, must: bool,
    levels: tuple[float, ...], looks: list[int],
) -> None:  # fmt: skip
    """Random series with gaps, silences, looks at many moments: nothing missed, early or double.

    Looks fall just after a whole second, when all that has elapsed has also been told.
    """
    readings = timed(steps)
    if not high:
        readings = {t: None if v is None else 130.0 - v for t, v in readings.items()}
        levels = tuple(130.0 - at for at in levels)
    until = max(*readings, 61_000) + 20_000
    seen = sorted({look * 1000 + GRID_MS // 2 for look in looks})
    rule = limit(
        side="high" if high else "low", on_delay_ms=on_ms, off_delay_ms=off_ms, must_be_seen=must,
        levels=tuple(Level(at, "high", "project", "proposal") for at in levels),
    )  # fmt: skip
    book = Textbook(list(levels), high, 1.0, on_ms, off_ms, 1000, readings, seen, must)
    moments = [(t, reading(t, v)) for t, v in readings.items()] + [(t, see(t)) for t in seen]
    moments.sort(key=lambda m: m[0])
    assert played(running(sheet(rule)), moments, until) == book.run(until)


@settings(max_examples=150)
@given(steps=series, on_ms=delays, off_ms=delays, cut=st.integers(0, 60))
def test_ticks_that_change_nothing_may_be_left_out_and_a_kept_state_goes_on(
    steps: list[tuple[int, float | None]], on_ms: int, off_ms: int, cut: int
) -> None:
    """The same outputs with every tick made by hand, and with the state written and read in between."""
    readings = [reading(t, v) for t, v in timed(steps).items()]
    rule = sheet(limit(on_delay_ms=on_ms, off_delay_ms=off_ms))
    sparing, every = running(rule), running(rule)
    spare: list[Output] = []
    for index, item in enumerate(readings):
        if index == cut:
            kept = dump(sparing.state)
            sparing = Fold(load(kept))
            assert dump(sparing.state) == kept
        spare += sparing.feed(item)
    end = readings[-1].mono_ms + 20_000
    spare += sparing.pass_time(end)
    assert spare == _with_every_tick(every, readings, end)


def _with_every_tick(fold: Fold, readings: list[Reading], end: int) -> list[Output]:
    out: list[Output] = []
    second = 0
    for item in readings:
        while second * 1000 < item.mono_ms:
            out += engine.advance(fold.state, Tick(second * 1000))[1]
            second += 1
        out += engine.advance(fold.state, item)[1]
    while second * 1000 < end:
        out += engine.advance(fold.state, Tick(second * 1000))[1]
        second += 1
    return out


def raised(fold: Fold, first: int = 1000) -> int:
    for second in range(first // 1000, first // 1000 + 7):
        fold.feed(reading(second * 1000, 70.0))
    return (first // 1000 + 6) * 1000 + 1


def test_a_gap_ends_a_running_delay_and_leaves_a_standing_warning() -> None:
    fold = running(sheet(limit()))
    now = raised(fold)
    out = fold.feed(reading(now + 999, None)) + fold.pass_time(now + 1500)
    assert not drafts(out)
    assert fold.state.alarms["s1", "hot", TOOL].state == "unacknowledged"
    fold.feed(reading(now + 1999, 60.0))
    assert not drafts(fold.feed(reading(now + 2999, None)) + fold.pass_time(now + 4000), "alarm_returned")


def test_a_clipped_reading_is_beyond_a_limit_at_its_very_bound() -> None:
    fold = running(sheet(limit(on_delay_ms=0, levels=(Level(100, "high", "project", "proposal"),))))
    assert not drafts(fold.feed(reading(1000, 100.0)), "alarm_raised")
    assert drafts(fold.feed(reading(2000, 100.0, Quality.CLIPPED)), "alarm_raised")


def test_same_channel_and_side_in_two_steps_sounds_once_and_is_seen_once() -> None:
    fold = running(sheet(limit()))
    fold.feed(start(0, sheet(limit()), step="s2"))
    out = [o for second in range(1, 8) for o in fold.feed(reading(second * 1000, 70.0))]
    assert len(drafts(out, "alarm_raised")) == 2
    assert len([o for o in out if isinstance(o, Signal)]) == 1
    assert [d.step for d in drafts(fold.feed(see(7500)), "alarm_seen")] == ["s1", "s2"]


def test_a_stage_puts_its_limits_off_and_on_again_by_the_present_condition() -> None:
    fold = running(sheet(limit()))
    now = raised(fold)
    out = fold.feed(asked(now, "stage_asked", step="s1", stage="rest"))
    assert [d.kind for d in drafts(out)] == ["stage_asked", "stage_started", "alarm_suppressed"]
    out = fold.feed(asked(now + 500, "stage_asked", step="s1", stage="work"))
    assert [d.kind for d in drafts(out)] == ["stage_asked", "stage_started", "alarm_released", "alarm_raised"]


def test_silent_for_a_time_comes_back_if_the_condition_still_holds() -> None:
    fold = running(sheet(limit()))
    now = raised(fold)
    key = {"step": "s1", "limit": "hot", "channel": TOOL}
    fold.feed(asked(now, "shelve_asked", **key, for_s=30, reason="at the telephone"))
    out: list[Output] = []
    for second in range(1, 40):
        out += fold.feed(reading(now - 1 + second * 1000, 70.0))
    assert [(d.kind, d.mono_ms) for d in drafts(out)] == [
        ("alarm_unshelved", now + 30_000),
        ("alarm_raised", now + 30_000),
    ]


def test_a_latched_warning_waits_for_its_reset() -> None:
    fold = running(sheet(limit(latching=True)))
    now = raised(fold)
    for second in range(1, 8):
        fold.feed(reading(now - 1 + second * 1000, 20.0))
    key = {"step": "s1", "limit": "hot", "channel": TOOL}
    assert isinstance(fold.feed(asked(now + 8000, "reset_asked", **key))[-1], Refusal)
    fold.feed(see(now + 8100))
    assert drafts(fold.feed(asked(now + 8200, "reset_asked", **key)), "alarm_reset")
    assert fold.state.alarms["s1", "hot", TOOL].state == "normal"


def test_a_restart_keeps_a_standing_warning_and_its_age() -> None:
    fold = running(sheet(limit()))
    now = raised(fold)
    since = fold.state.at_ms(fold.state.alarms["s1", "hot", TOOL].since_ms)
    fold.feed(Break(500, 2, 2, fold.state.offset_ms + now + 10_000 - 500, 10_000))  # type: ignore[operator]
    alarm = fold.state.alarms["s1", "hot", TOOL]
    assert alarm.state == "unacknowledged"
    assert fold.state.at_ms(alarm.since_ms) == since


def test_readings_out_of_order_are_refused() -> None:
    fold = running(sheet(limit()))
    fold.feed(reading(5000, 60.0))
    with pytest.raises(ValueError, match="comes after"):
        engine.advance(fold.state, reading(4000, 60.0))


def test_what_does_not_come_in_the_total_order_is_refused_by_the_fold() -> None:
    fold = running(sheet(limit()))
    fold.feed(see(1000))
    fold.feed(reading(1000, 60.0))
    with pytest.raises(ValueError, match="reading of the same millisecond"):
        fold.feed(see(1000))
    fold.pass_time(5000)
    with pytest.raises(ValueError, match="has passed"):
        fold.feed(reading(4999, 60.0))
    fold.feed(reading(5000, 60.0))


def test_the_order_in_which_a_sheet_lists_its_limits_makes_no_difference() -> None:
    """The day-book keeps a sheet with sorted keys; what is folded from it again must come out alike."""
    one, other = limit("hot", on_delay_ms=0), limit("cold", side="low", on_delay_ms=0)
    told = []
    for template in (sheet(one, other), sheet(other, one)):
        fold = running(template)
        told.append(drafts(fold.feed(reading(1000, 40.0)) + fold.feed(reading(2000, 80.0))))
        told.append(dump(fold.state).replace('["cold","hot"]', '["hot","cold"]'))
    assert told[:2] == told[2:]


def test_a_stage_writes_no_row_for_limits_that_only_stand_by() -> None:
    fold = running(sheet(limit()))
    for now, stage in ((1, "rest"), (2, "work")):
        out = fold.feed(asked(now, "stage_asked", step="s1", stage=stage))
        assert [d.kind for d in drafts(out)] == ["stage_asked", "stage_started"]
    assert fold.state.alarms["s1", "hot", TOOL].state == "normal"


def test_a_probe_out_of_use_stays_so_whatever_the_stage() -> None:
    fold = running(sheet(limit(on_delay_ms=0)))
    key = {"step": "s1", "limit": "hot", "channel": TOOL}
    fold.feed(asked(0, "out_of_service_asked", **key, reason="lead at repair"))
    for now, stage in ((1, "rest"), (2, "work")):
        fold.feed(asked(now, "stage_asked", step="s1", stage=stage))
    assert not drafts(fold.feed(reading(1000, 90.0)), "alarm_raised")
