"""Limits on what is computed, by hand: figures from elsewhere, what is lost, one instant, starts and ends."""

from __future__ import annotations

from typing import Any

import pytest

from monitor.bench.inputs import Break
from monitor.bench.outputs import Draft, Refusal, Signal
from monitor.bench.readings import Quality
from monitor.bench.sheets import Limit
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from tests.support import tents
from tests.support.folds import asked, drafts, limit
from tests.support.tents import AIR_C, AIR_RH, AT_CANVAS, REVERSE_C, climate, damp, humidity_at, levels, read, tent

KEY: dict[str, Any] = {"step": "s1", "limit": "damp", "channel": AT_CANVAS}


@pytest.mark.parametrize(("surface_c", "expected"), [(19.0, 79.8), (18.0, 85.0), (17.0, 90.5)])
def test_a_cooler_surface_is_damper_by_figures_from_elsewhere(surface_c: float, expected: float) -> None:
    """20 degC, 75 %RH at 19, 18 and 17 degC: worked with es = 6.112 exp(17.62 T / (243.12 + T)), WMO-No. 8."""
    fold = tent(damp(levels=levels(expected - 0.15), on_delay_ms=0))
    out = climate(fold, 1000, 2000, 20.0, 75.0, surface_c)
    (raised,) = drafts(out, "alarm_raised")
    assert float(raised.body["value"]) == pytest.approx(expected, abs=0.1)
    assert raised.body["quantity"] == "humidity_at_canvas"
    assert raised.body["channel"] == AT_CANVAS


def state_of(fold: Fold) -> str:
    return fold.state.alarms["s1", "damp", AT_CANVAS].state


def test_the_reverse_at_18_degrees_raises_and_its_loss_withdraws_the_value() -> None:
    fold = tent(damp())
    out = climate(fold, 1000, 7000, 20.0, 75.0, 18.0)
    (raised,) = drafts(out, "alarm_raised")
    assert raised.mono_ms == 6000
    assert 84.9 <= float(raised.body["value"]) <= 85.1
    out = climate(fold, 7500, 60_000, 20.0, 75.0, None)
    assert [d.kind for d in drafts(out)] == ["probe_fault", "alarm_suppressed"]
    (computed,) = fold.state.computed.values()
    assert computed.value is None
    assert fold.state.alarms["s1", "damp", AT_CANVAS].value is None
    assert state_of(fold) == "suppressed_by_design"
    # at 60.5 s the reverse is read first, with the air of 60 s: 75.0 %, which is back already
    out = climate(fold, 60_500, 70_000, 20.0, 60.0, 20.0)
    (over,) = drafts(out, "alarm_returned", "alarm_released", "alarm_raised")
    assert (over.kind, over.mono_ms, over.body["state"]) == ("alarm_released", 65_500, "normal")


@pytest.mark.parametrize("lost", [AIR_C, AIR_RH, REVERSE_C])
@pytest.mark.parametrize("silent", [True, False])
def test_any_input_that_is_lost_ends_the_running_delay(lost: str, silent: bool) -> None:
    """Lost during a delay of 5 s by a gap, or by a silence longer than three intervals."""
    fold = tent(damp())
    for now in range(1000, 15_001, 500):
        for channel, value in ((REVERSE_C, 18.0), (AIR_C, 20.0), (AIR_RH, 75.0)):
            gone = channel == lost and 2500 <= now < 9000
            if not (gone and silent):
                fold.feed(read(now, channel, None if gone else value))
    told = [o.mono_ms for o in fold.pass_time(16_001) if isinstance(o, Draft) and o.kind == "alarm_raised"]
    assert state_of(fold) == "unacknowledged"
    assert fold.state.alarms["s1", "damp", AT_CANVAS].since_ms == 14_000
    assert not told


def test_a_silent_input_is_told_once_and_by_its_own_channel() -> None:
    fold = tent(damp())
    climate(fold, 1000, 2000, 20.0, 75.0, 18.0)
    out = [o for now in range(2500, 12_000, 500) for o in fold.feed(read(now, REVERSE_C, 18.0))]
    assert [(d.kind, d.body["channel"]) for d in drafts(out)] == [("probe_stale", AIR_C), ("probe_stale", AIR_RH)]
    (computed,) = fold.state.computed.values()
    assert computed.value is None


