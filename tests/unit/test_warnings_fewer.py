"""Few warnings, each told once: traces by hand of what hides, comes and goes, floods, warns again, and is silent."""

from __future__ import annotations

from typing import Any

import pytest

from monitor.bench.alarms import AlarmState
from monitor.bench.inputs import Asked, Break
from monitor.bench.outputs import Draft, Output, Refusal, Signal
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Guard, Level, Sheet
from monitor.bench.ticking import Fold
from tests.support import tents
from tests.support.folds import OFFSET_MS, TOOL, asked, drafts, limit, running, sheet, start
from tests.support.tents import AIR_C, AIR_RH, REVERSE_C, damp, tent

KEY: dict[str, Any] = {"step": "s1", "limit": "hot", "channel": TOOL}
AT_ONCE: dict[str, Any] = {"on_delay_ms": 0, "off_delay_ms": 0}


def read(fold: Fold, second: float, value: float | None, channel: str = TOOL) -> list[Output]:
    quality = Quality.OPEN if value is None else Quality.GOOD
    return fold.feed(Reading(round(second * 1000), channel, value, quality))


def told(out: list[Output]) -> list[tuple[float, str]]:
    """List the rows of warnings by second and kind, and each sound."""
    rows: list[tuple[float, str]] = []
    for o in out:
        if isinstance(o, Signal):
            rows.append((o.mono_ms / 1000, "sound"))
        elif isinstance(o, Draft) and o.kind.startswith(("alarm_", "flood_")):
            rows.append((o.mono_ms / 1000, o.kind.removeprefix("alarm_")))
    return rows


def hot(**changes: Any) -> Fold:
    """Give a fold whose warning has been raised at 1 s and not been seen."""
    fold = running(sheet(limit(**{**AT_ONCE, **changes})))
    assert told(read(fold, 1, 90.0)) == [(1, "raised"), (1, "sound")]
    return fold


def state(fold: Fold) -> AlarmState:
    return fold.state.alarms["s1", "hot", TOOL].state


# a cause hides its effects


def test_a_dead_probe_silences_its_standing_warning_and_says_why() -> None:
    fold = hot()
    out = [o for second in (2, 3, 4) for o in read(fold, second, None)] + fold.pass_time(60_000)
    held = drafts(out, "alarm_suppressed")
    assert [(d.mono_ms, d.body["cause"], d.body["reason"]) for d in held] == [
        (4000, "no reading", "its probe gives no reading")
    ]
    assert [d.mono_ms for d in drafts(out, "probe_fault")] == [4000]
    assert state(fold) is AlarmState.SUPPRESSED


def test_it_sounds_again_when_the_probe_reads_and_the_limit_is_still_passed() -> None:
    fold = hot(off_delay_ms=5000)
    for second in (2, 3, 4, 5):
        read(fold, second, None)
    out = read(fold, 6.5, 90.0) + fold.pass_time(8000)
    assert told(out) == [(7, "released"), (7, "raised"), (7, "sound")]


def test_it_is_over_without_a_sound_when_the_probe_reads_and_all_is_inside() -> None:
    """Nor does it sound while the off-delay runs: it is about to end."""
    fold = hot(off_delay_ms=5000)
    out = [o for second in (2, 3, 4, 5) for o in read(fold, second, None)]
    for second in range(6, 20):
        out += read(fold, second, 50.0)
    assert told(out) == [(4, "suppressed"), (11, "released")]
    assert drafts(out, "alarm_released")[0].body == {**KEY, "state": "normal", "value": "50.00"}


def test_a_lost_input_silences_what_is_computed_from_it_and_not_what_else_is_read() -> None:
    air_c = limit("warm", role="tent", quantity="air_temperature", levels=(Level(15, "low", "project", "proposal"),),
                  **AT_ONCE)  # fmt: skip
    fold = tent(damp(levels=tents.levels(70.0), on_delay_ms=0), air_c)
    for second in range(1, 8):
        for channel, value in ((REVERSE_C, 15.0 if second < 3 else None), (AIR_C, 20.0), (AIR_RH, 60.0)):
            read(fold, second, value, channel)
    fold.pass_time(8000)
    states = {key[1]: alarm.state.value for key, alarm in fold.state.alarms.items()}
    assert states == {"damp": "suppressed_by_design", "warm": "unacknowledged"}


