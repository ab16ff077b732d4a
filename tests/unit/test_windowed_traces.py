"""Limits that look back, by hand: how fast, how far in a day, from the last 30 days, for how long, between probes."""

from __future__ import annotations

import json
from typing import Any

import pytest

from monitor.bench.inputs import Asked, Break
from monitor.bench.outputs import Output, Refusal
from monitor.bench.past import PAST_BYTES
from monitor.bench.past_given import wanted
from monitor.bench.quantities import QUANTITIES
from monitor.bench.readings import Quality
from monitor.bench.sheets import Limit
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from monitor.bench.windowed import key_of, over_words
from tests.support.folds import OFFSET_MS, asked, drafts, limit
from tests.support.pasts import ROOM_C, ROOM_RH, happened, looking_back, mean_given, reading, watched
from tests.support.tents import AIR_C, AIR_RH, REVERSE_C, bound, climate, damp, levels, read, tent, tent_sheet

MINUTE, HOUR = 60_000, 3_600_000


def feed(fold: Fold, first_ms: int, last_ms: int, value: float | None, channel: str = ROOM_RH) -> list[Output]:
    """Feed a reading every 20 s, first included, last not."""
    return [o for now in range(first_ms, last_ms, 20_000) for o in fold.feed(reading(now, value, channel=channel))]


def test_a_step_of_ten_in_an_hour_is_told_when_its_mean_passes_the_level_and_is_over_an_hour_later() -> None:
    """50 for an hour and a half, then 60.

    Five samples 50 50 50 50 60 make 52, then 54, 56, 58, 60: past 5 with the third at 60, at 1:32. The five an hour
    before go the same way: 10, 8, 6, then 4: back by the deadband of 1 at 2:32.
    """
    fold = watched(looking_back("fast", "rate_1h", 5.0))
    out = feed(fold, 0, 90 * MINUTE, 50.0) + feed(fold, 90 * MINUTE, 240 * MINUTE, 60.0)
    assert happened(out, "fast") == [(92 * MINUTE, "raised"), (152 * MINUTE, "returned")]
    raised = drafts(out, "alarm_raised")[0].body
    assert (raised["channel"], raised["value"]) == ("room.rate_1h", "6.00")


def test_a_fall_is_a_low_limit_and_a_rise_is_none() -> None:
    fold = watched(looking_back("falls", "rate_1h", -5.0, side="low"), looking_back("rises", "rate_1h", 5.0))
    out = feed(fold, 0, 90 * MINUTE, 60.0) + feed(fold, 90 * MINUTE, 100 * MINUTE, 50.0)
    assert happened(out, "falls") == [(92 * MINUTE, "raised")]
    assert happened(out, "rises") == []


def test_a_rate_is_not_known_before_an_hour_and_five_minutes_nor_with_two_samples_of_five() -> None:
    fold = watched(looking_back("fast", "rate_1h", 5.0))
    feed(fold, 0, 64 * MINUTE, 50.0)
    fold.pass_time(63 * MINUTE + 1)
    assert value_of(fold, "fast", "room.rate_1h") is None
    feed(fold, 64 * MINUTE, 66 * MINUTE, 50.0)
    fold.pass_time(65 * MINUTE + 1)
    assert value_of(fold, "fast", "room.rate_1h") == 0.0
    feed(fold, 66 * MINUTE, 69 * MINUTE, None)
    fold.pass_time(68 * MINUTE + 1)  # samples of 64 and 65 are known, those of 66 to 68 are not
    assert value_of(fold, "fast", "room.rate_1h") is None


def test_a_day_s_change_is_told_from_an_hour_on_with_over_how_long_and_forgets_after_a_day() -> None:
    fold = watched(looking_back("moves", "change_24h", 10.0))
    alarm = fold.state.alarms["s1", "moves", "room.change_24h"]
    out = feed(fold, 0, 30 * MINUTE, 50.0) + feed(fold, 30 * MINUTE, 70 * MINUTE, 60.5)
    assert happened(out, "moves") == [(59 * MINUTE, "raised")]  # the sixtieth sample
    assert (alarm.value, over_words(fold.state, alarm)) == (10.5, "over the last 1 h 10 min")
    out = feed(fold, 70 * MINUTE, 26 * HOUR, 60.5)
    # The hour with the samples at 50 leaves when the twenty-fifth begins.
    assert happened(out, "moves") == [(24 * HOUR, "returned")]
    assert over_words(fold.state, alarm) == ""


def test_a_minute_s_spike_between_two_samples_is_not_in_a_day_s_change() -> None:
    fold = watched(looking_back("moves", "change_24h", 5.0))
    feed(fold, 0, 70 * MINUTE, 50.0)
    fold.feed(reading(70 * MINUTE + 1, 80.0))
    out = feed(fold, 70 * MINUTE + 20_000, 80 * MINUTE, 50.0)
    assert happened(out, "moves") == []