def test_one_instant_has_one_value_whatever_its_readings_make_of_each_other() -> None:
    """The air warms by 2 K and its humidity falls with it: read first, the one alone would seem much drier."""
    fold = tent(damp(side="low", on_delay_ms=0, levels=levels(60.0)))
    climate(fold, 1000, 2000, 20.0, 70.0, 20.0)
    out = [o for c, v in ((REVERSE_C, 23.0), (AIR_C, 23.0), (AIR_RH, 62.0)) for o in fold.feed(read(3000, c, v))]
    assert humidity_at(20.0, 70.0, 23.0) < 60.0
    assert not drafts(out + fold.pass_time(4001))


def test_what_the_readings_of_one_instant_pass_through_breaks_no_delay() -> None:
    fold = tent(damp())
    climate(fold, 1000, 3000, 20.0, 75.0, 18.0)
    for now, air, rh, reverse in ((3500, 22.5, 70.0, 20.5), (4000, 20.0, 75.0, 18.0)):
        # the reverse is read first: with the air as it was, it would be at less than 78 %
        for channel, value in ((REVERSE_C, reverse), (AIR_C, air), (AIR_RH, rh)):
            fold.feed(read(now, channel, value))
    assert humidity_at(20.0, 75.0, 20.5) < 78.0 < humidity_at(22.5, 70.0, 20.5)
    (raised,) = drafts(climate(fold, 4500, 7000, 20.0, 75.0, 18.0), "alarm_raised")
    assert raised.mono_ms == 6000


def test_readings_in_which_nothing_is_near_a_limit_pass_without_a_second_look() -> None:
    fold = tent(damp())
    climate(fold, 1000, 3000, 20.0, 55.0, 19.0)
    (computed,) = fold.state.computed.values()
    before = computed.held
    assert computed.calm
    climate(fold, 3500, 6000, 20.5, 56.0, 19.0)
    assert computed.held == before
    assert computed.value == round(humidity_at(20.5, 56.0, 19.0), 1)
    assert fold.state.channels[AIR_C].last_ms == 6000


def test_a_step_started_when_it_is_beyond_already_warns_though_nothing_moves() -> None:
    fold = tent(damp(levels=levels(99.0)))
    climate(fold, 1000, 3000, 20.0, 75.0, 18.0)
    fold.feed(tents.begin(3100, tents.tent_sheet(damp()), "s2"))
    out = climate(fold, 3500, 9000, 20.0, 75.0, 18.0)
    assert [(d.step, d.mono_ms) for d in drafts(out, "alarm_raised")] == [("s2", 8500)]


def test_humidity_clipped_at_its_top_is_at_least_what_follows_from_it() -> None:
    """At 100 % in the air a cooler reverse is wet, however much more there is: that must not go unsaid."""
    fold = tent(damp(), damp("dry", side="low", levels=levels(130.0)))
    for now in range(1000, 8001, 1000):
        for channel, value in ((REVERSE_C, 18.0), (AIR_C, 20.0)):
            fold.feed(read(now, channel, value))
        out = fold.feed(read(now, AIR_RH, 100.0, Quality.CLIPPED))
    told = fold.pass_time(9000)
    assert not drafts(out + told)
    assert state_of(fold) == "unacknowledged"
    assert fold.state.alarms["s1", "dry", AT_CANVAS].state == "normal"
    # at least 113 % does not say that it is back below 200 %
    fold = tent(damp(levels=levels(200.0)))
    climate(fold, 1000, 8000, 40.0, 90.0, 18.0)
    assert state_of(fold) == "unacknowledged"
    for now in range(9000, 30_000, 500):
        fold.feed(read(now, REVERSE_C, 18.0))
        if now % 1000 == 0:
            fold.feed(read(now, AIR_C, 20.0))
            fold.feed(read(now, AIR_RH, 100.0, Quality.CLIPPED))
    assert state_of(fold) == "unacknowledged"