def test_a_silence_that_ends_while_nothing_is_read_does_not_sound() -> None:
    fold = hot()
    fold.feed(asked(1500, "shelve_asked", **KEY, for_s=5, reason="at the telephone"))
    out = [o for second in (2, 3, 4, 5) for o in read(fold, second, None)] + fold.pass_time(60_000)
    assert told(out)[-2:] == [(6.5, "unshelved"), (6.5, "suppressed")]
    assert not [o for o in out if isinstance(o, Signal)]
    assert isinstance(fold.feed(asked(61_000, "release_asked", **KEY))[-1], Refusal)


def test_a_warning_held_back_outlasts_a_restart_until_its_first_reading() -> None:
    fold = hot()
    for second in (2, 3, 4):
        read(fold, second, None)
    fold.pass_time(5000)
    fold.feed(Break(500, 2, 2, OFFSET_MS + 20_000, 15_000))
    assert told(fold.pass_time(3000)) == []
    assert told(read(fold, 3.2, 90.0) + fold.pass_time(5000)) == [(4, "released"), (4, "raised"), (4, "sound")]


# what comes and goes


def test_the_third_time_within_a_minute_it_stays_standing_and_sounds_no_more() -> None:
    fold = running(sheet(limit(**AT_ONCE)))
    out: list[Output] = []
    for second in range(1, 61):
        out += read(fold, second, 90.0 if second % 10 == 1 else 50.0)
    assert told(out) == [
        (1, "raised"), (1, "sound"), (2, "returned"), (11, "raised"), (11, "sound"), (12, "returned"),
        (21, "raised"), (21, "sound"), (21, "chatters"),
    ]  # fmt: skip
    assert drafts(out, "alarm_chatters")[0].body == {**KEY, "times": 3, "within_s": 60, "quiet_s": 120}
    out = [o for second in range(61, 200) for o in read(fold, second, 50.0)]
    assert told(out) == [(172, "returned")], "it was last passed until 52 s; 120 s later it is over"


def test_three_times_in_more_than_a_minute_is_no_chattering() -> None:
    fold = running(sheet(limit(**AT_ONCE)))
    out = [o for second in range(1, 200) for o in read(fold, second, 90.0 if second % 31 == 1 else 50.0)]
    assert "chatters" not in [what for _, what in told(out)]


def test_what_comes_and_goes_and_was_seen_stays_seen_but_a_graver_level_warns() -> None:
    levels = tuple(Level(at, p, "project", "proposal") for at, p in ((65, "low"), (80, "high")))
    fold = running(sheet(limit(levels=levels, **AT_ONCE)))
    for second in range(1, 22):
        read(fold, second, 70.0 if second % 5 == 1 else 50.0)
    fold.feed(asked(21_500, "see_asked", **KEY))
    out = [o for second in range(22, 30) for o in read(fold, second, 70.0 if second % 2 else 50.0)]
    assert (told(out), state(fold)) == ([], AlarmState.ACKNOWLEDGED)
    assert told(read(fold, 31, 90.0)) == [(31, "raised"), (31, "sound")]


def test_silent_until_it_is_over_lasts_while_it_comes_and_goes() -> None:
    fold = running(sheet(limit(**AT_ONCE)))
    for second in range(1, 22):
        read(fold, second, 90.0 if second % 10 == 1 else 50.0)
    fold.feed(asked(21_500, "shelve_asked", **KEY, for_s=0, reason="the hook is bent"))
    out = [o for second in range(22, 160) for o in read(fold, second, 50.0)]
    assert told(out) == [(142, "unshelved")]


