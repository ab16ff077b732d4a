"""Quantities judged at ticks: a stand-in provider through the same windows, ticks left out, states kept, restarts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.bench import engine
from monitor.bench.inputs import Break, Tick
from monitor.bench.outputs import Draft, Output, Refusal
from monitor.bench.pace import next_pace
from monitor.bench.paced import PACED, PROVIDERS
from monitor.bench.state import Alarm, State
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from tests.support.folds import OFFSET_MS, asked, drafts, limit, running, sheet, start
from tests.support.tents import levels

FORETOLD = ("forecast_crossing", "countdown", "hold_condition")
PLAN: dict[int, float | None] = {}
"""What the stand-in says from an instant on."""


def stand_in(state: State, alarm: Alarm, mono_ms: int) -> float | None:
    del state, alarm
    past = [at for at in PLAN if at <= mono_ms]
    return PLAN[max(past)] if past else None


@pytest.fixture(autouse=True)
def _provided() -> Iterator[None]:
    PROVIDERS.update(dict.fromkeys(FORETOLD, stand_in))
    yield
    PROVIDERS.clear()


def late(quantity: str = "countdown", **changes: Any) -> Any:
    """Make a limit of 10, deadband 0, delays of 0 and 5 s, changed as told."""
    given: dict[str, Any] = {"deadband": 0.0, "on_delay_ms": 0, "levels": levels(10.0), **changes}
    return limit("late", quantity=quantity, **given)


def told(out: list[Output]) -> list[tuple[int, str]]:
    return [(d.mono_ms, d.kind.removeprefix("alarm_")) for d in drafts(out)]


def test_a_stand_in_warns_at_the_first_tick_of_its_pace_and_clears_after_its_delay() -> None:
    for quantity, pace in (("countdown", 1000), ("hold_condition", 1000), ("forecast_crossing", 60_000)):
        PLAN.clear()
        PLAN.update({0: 10.0, 1500: 11.0, 200_500: 9.0})
        fold = running(sheet(late(quantity)))
        back = -(-200_500 // pace) * pace
        assert told(fold.pass_time(400_000)) == [(-(-1500 // pace) * pace, "raised"), (back + 5000, "returned")]


def test_a_standing_one_names_its_step_and_can_be_seen_and_silenced_like_any_other() -> None:
    PLAN.clear()
    PLAN[0] = 12.0
    fold = running(sheet(late()))
    fold.pass_time(1001)
    assert [key[2] for key in fold.state.alarms] == ["s1.countdown"]
    key: dict[str, Any] = {"step": "s1", "limit": "late", "channel": "s1.countdown"}
    assert drafts(fold.feed(asked(1500, "see_asked", **key)), "alarm_seen")
    fold.feed(asked(1600, "shelve_asked", **key, for_s=5, reason="heard"))
    assert told(fold.pass_time(10_000)) == [(6600, "unshelved"), (6600, "raised")]


def test_what_is_not_known_ends_a_running_delay_and_leaves_a_standing_warning() -> None:
    PLAN.clear()
    PLAN.update({0: 12.0, 2500: None, 3500: 12.0, 20_000: None, 30_000: 9.0})
    fold = running(sheet(late(on_delay_ms=5000)))
    assert told(fold.pass_time(60_000)) == [(9000, "raised"), (35_000, "returned")]


def test_a_restart_leaves_it_standing_and_begins_its_pace_anew() -> None:
    PLAN.clear()
    PLAN[0] = 12.0
    fold = running(sheet(late()))
    fold.pass_time(90_001)
    fold.feed(Break(500, 2, 2, OFFSET_MS + 100_000, 10_000))
    assert fold.state.alarms["s1", "late", "s1.countdown"].value is None
    PLAN[2000] = 3.0
    assert told(fold.pass_time(10_000)) == [(7000, "returned")]


def test_without_a_provider_no_step_takes_such_a_limit() -> None:
    PROVIDERS.clear()
    fold = running(sheet(limit()))
    for quantity in FORETOLD:
        refusal = fold.feed(start(0, sheet(late(quantity)), step="s2"))[-1]
        assert isinstance(refusal, Refusal)
        assert quantity in refusal.found


def test_the_next_pace_is_not_behind_and_not_one_that_was_made() -> None:
    assert [next_pace(60_000, now, -1) for now in (0, 1, 60_000, 60_001)] == [0, 60_000, 60_000, 120_000]
    assert next_pace(60_000, 60_000, 60_000) == 120_000
    assert next_pace(1000, 60_000, 60_000) == 61_000
    assert next_pace(60_000, 61_500, 61_000) == 120_000


plans = st.lists(
    st.tuples(st.integers(1, 90_000), st.sampled_from([5.0, 10.0, 11.0, 25.0, None])), min_size=1, max_size=12
)


@settings(max_examples=150)
@given(
    plan=plans, on_ms=st.sampled_from([0, 500, 1500, 61_000]), off_ms=st.sampled_from([0, 2000, 90_000]),
    quantity=st.sampled_from(FORETOLD), cuts=st.lists(st.integers(0, 900_000), max_size=4),
)  # fmt: skip
def test_ticks_may_be_left_out_and_a_kept_state_goes_on(
    plan: list[tuple[int, float | None]], on_ms: int, off_ms: int, quantity: str, cuts: list[int]
) -> None:
    """The same outputs with every tick made, with ticks left out, and with the state kept anywhere between."""
    PLAN.clear()
    now = 0
    for gap, value in plan:
        now += gap
        PLAN[now] = value
    end = (now // 1000 + 200) * 1000
    rule = sheet(late(quantity, on_delay_ms=on_ms, off_delay_ms=off_ms, levels=levels(10.0, 20.0)))
    sparing, every = running(rule), running(rule)
    spare: list[Output] = []
    for cut in sorted({cut for cut in cuts if cut < end}):
        spare += sparing.pass_time(cut)
        sparing = Fold(load(dump(sparing.state)))
    spare += sparing.pass_time(end)
    made = [o for second in range(end // 1000) for o in engine.advance(every.state, Tick(second * 1000))[1]]
    assert spare == made
    assert _by_hand(on_ms, off_ms, PACED[quantity].every_ms, end) == told(made)


def _by_hand(on_ms: int, off_ms: int, pace: int, end: int) -> list[tuple[int, str]]:
    """Half a second at a time, each level's run watched by itself."""
    runs: list[tuple[float, bool, int | None]] = [(10.0, False, None), (20.0, False, None)]
    level, found = -1, []
    for now in range(0, end, 500):
        value = stand_in(State(), None, now // pace * pace)  # type: ignore[arg-type]
        for index, (at, active, since) in enumerate(runs):
            holds = value is not None and (value <= at if active else value > at)
            since = (now if since is None else since) if holds else None
            if since is not None and now - since >= (off_ms if active else on_ms):
                active, since = not active, None
            runs[index] = at, active, since
        was, level = level, max((i for i, run in enumerate(runs) if run[1]), default=-1)
        if level != was:
            found.append((now, "raised" if level > was else "eased" if level >= 0 else "returned"))
    return [row for row in found if row[0] < end - 1000 or row[0] % 1000 == 0]


def test_each_draft_is_of_the_day_book() -> None:
    PLAN.clear()
    PLAN[0] = 12.0
    raised = [o for o in running(sheet(late())).pass_time(1001) if isinstance(o, Draft)]
    assert [d.body["value"] for d in raised] == ["12.00"]
