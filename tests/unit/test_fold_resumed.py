"""Whatever happens: a fold with every tick made, one kept and read again, one caught up, all tell the same.

This is what resuming after a power cut and recomputing a record rest on.
"""

from __future__ import annotations

import json
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.bench import engine
from monitor.bench.inputs import Asked, Break, Input, Tick
from monitor.bench.outputs import Draft, Output, Refusal
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Level
from monitor.bench.state import State
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from tests.support.folds import OFFSET_MS, ROOM_C, SANDWICH, TOOL, asked, limit, mark, running, sheet

KEY = {"step": "s1", "limit": "hot", "channel": TOOL}
LEVELS = (Level(65.3, "low", "project", "proposal"), Level(70, "high", "project", "proposal"))
ASKS: dict[str, dict[str, Any]] = {
    "see_asked": KEY,
    "shelve_asked": {**KEY, "for_s": 7, "reason": "noise"},
    "shelve once": {**KEY, "for_s": 0, "reason": "known"},
    "unshelve_asked": KEY,
    "suppress_asked": {**KEY, "reason": "by design"},
    "out_of_service_asked": {**KEY, "reason": "lead"},
    "release_asked": KEY,
    "reset_asked": KEY,
    "rest": {"step": "s1", "stage": "rest"},
    "work": {"step": "s1", "stage": "work"},
    "undo_asked": {"step": "s1"},
}

values = st.sampled_from([20.0, 60.0, 64.3, 65.0, 65.3, 65.4, 68.0, 70.0, 71.0, 90.0])
waits = st.sampled_from([1, 100, 200, 300, 499, 500, 600, 601, 999, 1000, 2500, 7000, 40_000])
reads = st.tuples(st.just("read"), st.sampled_from([TOOL, TOOL, TOOL, ROOM_C]), st.one_of(values, values, st.none()))
doings = st.one_of(
    reads,
    reads,
    reads,
    st.tuples(st.just("ask"), st.sampled_from(sorted(ASKS))),
    st.tuples(st.just("mark"), st.sampled_from(["down", "lift"]), st.sampled_from([0, 400, 1900])),
    st.tuples(st.just("restart"), st.sampled_from([1, 5_000, 60_000])),
    st.tuples(st.just("clock set"), st.sampled_from([-3_600_000, 3_600_000])),
    st.tuples(
        st.just("time passes"),
    ),
)
scripts = st.lists(st.tuples(waits, doings), min_size=3, max_size=40)


def inputs(script: list[tuple[int, Any]]) -> list[Input | int]:
    """Turn a script into inputs in their total order; a bare number lets time pass up to it."""
    made: list[Input | int] = []
    now, boot, segment, offset = 300, 1, 1, OFFSET_MS
    for wait, (what, *how) in script:
        now += wait
        if what == "read":
            quality = Quality.OPEN if how[1] is None else Quality.GOOD
            made.append(Reading(now, how[0], how[1], quality))
        elif what == "ask":
            kind = {"rest": "stage_asked", "work": "stage_asked", "shelve once": "shelve_asked"}.get(how[0], how[0])
            made.append(asked(now, kind, **ASKS[how[0]]))
        elif what == "mark":
            made.append(mark(now, how[0], age_ms=how[1]))
        elif what == "restart":
            offset, boot, segment = offset + now + how[0] - 50, boot + 1, segment + 1
            now = 50
            made.append(Break(now, boot, segment, offset, how[0]))
        elif what == "clock set":
            offset, segment = offset + how[0], segment + 1
            made.append(Break(now, boot, segment, offset, 0))
        else:
            made.append(now)
    return made


def begun() -> Fold:
    rule = limit(levels=LEVELS, deadband=0.3, on_delay_ms=900, off_delay_ms=1500, latching=False,
                 re_alarm_ms=3000)  # fmt: skip
    return running(sheet(rule, places=True), interval_ms=200, places=3, channels=(TOOL, ROOM_C), sandwich=SANDWICH)


def fed(fold: Fold, item: Input | int) -> list[Output]:
    if isinstance(item, int):
        return fold.pass_time(item)
    return [o for o in fold.feed(item) if not isinstance(o, Refusal)]