def test_warmth_has_a_day_s_change_of_its_own() -> None:
    fold = watched(looking_back("warms", "temperature_change_24h", 4.0))
    out = feed(fold, 0, 60 * MINUTE, 18.0, ROOM_C) + feed(fold, 60 * MINUTE, 70 * MINUTE, 22.1, ROOM_C)
    assert happened(out, "warms") == [(60 * MINUTE, "raised")]


def test_a_departure_needs_a_week_s_mean_and_follows_it() -> None:
    fold = watched(
        looking_back("departs", "departure_30d", 5.0), looking_back("dry", "departure_30d", -5.0, side="low")
    )
    feed(fold, 0, 10 * MINUTE, 56.0)
    assert wanted(fold.state, 10 * MINUTE) == [ROOM_RH]
    fold.feed(mean_given(10 * MINUTE + 1, 50.0, 167))
    assert not happened(feed(fold, 10 * MINUTE + 20_000, 12 * MINUTE, 56.0), "departs")
    fold.feed(mean_given(12 * MINUTE + 1, 50.0, 168))
    assert wanted(fold.state, 72 * MINUTE) == []
    assert wanted(fold.state, 72 * MINUTE + 1) == [ROOM_RH]
    assert happened(feed(fold, 12 * MINUTE + 20_000, 14 * MINUTE, 56.0), "departs") == [(13 * MINUTE, "raised")]
    fold.feed(mean_given(14 * MINUTE + 1, 62.0, 169))
    out = feed(fold, 14 * MINUTE + 20_000, 16 * MINUTE, 56.0)
    assert happened(out, "departs") == [(15 * MINUTE, "returned")]
    assert happened(out, "dry") == [(15 * MINUTE, "raised")]


def test_a_mean_that_nobody_renews_speaks_for_a_day() -> None:
    fold = watched(looking_back("departs", "departure_30d", 5.0))
    feed(fold, 0, 10 * MINUTE, 50.0)
    fold.feed(mean_given(10 * MINUTE + 1, 50.0, 700))
    feed(fold, 10 * MINUTE + 20_000, 24 * HOUR + 10 * MINUTE, 50.0)
    fold.pass_time(24 * HOUR + 10 * MINUTE + 1)
    assert value_of(fold, "departs", "room.departure_30d") == 0.0
    fold.pass_time(24 * HOUR + 11 * MINUTE + 1)
    assert value_of(fold, "departs", "room.departure_30d") is None


def test_a_mean_that_no_limit_looks_back_on_is_refused() -> None:
    fold = watched(looking_back("fast", "rate_1h", 5.0))
    refusal = fold.feed(mean_given(1, 50.0, 700))[-1]
    assert isinstance(refusal, Refusal)
    assert ROOM_RH in refusal.thing


def counted(key: str, threshold: float, *at: float, of: str = "relative_humidity", **changes: Any) -> Limit:
    return looking_back(key, "minutes_above", *at, of=of, threshold=threshold, deadband=0.0, **changes)


def test_minutes_above_are_counted_from_the_stage_s_beginning_and_begin_anew_with_the_next() -> None:
    fold = watched(counted("long", 75.0, 10.0, 20.0))
    out = feed(fold, 0, 5 * MINUTE, 80.0) + feed(fold, 5 * MINUTE, 60 * MINUTE, 75.0)
    assert happened(out, "long") == []  # five, and equal is not above
    out = feed(fold, 60 * MINUTE, 70 * MINUTE, 75.1)
    assert happened(out, "long") == [(65 * MINUTE, "raised")]  # the eleventh
    out = fold.feed(asked(70 * MINUTE, "stage_asked", step="s1", stage="again"))
    assert [d.kind for d in drafts(out)] == ["stage_asked", "stage_started", "alarm_returned"]
    out = feed(fold, 70 * MINUTE + 1, 91 * MINUTE, 76.0)
    assert happened(out, "long") == [(80 * MINUTE, "raised"), (90 * MINUTE, "raised")]  # samples from 70 on


def test_minutes_in_which_nothing_was_read_are_not_counted_and_a_clipped_reading_is_above_everything() -> None:
    fold = watched(counted("long", 75.0, 3.0))
    alarm = fold.state.alarms["s1", "long", "room.minutes_above"]
    feed(fold, 0, 2 * MINUTE, 80.0)
    feed(fold, 2 * MINUTE, 30 * MINUTE, None)
    assert alarm.minutes == 2
    for now in range(30 * MINUTE, 32 * MINUTE, 20_000):
        fold.feed(reading(now, 100.0, clipped=True))
    assert alarm.minutes == 4
    for now in range(32 * MINUTE, 33 * MINUTE, 20_000):
        fold.feed(reading(now, 0.0, clipped=True))
    fold.pass_time(33 * MINUTE)
    assert alarm.minutes == 4