# more than can be looked at


def many(count: int) -> Fold:
    """Give a fold with as many steps, each with a warning of its own on a probe of its own."""
    fold = Fold()
    fold.feed(Break(0, 1, 1, OFFSET_MS, None))
    channels = [{"channel": f"p{n}.tool_temperature", "interval_ms": 1000, "bench": "north"} for n in range(count)]
    fold.feed(Asked(0, "settings_in_force", None, "station", {"engine": 1, "channels": channels}))
    for n in range(count):
        asking = start(0, sheet(limit(**AT_ONCE)), step=f"s{n + 1}", channels=(f"p{n}.tool_temperature",))
        assert not [o for o in fold.feed(asking) if isinstance(o, Refusal)]
    return fold


def test_the_eleventh_in_ten_minutes_begins_a_flood_and_fewer_than_five_end_it() -> None:
    fold = many(12)
    out: list[Output] = []
    for n in range(12):
        out += read(fold, 10 * (n + 1), 90.0, f"p{n}.tool_temperature")
    assert [(d.mono_ms, d.body["count"]) for d in drafts(out, "flood_began")] == [(110_000, 11)]
    marks = [o.body.get("flood") for o in out if isinstance(o, Signal)]
    assert marks == [None] * 10 + [11, 12], "each is still signalled, the eleventh and twelfth as part of a flood"
    assert len(drafts(out, "alarm_raised")) == 12, "and each has its row"
    out = fold.pass_time(1_000_000)
    ended = drafts(out, "flood_ended")
    # at 680 s those of 90, 100, 110 and 120 s are left of the last ten minutes
    assert [(d.mono_ms, d.body) for d in ended] == [(680_000, {"count": 12, "seconds": 570})]