class EveryTick:
    """The same fold with every whole second's tick made, needed or not."""

    def __init__(self) -> None:
        self.state: State = begun().state
        self._next = 0

    def fed(self, item: Input | int) -> list[Output]:
        until = item if isinstance(item, int) else item.mono_ms
        out: list[Output] = []
        if isinstance(item, Break) and item.boot != self.state.boot:
            self._next = -(-item.mono_ms // 1000) * 1000
        while self._next < until:
            out += engine.advance(self.state, Tick(self._next))[1]
            self._next += 1000
        if isinstance(item, int):
            return out
        told = engine.advance(self.state, item)[1]
        refused = bool(told) and isinstance(told[-1], Refusal)
        record = [r for r in [engine.record_of(item)] if r is not None and not refused]
        return [*out, *record, *(o for o in told if not isinstance(o, Refusal))]


@settings(max_examples=300)
@given(script=scripts)
def test_every_tick_made_tells_the_same(script: list[tuple[int, Any]]) -> None:
    sparing, every = begun(), EveryTick()
    items = inputs(script)
    items.append(max(i if isinstance(i, int) else i.mono_ms for i in items) + 20_000)
    for item in items:
        if not isinstance(item, int) and item.mono_ms < 0:
            continue
        assert fed(sparing, item) == every.fed(item)


@settings(max_examples=300)
@given(script=scripts, cut=st.integers(0, 40))
def test_a_kept_state_goes_on_as_if_nothing_had_been_kept(script: list[tuple[int, Any]], cut: int) -> None:
    live = begun()
    resumed: Fold | None = None
    for index, item in enumerate(inputs(script)):
        if index >= cut and resumed is None and engine.may_be_kept(live.state):
            resumed = Fold(load(dump(live.state)))
        out = fed(live, item)
        if resumed is not None:
            assert fed(resumed, item) == out
            if engine.may_be_kept(live.state):
                assert dump(resumed.state) == dump(live.state)


@settings(max_examples=300)
@given(script=scripts, passed=waits)
def test_what_was_told_before_a_cut_is_caught_up_with(script: list[tuple[int, Any]], passed: int) -> None:
    """A station killed after it told something, and one that folds the stored inputs again, stand alike."""
    live, again = begun(), begun()
    now = 0
    for item in inputs(script):
        fed(live, item)
        fed(again, item)
        now = item if isinstance(item, int) else item.mono_ms
    told = [o for o in live.pass_time(now + passed) if isinstance(o, Draft)]
    found: list[Output] = []
    for row in told:
        if row not in found:
            found += again.catch_up(row.mono_ms)
    assert [o for o in found if isinstance(o, Draft)] == told


@given(cents=st.integers(3000, 9000), dead=st.integers(0, 300), high=st.booleans())
def test_the_deadband_is_left_where_it_is_left_on_paper(cents: int, dead: int, high: bool) -> None:
    """Levels and deadbands of two decimals: exactly at level less deadband it is back inside."""
    rule = limit(
        side="high" if high else "low", deadband=dead / 100, on_delay_ms=0, off_delay_ms=0,
        levels=(Level(cents / 100, "low", "project", "proposal"),),
    )  # fmt: skip
    fold = running(sheet(rule))
    sign = 1 if high else -1
    kinds = [
        [d.kind for d in fold.feed(Reading(at, TOOL, value)) if isinstance(d, Draft)]
        for at, value in (
            (1000, cents / 100),
            (2000, (cents + sign) / 100),
            (3000, (cents - sign * (dead - 1)) / 100),
            (4000, (cents - sign * dead) / 100),
        )
    ]
    assert kinds == [[], ["alarm_raised"], [], ["alarm_returned"]]


def test_a_silence_that_ends_while_nothing_runs_ends_at_the_next_start() -> None:
    fold = begun()
    for at in (1000, 1200, 1400, 1600, 1800, 2000):
        fold.feed(Reading(at, TOOL, 90.0))
    assert [o for o in fold.feed(asked(2500, "shelve_asked", **ASKS["shelve_asked"])) if isinstance(o, Draft)]
    out = fold.feed(Break(700, 2, 2, OFFSET_MS + 3_600_000, 3_597_000)) + fold.pass_time(5000)
    ended = [o.mono_ms for o in out if isinstance(o, Draft) and o.kind == "alarm_unshelved"]
    assert ended == [700]


def test_a_channel_that_never_comes_back_after_a_restart_is_still_missed_once_it_spoke() -> None:
    fold = begun()
    fold.feed(Reading(1000, TOOL, 60.0))
    fold.feed(Break(50, 2, 2, OFFSET_MS + 9000, 8000))
    fold.feed(Reading(1000, TOOL, 60.0))
    stale = [o for o in fold.pass_time(60_000) if isinstance(o, Draft) and o.kind == "probe_stale"]
    assert [o.mono_ms for o in stale] == [1601]


def _asked(mono_ms: int, kind: str) -> Asked:
    return asked(mono_ms, kind, **ASKS[kind])


def test_off_during_a_stage_outlasts_silence_and_release() -> None:
    fold = begun()
    for at in range(1000, 3000, 200):
        fold.feed(Reading(at, TOOL, 90.0))
    fold.feed(asked(3001, "stage_asked", step="s1", stage="rest"))
    assert isinstance(fold.feed(_asked(3002, "release_asked"))[-1], Refusal)
    fold.feed(_asked(3003, "shelve_asked"))
    out = [o.kind for o in fold.pass_time(30_000) if isinstance(o, Draft) and o.kind.startswith("alarm")]
    assert out == ["alarm_unshelved"]
    assert fold.state.alarms["s1", "hot", TOOL].state == "suppressed_by_design"


def test_what_a_person_put_off_stays_off_through_the_stages() -> None:
    fold = begun()
    fold.feed(_asked(1001, "suppress_asked"))
    for now, stage in ((1002, "rest"), (1003, "work")):
        fold.feed(asked(now, "stage_asked", step="s1", stage=stage))
    assert fold.state.alarms["s1", "hot", TOOL].state == "suppressed_by_design"
    assert not isinstance(fold.feed(_asked(1004, "release_asked"))[-1], Refusal)


def test_marks_dated_back_never_overlap() -> None:
    fold = begun()
    fold.feed(mark(10_000, "down"))
    fold.feed(mark(20_000, "lift"))
    out = fold.feed(mark(20_500, "down", age_ms=1900))
    started = [o.mono_ms for o in out if isinstance(o, Draft) and o.kind == "contact_started"]
    assert started == [20_000]


def test_a_contact_left_down_is_ended_after_half_an_hour() -> None:
    fold = begun()
    fold.feed(mark(10_000, "down"))
    out = [o for o in fold.pass_time(3_600_000) if isinstance(o, Draft)]
    ended = next(o for o in out if o.kind == "contact_ended")
    assert (ended.mono_ms, ended.body["ended_by"]) == (1_810_000, "left down")


def test_a_state_kept_by_an_earlier_version_goes_on() -> None:
    """It knows nothing of what comes and goes, floods, silences without end or what was seen when."""
    live = begun()
    for at in range(1000, 3000, 200):
        live.feed(Reading(at, TOOL, 90.0))
    kept = json.loads(dump(live.state))
    for name in ("raised_ms", "flood_ms", "flood_count", "paced_ms", "past"):
        del kept[name]
    for alarm in kept["alarms"]:
        assert alarm.keys() <= FIRST_FORM | {"came_ms"}
        alarm.pop("came_ms", None)
    again = Fold(load(json.dumps(kept)))
    assert again.state.alarms["s1", "hot", TOOL].state == live.state.alarms["s1", "hot", TOOL].state
    assert fed(again, Reading(3000, TOOL, 60.0)) == fed(live, Reading(3000, TOOL, 60.0))
    assert again.pass_time(60_000) == live.pass_time(60_000)


FIRST_FORM = {
    "step", "limit", "channel", "windows", "state", "level", "since_ms", "value", "shelved_until_ms", "off_by"
}  # fmt: skip