def test_counts_above_two_levels_are_two_warnings_and_each_is_seen_by_itself() -> None:
    fold = watched(counted("long", 75.0, 3.0), counted("longer", 70.0, 3.0))
    out = feed(fold, 0, 6 * MINUTE, 80.0)
    assert [d.body["limit"] for d in drafts(out, "alarm_raised")] == ["long", "longer"]
    assert [(d.body["of"], d.body["threshold"]) for d in drafts(out, "alarm_raised")] == [
        ("relative_humidity", "75"), ("relative_humidity", "70"),
    ]  # fmt: skip
    out = fold.feed(asked(6 * MINUTE + 1, "see_asked", step="s1", limit="long", channel="room.minutes_above"))
    assert [d.body["limit"] for d in drafts(out, "alarm_seen")] == ["long"]


def test_minutes_at_the_canvas_are_counted_of_what_is_computed_there() -> None:
    """20 degC and 75 % make 79.8 % at 19 degC: Magnus form, worked out by hand."""
    above: dict[str, Any] = {"of": "humidity_at_canvas", "threshold": 79.0, "levels": levels(2.0), "deadband": 0.0}
    fold = tent(damp("long", quantity="minutes_above", on_delay_ms=0, **above))
    out = climate(fold, 0, 4 * MINUTE, 20.0, 75.0, 19.0)
    assert [key[2] for key in fold.state.alarms] == ["reverse.minutes_above"]
    assert happened(out, "long") == [(2 * MINUTE, "raised")]
    assert key_of(fold.state.alarms["s1", "long", "reverse.minutes_above"]) == (
        "reverse.humidity_at_canvas", (AIR_C, AIR_RH, REVERSE_C),
    )  # fmt: skip


def test_the_fall_at_the_canvas_in_the_drying_leg_is_seen_where_it_matters() -> None:
    falls = damp(
        "falls", quantity="rate_1h", of="humidity_at_canvas", side="low", levels=levels(-10.0), on_delay_ms=0
    )
    fold = tent(falls)
    climate(fold, 0, 66 * MINUTE, 20.0, 75.0, 20.0)
    out = climate(fold, 66 * MINUTE + 500, 72 * MINUTE, 20.0, 60.0, 20.0)
    assert happened(out, "falls") == [(70 * MINUTE, "raised")]  # 4 of 5 samples fell by 15: a mean of -12
    assert drafts(out, "alarm_raised")[0].body["channel"] == "reverse.rate_1h"


def value_of(fold: Fold, key: str, channel: str) -> float | None:
    value: float | None = fold.state.alarms["s1", key, channel].value
    return value


TABLE = tuple(f"t{n}.surface_temperature" for n in (1, 2, 3))


def spread(quantity: str, role: str, *at: float, **changes: Any) -> Limit:
    given: dict[str, Any] = {"deadband": 0.5, "on_delay_ms": 0, "off_delay_ms": 0, "levels": levels(*at), **changes}
    return limit("differ", role=role, quantity=quantity, **given)


def test_the_spread_of_a_table_is_its_warmest_less_its_coldest() -> None:
    fold = Fold()
    fold.feed(Break(0, 1, 1, OFFSET_MS, None))
    listed = [{"channel": c, "interval_ms": 1000, "bench": "north"} for c in TABLE]
    fold.feed(Asked(0, "settings_in_force", None, "station", {"engine": 1, "channels": listed}))
    sheet = tent_sheet(spread("temperature_spread", "table", 3.0), roles={"table": ("surface_temperature",)})
    body = {"step": "s1", "sheet": sheet.as_json(), "painting": None, "bench": "north", "side": None, "places": None,
            "sandwich": None, "answers": [], "bindings": [bound("table", c) for c in TABLE]}  # fmt: skip
    assert not isinstance(fold.feed(Asked(0, "step_asked", None, "station", body))[-1], Refusal)
    out: list[Output] = []
    for now, values in ((1000, (65.0, 66.0, 68.0)), (2000, (65.0, 66.0, 68.25)), (3000, (66.0, 66.0, 68.0))):
        for channel, value in zip(TABLE, values, strict=True):
            out += fold.feed(read(now, channel, value))
        out += fold.pass_time(now + 1)
    assert happened(out, "differ") == [(2000, "raised"), (3000, "returned")]
    assert drafts(out, "alarm_raised")[0].body["channel"] == "table.temperature_spread"


PAIR = [bound("tent", AIR_C, AIR_RH), bound("tent", "room.air_temperature", "room.relative_humidity"),
        bound("reverse", REVERSE_C)]  # fmt: skip