def test_what_a_formula_does_not_hold_for_is_a_gap() -> None:
    fold = tent(damp(), damp("dew", quantity="dew_point", side="low", levels=levels(5.0)))
    assert not drafts(climate(fold, 1000, 9000, 140.0, 75.0, 18.0))
    assert not drafts(climate(fold, 9500, 20_000, 20.0, 0.0, 18.0))
    assert [c.value for c in fold.state.computed.values()] == [0.0, None]


def test_each_probe_on_the_surface_has_its_own_channel_and_the_first_in_the_air_gives_the_air() -> None:
    roles = {**tents.ROLES, "tent": ("air_temperature",)}
    bindings = [
        tents.bound("reverse", tents.EDGE_C), tents.bound("tent", AIR_C), tents.bound("tent", tents.ROOM_C),
        tents.bound("reverse", REVERSE_C),
    ]  # fmt: skip
    fold = tent(damp(quantity="painting_minus_air", levels=levels(-2.0)), roles=roles, bindings=bindings)
    named = {key[2]: alarm.inputs for key, alarm in fold.state.alarms.items()}
    assert named == {
        "edge.painting_minus_air": (AIR_C, tents.EDGE_C),
        "reverse.painting_minus_air": (AIR_C, REVERSE_C),
    }


def test_a_dew_point_belongs_to_the_air() -> None:
    fold = tent(damp("dew", quantity="dew_point", levels=levels(15.0), on_delay_ms=0))
    (raised,) = drafts(climate(fold, 1000, 2000, 20.0, 75.0, 18.0), "alarm_raised")
    assert raised.body["channel"] == "tent.dew_point"
    assert raised.body["value"] == "15.40"  # Magnus: 15.43


def test_one_surface_in_two_airs_is_judged_by_each_and_seen_by_each() -> None:
    roles = {**tents.ROLES, "room": ("air_temperature",)}
    both = [damp(quantity="painting_minus_air", side="low", levels=levels(-1.0), on_delay_ms=0, key=key, role=key)
            for key in ("room", "tent")]  # fmt: skip
    fold = tent(*both, roles=roles, bindings=[*tents.BOUND, tents.bound("room", tents.ROOM_C)])
    out = [
        o for c, v in ((REVERSE_C, 18.0), (tents.ROOM_C, 20.0), (AIR_C, 22.0)) for o in fold.feed(read(1000, c, v))
    ]
    out += fold.pass_time(1001)
    assert [d.body["value"] for d in drafts(out, "alarm_raised")] == ["-2.00", "-4.00"]
    assert len([o for o in out if isinstance(o, Signal)]) == 2
    key: dict[str, Any] = {"step": "s1", "limit": "room", "channel": "reverse.painting_minus_air"}
    assert [d.body["limit"] for d in drafts(fold.feed(asked(1500, "see_asked", **key)), "alarm_seen")] == ["room"]


def test_two_steps_on_one_surface_in_one_air_sound_once_and_compute_once() -> None:
    fold = tent(damp(on_delay_ms=0))
    fold.feed(tents.begin(100, tents.tent_sheet(damp(on_delay_ms=0)), "s2"))
    out = climate(fold, 1000, 2000, 20.0, 75.0, 18.0)
    assert len(drafts(out, "alarm_raised")) == 2
    assert len([o for o in out if isinstance(o, Signal)]) == 1
    assert len(fold.state.computed) == 1


@pytest.mark.parametrize(
    ("roles", "bindings", "made", "found"),
    [
        (None, None, damp(quantity="countdown"), "nothing here gives countdown"),
        (None, None, damp(quantity="rate_1h", role="reverse"), "no probe of role reverse gives relative_humidity"),
        ({"tent": tents.ROLES["tent"]}, tents.BOUND[:1], damp(), "roles with a surface: none"),
        ({**tents.ROLES, "edge": ("surface_temperature",)}, [*tents.BOUND, tents.bound("edge", tents.EDGE_C)], damp(),
         "roles with a surface: reverse, edge"),
        (None, None, damp(role="room"), "no probe of role room gives the air"),
        (None, [tents.bound("tent", AIR_C), tents.bound("tent", "room.relative_humidity"), tents.BOUND[1]], damp(),
         "no probe of role tent gives the air"),
    ],
)  # fmt: skip
def test_a_start_that_cannot_be_served_is_refused_and_named(
    roles: Any, bindings: Any, made: Limit, found: str
) -> None:
    fold = tents.opened()
    (refusal,) = fold.feed(tents.begin(0, tents.tent_sheet(made, roles=roles), bindings=bindings))
    assert isinstance(refusal, Refusal)
    assert (refusal.thing, refusal.found) == ("limit damp", found)
    assert not fold.state.steps