def test_a_flood_goes_on_through_a_restart() -> None:
    fold = many(11)
    for n in range(11):
        read(fold, 10 * (n + 1), 90.0, f"p{n}.tool_temperature")
    fold.feed(Break(500, 2, 2, OFFSET_MS + 200_000 - 500, 90_000))
    ended = drafts(fold.pass_time(1_000_000), "flood_ended")
    assert [(d.mono_ms - 500 + 200_000) // 1000 for d in ended] == [670]


def test_one_passing_that_two_steps_watch_counts_once() -> None:
    fold = running(sheet(limit(**AT_ONCE)))
    fold.feed(start(0, sheet(limit(**AT_ONCE)), step="s2"))
    read(fold, 1, 90.0)
    assert fold.state.raised_ms == [1000]


# warning again, and silence until it is over


def test_seen_and_still_standing_it_warns_again_and_says_so() -> None:
    fold = hot(re_alarm_ms=30_000)
    fold.feed(asked(2500, "see_asked", **KEY))
    out = [o for second in range(3, 40) for o in read(fold, second, 90.0)]
    assert told(out) == [(33, "raised"), (33, "sound")]
    assert drafts(out, "alarm_raised")[0].body["why"] == "still stands"
    assert state(fold) is AlarmState.UNACKNOWLEDGED


def test_what_is_not_to_warn_again_stays_seen() -> None:
    fold = hot()
    fold.feed(asked(2500, "see_asked", **KEY))
    assert not [o for second in range(3, 4000) for o in read(fold, second, 90.0)]


def test_a_restart_does_not_make_it_wait_longer_to_warn_again() -> None:
    fold = hot(re_alarm_ms=30_000)
    fold.feed(asked(2500, "see_asked", **KEY))
    fold.feed(Break(0, 2, 2, OFFSET_MS + 20_000, 17_500))
    out = [o for second in range(1, 20) for o in read(fold, second, 90.0)]
    assert told(out) == [(13, "raised"), (13, "sound")]


def test_silent_until_it_is_over_ends_by_the_condition_and_by_nothing_else() -> None:
    fold = hot(off_delay_ms=2000)
    fold.feed(asked(1500, "shelve_asked", **KEY, for_s=0, reason="the iron is on its stand"))
    assert told([o for second in range(2, 40_000, 3) for o in read(fold, second, 90.0)]) == []
    out = [o for second in range(40_000, 40_005) for o in read(fold, second, 50.0)]
    assert told(out) == [(40_002, "unshelved")]
    assert told(read(fold, 40_010, 90.0)) == [(40_010, "raised"), (40_010, "sound")]


def test_what_is_over_cannot_be_silent_until_it_is_over() -> None:
    fold = hot()
    read(fold, 2, 50.0)
    refused = fold.feed(asked(2500, "shelve_asked", **KEY, for_s=0, reason="why not"))[-1]
    assert isinstance(refused, Refusal)
    assert refused.found == "it is over already"


# every way to put a warning off, and every way out


PUT_OFF: dict[str, tuple[dict[str, Any], str]] = {
    "shelve_asked": ({"for_s": 60, "reason": "telephone"}, "unshelve_asked"),
    "suppress_asked": ({"reason": "by design"}, "release_asked"),
    "out_of_service_asked": ({"reason": "lead at repair"}, "release_asked"),
}


@pytest.mark.parametrize("kind", PUT_OFF)
@pytest.mark.parametrize("before", [90.0, 50.0])
@pytest.mark.parametrize("after", [90.0, 50.0])
def test_every_way_out_follows_the_present_condition(kind: str, before: float, after: float) -> None:
    """Whatever stood when it was put off, and whatever came and went meanwhile."""
    fold = running(sheet(limit(**AT_ONCE)))
    read(fold, 1, before)
    body, out_by = PUT_OFF[kind]
    assert drafts(fold.feed(asked(1500, kind, **KEY, **body)))
    assert told(read(fold, 2, 50.0) + read(fold, 3, 90.0) + read(fold, 4, after)) == []
    row = "unshelved" if out_by == "unshelve_asked" else "released"
    expected = [(4.5, row), *([(4.5, "raised"), (4.5, "sound")] if after == 90.0 else [])]
    assert told(fold.feed(asked(4500, out_by, **KEY))) == expected
    assert state(fold) is (AlarmState.UNACKNOWLEDGED if after == 90.0 else AlarmState.NORMAL)


@pytest.mark.parametrize("kind", PUT_OFF)
def test_nobody_puts_a_warning_off_without_a_reason(kind: str) -> None:
    fold = hot()
    refused = fold.feed(asked(1500, kind, **{**KEY, **PUT_OFF[kind][0], "reason": " "}))[-1]
    assert isinstance(refused, Refusal)
    assert refused.found == "no reason given"


# the margin for the probe's error


def guarded(side: str = "high", at: float = 65.0) -> Sheet:
    guards = (Guard(TOOL, 1.16, "sensor-comparison", "cited"),)
    levels = (Level(at, "low", "project", "proposal"),)
    return sheet(limit(side=side, margin="k2", guards=guards, levels=levels, **AT_ONCE))


@pytest.mark.parametrize(("side", "inside", "beyond", "judged_at"), [("high", 63.84, 63.85, "63.84"),
                                                                     ("low", 66.16, 66.15, "66.16")])  # fmt: skip
def test_a_level_is_judged_drawn_in_for_the_probes_error(
    side: str, inside: float, beyond: float, judged_at: str
) -> None:
    """Equal to the moved level is not beyond it; the row says what was set and what it was judged at."""
    fold = running(guarded(side))
    assert told(read(fold, 1, inside)) == []
    out = read(fold, 2, beyond)
    row = drafts(out, "alarm_raised")[0].body
    assert (row["at"], row["judged_at"]) == ("65", judged_at)


def test_the_deadband_is_counted_from_the_moved_level() -> None:
    fold = running(guarded())
    read(fold, 1, 64.0)
    assert told(read(fold, 2, 62.85)) == []
    assert told(read(fold, 3, 62.84)) == [(3, "returned")]