def test_two_probes_of_a_tent_that_differ_are_told_and_one_alone_is_no_fault() -> None:
    fold = tent(spread("humidity_difference", "tent", 5.0), bindings=PAIR)
    out: list[Output] = []
    for now, other in ((1000, 65.0), (2000, 64.9)):
        out += fold.feed(read(now, "room.relative_humidity", other)) + fold.feed(read(now, AIR_RH, 70.0))
    out += fold.pass_time(3000)
    assert happened(out, "differ") == [(2000, "raised")]
    alone = tent(spread("humidity_difference", "tent", 5.0))
    assert not alone.state.alarms


@pytest.mark.parametrize(("value", "other"), [(100.0, 94.0), (0.0, 6.0)])
def test_at_the_end_of_its_scale_a_probe_differs_by_at_least_so_much(value: float, other: float) -> None:
    fold = tent(spread("humidity_difference", "tent", 5.0), bindings=PAIR)
    out = fold.feed(read(1000, "room.relative_humidity", other))
    out += fold.feed(read(1000, AIR_RH, value, Quality.CLIPPED)) + fold.pass_time(2000)
    assert happened(out, "differ") == [(1000, "raised")]
    computed = fold.state.computed["tent.humidity_difference", (AIR_RH, "room.relative_humidity")]
    assert computed.present() == (6.0, True)


def test_a_probe_out_of_use_gives_no_past_and_counts_no_minutes() -> None:
    fold = watched(looking_back("damp", "relative_humidity", 75.0), counted("long", 75.0, 3.0))
    feed(fold, 0, 2 * MINUTE, 80.0)
    key = {"step": "s1", "limit": "damp", "channel": ROOM_RH}
    out = fold.feed(
        asked(2 * MINUTE, "out_of_service_asked", step="s1", limit="damp", channel=ROOM_RH, reason="salt")
    )
    assert drafts(out, "alarm_out_of_service"), key
    feed(fold, 2 * MINUTE + 1, 20 * MINUTE, 80.0)
    alarm = fold.state.alarms["s1", "long", "room.minutes_above"]
    assert (alarm.minutes, alarm.value) == (2, None)


def test_only_what_a_limit_looks_back_on_is_kept_and_only_so_far() -> None:
    fold = watched(looking_back("fast", "rate_1h", 5.0), looking_back("damp", "relative_humidity", 75.0))
    feed(fold, 0, 3 * HOUR, 50.0)
    (past,) = fold.state.past.values()
    assert list(fold.state.past) == [(ROOM_RH, ())]
    assert (len(past.recent), past.stretches) == (65, [])
    fold.feed(asked(3 * HOUR, "finish_asked", step="s1"))
    assert fold.state.past == {}


def test_the_past_of_a_channel_takes_a_kilobyte_of_the_kept_state_at_most() -> None:
    rules = [looking_back(q, q, 5.0) for q in ("rate_1h", "change_24h", "departure_30d")]
    fold = watched(*rules)
    for now in range(0, 26 * HOUR, 20_000):
        fold.feed(reading(now, round(40.01 + now // 20_000 % 997 / 100, 2)))
    fold.feed(mean_given(26 * HOUR + 1, 50.55, 720))
    (past,) = fold.state.past.values()
    assert 700 < len(json.dumps(past.as_json(), separators=(",", ":"))) < PAST_BYTES


def test_a_state_of_a_version_that_kept_no_past_is_read_and_begins_one() -> None:
    fold = watched(looking_back("fast", "rate_1h", 5.0))
    text = dump(fold.state).replace(
        '"past":[["room.relative_humidity",[],{"recent":[],"sampled_ms":null,"stretches":[]}]],', ""
    )
    assert '"past"' not in text
    assert Fold(load(text)).state.past.keys() == {(ROOM_RH, ())}


def test_a_restart_of_unknown_length_forgets_and_one_of_minutes_does_not() -> None:
    for gap_ms, knows in ((5 * MINUTE, True), (None, False)):
        fold = watched(looking_back("moves", "change_24h", 10.0))
        feed(fold, 0, 2 * HOUR, 50.0)
        fold.feed(Break(500, 2, 2, None, gap_ms))
        fold.feed(reading(20_000, 50.0))
        fold.pass_time(MINUTE + 1)
        alarm = fold.state.alarms["s1", "moves", "room.change_24h"]
        assert (alarm.value is not None) is knows


def test_every_quantity_of_a_stretch_of_time_has_words_unit_and_resolution() -> None:
    for key in ("rate_1h", "change_24h", "temperature_change_24h", "departure_30d", "humidity_difference",
                "temperature_spread"):  # fmt: skip
        assert (QUANTITIES[key].resolution, QUANTITIES[key].decimals) == (0.1, 1), key