def test_a_stage_puts_it_off_and_on_again_by_the_present_value() -> None:
    fold = tent(damp())
    climate(fold, 1000, 7000, 20.0, 75.0, 18.0)
    out = fold.feed(asked(7100, "stage_asked", step="s1", stage="rest"))
    assert [d.kind for d in drafts(out)] == ["stage_asked", "stage_started", "alarm_suppressed"]
    climate(fold, 7500, 9000, 20.0, 75.0, 18.0)
    out = fold.feed(asked(9100, "stage_asked", step="s1", stage="work"))
    assert [d.kind for d in drafts(out)] == ["stage_asked", "stage_started", "alarm_released", "alarm_raised"]


def test_an_input_out_of_use_leaves_nothing_to_judge_until_it_is_wanted_again() -> None:
    wet = limit("wet", role="tent", quantity="relative_humidity", levels=levels(95.0))
    fold = tent(damp(), wet)
    key: dict[str, Any] = {"step": "s1", "limit": "wet", "channel": AIR_RH}
    climate(fold, 1000, 3000, 20.0, 75.0, 18.0)
    fold.feed(asked(3100, "out_of_service_asked", **key, reason="at the maker's"))
    assert not drafts(climate(fold, 3500, 20_000, 20.0, 75.0, 18.0))
    fold = Fold(load(dump(fold.state)))
    fold.feed(asked(20_100, "release_asked", **key))
    (raised,) = drafts(climate(fold, 20_500, 27_000, 20.0, 75.0, 18.0), "alarm_raised")
    assert raised.mono_ms == 25_500


def test_silent_for_a_time_comes_back_and_says_that_nothing_is_known() -> None:
    fold = tent(damp())
    climate(fold, 1000, 7000, 20.0, 75.0, 18.0)
    fold.feed(asked(7100, "shelve_asked", **KEY, for_s=30, reason="at the telephone"))
    out = climate(fold, 7500, 40_000, 20.0, 75.0, None)
    told = drafts(out, "alarm_unshelved", "alarm_raised", "alarm_suppressed")
    assert [(d.kind, d.mono_ms) for d in told] == [("alarm_unshelved", 37_100), ("alarm_suppressed", 37_100)]
    assert told[1].body["reason"] == "its probe gives no reading"


def test_a_finished_step_leaves_nothing_computed() -> None:
    fold = tent(damp())
    climate(fold, 1000, 7000, 20.0, 75.0, 18.0)
    fold.feed(asked(7100, "finish_asked", step="s1"))
    assert not fold.state.computed
    assert all(not watch.feeds for watch in fold.state.watches.values())
    assert not drafts(climate(fold, 7500, 20_000, 20.0, 75.0, 18.0))


def test_a_restart_ends_the_delay_and_keeps_what_stands() -> None:
    fold = tent(damp())
    climate(fold, 1000, 4000, 20.0, 75.0, 18.0)
    offset = fold.state.offset_ms
    assert offset is not None
    fold.feed(Break(500, 2, 2, offset + 10_000, 6500))
    (raised,) = drafts(climate(fold, 1000, 7000, 20.0, 75.0, 18.0), "alarm_raised")
    assert raised.mono_ms == 6000
    fold.feed(Break(500, 3, 3, offset + 30_000, 6500))
    assert state_of(fold) == "unacknowledged"


def test_a_kept_state_without_anything_computed_has_the_form_it_always_had() -> None:
    kept = dump(tent(limit("wet", role="tent", quantity="relative_humidity", levels=levels(95.0))).state)
    assert "judged_ms" not in kept
    assert '"windows":[[false,null]]' in kept
