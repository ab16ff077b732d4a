"""Warnings in the report: each level with its own instants, held against the readings it is about."""

from __future__ import annotations

from typing import Any

import pytest

from monitor.bench.sheets import Level, Limit
from monitor.report.excursions import excursions
from monitor.report.limits import InForce
from monitor.report.outside import Outside, read_hushes, read_outside
from monitor.report.outside_table import InHand, Told, delay_note, outside_groups, passes_in_hand, with_place_in_hand
from monitor.report.passes import PassRow, common_verdict, estimate_sentences
from monitor.report.record import Band
from monitor.report.table import table_of
from monitor.report.words import When
from tests.unit.report_scene import DAMP, STEP, TOOL, Words, drafts
from tests.unit.test_report_reading import rows

WHEN = When()
TOLD = Told({"s1": "Watch of the room", "s2": "this step"}, [], WHEN)


def row(
    kind: str, at_s: int, step: str = "s2", by: str | None = None, channel: str = DAMP, **body: Any
) -> dict[str, Any]:
    """One row of a warning, with what its kind holds."""
    quantity, side = ("tool_temperature", "low") if channel == TOOL else ("relative_humidity", "high")
    more = {"quantity": quantity, "side": side, "value": "66.10"} if kind == "alarm_raised" else {}
    told = {"step": step, "limit": "damp", "channel": channel, **more, **body}
    return {"kind": kind, "at_ms": at_s * 1000, "step": step, "by": by, "body": told}


HOUR = [
    row("alarm_raised", 1431, "s1", at="60"), row("alarm_raised", 1431, at="60"),
    row("alarm_seen", 1472, "s1", "MK"), row("alarm_seen", 1472, "s2", "MK"),
    row("alarm_raised", 1655, at="65"), row("alarm_seen", 1685, by="MK"),
    row("alarm_raised", 2097, "s1", at="70"), row("alarm_seen", 2140, "s1", "TB"),
    row("alarm_eased", 2893, "s1", at="60"), row("alarm_eased", 2993, at="60"),
    row("alarm_returned", 3151, "s1"), row("alarm_returned", 3151),
]  # fmt: skip
"""A damp hour, watched by a step and by the watch of the room at the same time."""


def told(some: list[Outside]) -> list[tuple[Any, ...]]:
    return [(o.step, o.at, (o.from_ms or 0) // 1000, o.to_ms and o.to_ms // 1000, o.seen_by, o.seen_ms) for o in some]


def test_each_level_of_each_warning_has_its_own_instants_and_its_own_seer() -> None:
    assert told(read_outside(HOUR)) == [
        ("s1", 60.0, 1431, 3151, "MK", 1_472_000),
        ("s2", 60.0, 1431, 3151, "MK", 1_472_000),
        ("s2", 65.0, 1655, 2993, "MK", 1_685_000),
        ("s1", 70.0, 2097, 2893, "TB", 2_140_000),
    ]


def test_no_level_begins_before_its_own_row() -> None:
    raised = {(r["step"], float(r["body"]["at"])): r["at_ms"] for r in HOUR if r["kind"] == "alarm_raised"}
    assert {(one.step, one.at): one.from_ms for one in read_outside(HOUR)} == raised


def test_a_level_told_at_once_holds_the_milder_ones_it_eases_to() -> None:
    some = read_outside(
        [row("alarm_raised", 10, at="70"), row("alarm_eased", 20, at="60"), row("alarm_returned", 30)]
    )
    assert told(some) == [("s2", 70.0, 10, 20, "", None), ("s2", 60.0, 10, 30, "", None)]


def test_easing_a_low_limit_ends_the_lower_level() -> None:
    some = [row("alarm_raised", n, channel=TOOL, at=at) for n, at in ((1, "65"), (2, "50"))]
    found = read_outside([*some, row("alarm_eased", 5, channel=TOOL, at="65")])
    assert [(one.at, one.to_ms) for one in found] == [(65.0, None), (50.0, 5000)]


def test_the_same_level_passed_twice_is_told_twice_and_seen_each_for_itself() -> None:
    once = [row("alarm_raised", 10, at="60"), row("alarm_seen", 11, by="MK"), row("alarm_returned", 20)]
    again = [row("alarm_raised", 30, at="60"), row("alarm_returned", 40)]
    assert told(read_outside([*once, *again])) == [("s2", 60.0, 10, 20, "MK", 11_000), ("s2", 60.0, 30, 40, "", None)]


@pytest.mark.parametrize(
    ("kind", "words"),
    [("alarm_shelved", "silent"), ("alarm_suppressed", "off"), ("alarm_out_of_service", "probe not in use")],
)  # fmt: skip
def test_a_warning_that_is_no_longer_told_does_not_claim_a_return(kind: str, words: str) -> None:
    some = read_outside([row("alarm_raised", 10, at="60"), row(kind, 20, reason="weights on")])
    assert [(one.to_ms, one.ended) for one in some] == [(20_000, words)]


def test_a_warning_whose_probe_fell_silent_ended_as_not_read() -> None:
    lost = row("alarm_suppressed", 20, reason="its probe gives no reading", cause="no reading")
    some = [row("alarm_raised", 10, at="60"), lost, row("alarm_released", 50, state="unacknowledged")]
    assert [(one.to_ms, one.ended) for one in read_outside(some)] == [(20_000, "not read")]
    assert [(one.words, one.to_ms) for one in read_hushes(some)] == [("not read", 50_000)]


def test_when_a_warning_could_not_be_given_is_told_with_who_asked_and_why() -> None:
    some = [
        row("alarm_shelved", 10, by="MK", channel=TOOL, reason="telephone"), row("alarm_unshelved", 60, channel=TOOL),
        row("alarm_suppressed", 80, channel=TOOL, reason="off during Cooling"), row("alarm_shelved", 20, "s1", "TB"),
    ]  # fmt: skip
    hushes = read_hushes(some)
    assert [(one.step, one.words, one.by, one.from_ms, one.to_ms) for one in hushes] == [
        ("s2", "silent", "MK", 10_000, 60_000), ("s2", "off", "", 80_000, None), ("s1", "silent", "TB", 20_000, None)
    ]  # fmt: skip
    assert [one.step for one in read_hushes(some, 70_000)] == ["s2", "s1"]
    warned = read_outside([row("alarm_raised", 5, channel=TOOL, at="65"), *some])
    (group,) = outside_groups(warned, [], Told({"s2": "this step"}, [], WHEN, hushes))
    assert group["hushes"] == [
        "Warning of this step silent 00:00:10 to 00:01:00, asked by MK: telephone.",
        "Warning of this step off 00:01:20 on, to the end: off during Cooling.",
    ]
    assert group["levels"][0]["warnings"][0]["when"] == "00:00:05 to 00:00:10, then silent"


def test_time_beyond_a_limit_of_the_tool_is_told_apart_while_a_place_was_in_hand() -> None:
    cold = limit(65, side="low", quantity="tool_temperature")
    in_hand = [InHand(1, 1, 0, 4000), InHand(2, 1, 9000)]
    readings = [(1000 * n, 60.0 if 3 <= n < 10 else 80.0) for n in range(12)]
    read = excursions(TOOL, readings, [*cold, *with_place_in_hand(cold, in_hand)], 1000, 12_000)
    (group,) = outside_groups([], read, TOLD)
    assert group["levels"][0]["read"] == "7 s, 00:00:03 to 00:00:10; with a place in hand 2 s"
    assert with_place_in_hand(limit(60), in_hand) == []


def test_a_warning_without_a_value_and_one_that_stands_are_told() -> None:
    some = read_outside([row("alarm_raised", 10, at="60", value=None)])
    (group,) = outside_groups(some, [], TOLD)
    (level,) = group["levels"]
    assert level["warnings"] == [
        {"when": "00:00:10 on, to the end", "whose": "this step", "seen": "not marked as seen"}
    ]


def test_a_warning_that_had_ended_before_the_step_is_left_out_and_one_that_stood_is_not() -> None:
    ended = [row("alarm_raised", 10, at="60"), row("alarm_returned", 20)]
    stood = [row("alarm_raised", 30, at="60"), row("alarm_returned", 70)]
    assert [one.from_ms for one in read_outside([*ended, *stood], 60_000)] == [30_000]


def limit(*levels: float, side: str = "high", quantity: str = "relative_humidity") -> list[InForce]:
    made = tuple(Level(at, "low", "project", "proposal") for at in levels)
    one = Limit("damp", "room", quantity, side, 2, 300_000, 300_000, made)
    return [InForce(one, n, "this step", ((0, 10**9),)) for n in range(len(levels))]


def test_readings_beyond_a_level_stand_beside_its_warnings() -> None:
    values = [(1000 * n, 50.0 + max(0, 30 - abs(n - 60))) for n in range(120)]
    read = excursions(DAMP, values, limit(60, 70), 1000, 120_000)
    warned = read_outside([row("alarm_raised", 50, "s1", at="60"), row("alarm_raised", 51, at="60")])
    (group,) = outside_groups(warned, read, TOLD)
    assert group["title"] == "Relative humidity (room): highest 80 % at 00:01:00"
    assert [level["level"] for level in group["levels"]] == ["above 60 %", "above 70 %"]
    assert [level["read"] for level in group["levels"]] == [
        "39 s, 00:00:41 to 00:01:20",
        "19 s, 00:00:51 to 00:01:10",
    ]
    assert [w["whose"] for w in group["levels"][0]["warnings"]] == ["Watch of the room", "this step"]
    assert group["levels"][1]["warnings"] == []


def test_time_beyond_that_was_broken_says_so_and_one_reading_has_one_instant() -> None:
    read = excursions(DAMP, [(0, 61.0), (1000, 50.0), (9000, 61.0), (10_000, 50.0)], limit(60), 1000, 11_000)
    assert outside_groups([], read, TOLD)[0]["levels"][0]["read"] == "2 s, 00:00:00 to 00:00:10, with breaks"
    spike = excursions(TOOL, [(5000, 90.0), (5200, 80.0)], limit(85, quantity="tool_temperature"), 200, 6000)
    assert (
        outside_groups([], spike, TOLD)[0]["levels"][0]["read"] == "under 1 s, at 00:00:05; with a place in hand 0 s"
    )


def test_levels_of_a_low_limit_come_mildest_first() -> None:
    read = excursions(DAMP, [(0, 20.0), (1000, 50.0)], limit(40, 35, side="low"), 1000, 2000)
    assert [level["level"] for level in outside_groups([], read, TOLD)[0]["levels"]] == ["below 40 %", "below 35 %"]


def test_a_warning_of_the_tool_names_the_place_and_pass_in_hand_then() -> None:
    in_hand = [InHand(10, 1, 40_000, 90_000), InHand(11, 1, 100_000, 130_000), InHand(11, 2, 300_000)]
    some = read_outside([row("alarm_raised", 110, channel=TOOL, at="65"), row("alarm_returned", 200, channel=TOOL)])
    (group,) = outside_groups(some, [], Told({"s2": "this step"}, in_hand, WHEN))
    assert group["levels"][0]["warnings"][0]["whose"] == "this step; place 11, pass 1 in hand"
    idle = read_outside([row("alarm_raised", 140, channel=TOOL, at="65"), row("alarm_returned", 200, channel=TOOL)])
    (group,) = outside_groups(idle, [], Told({"s2": "this step"}, in_hand, WHEN))
    assert group["levels"][0]["warnings"][0]["whose"] == "this step; no place in hand"


def test_a_place_in_hand_counts_though_its_mark_was_taken_back() -> None:
    found = passes_in_hand(rows(STEP))
    assert InHand(4, 1, 340_000, 360_000) in found
    assert [(hand.place, hand.pass_no) for hand in found] == [(1, 1), (2, 1), (3, 1), (3, 2), (4, 1), (5, 1)]


def test_the_lag_of_warnings_behind_readings_is_told_from_their_delays() -> None:
    warned = read_outside([row("alarm_raised", 10, at="60")])
    assert delay_note(warned, limit(60, 70)) == (
        "Warnings begin and end later than the readings they are about: relative humidity after 5 min beyond, "
        "until back by 2 % for 5 min."
    )
    assert delay_note([], limit(60)) == ""


def a_pass(
    place: int, pass_no: int = 1, band: Band | None = None, face: Band | None = None, *,
    verdict: str = "not known", reason: str = "not yet tried on a mock-up",
) -> PassRow:  # fmt: skip
    return PassRow(place, pass_no, band=band, face=face, verdict=verdict, reason=reason)


END = "; not tried on a mock-up, so this is no verdict."


def test_estimates_at_the_face_above_what_was_set_are_told_by_place() -> None:
    some = [a_pass(1, face=(35, 45, 50.1)), a_pass(2, face=(35, 45, 50.0)), a_pass(3, face=(51, 55, 60))]
    assert estimate_sentences(some, None, None, 50) == [
        f"Estimates at the face reached above the 50 °C set on places 1 and 3{END}"
    ]


def test_a_band_wholly_below_what_the_film_asks_is_told_unless_another_pass_reached_it() -> None:
    some = [
        a_pass(1, band=(43, 54, 69.9)), a_pass(2, band=(43, 54, 70.0)), a_pass(3, 1, band=(30, 40, 50)),
        a_pass(3, 2, band=(60, 66, 72)), a_pass(4),
    ]  # fmt: skip
    assert estimate_sentences(some, 70, None, None) == [
        f"The whole estimated band lay below the 70 °C the film asks, on place 1{END}"
    ]


def test_estimates_at_the_adhesive_above_what_was_set_are_told_too() -> None:
    said = estimate_sentences([a_pass(7, band=(60, 70, 77))], 70, 76, None)
    assert said == [f"Estimates at the adhesive reached above the 76 °C set on place 7{END}"]


def test_after_a_mock_up_nothing_says_that_none_was_made() -> None:
    some = [a_pass(1, face=(35, 45, 55), verdict="over the limit set", reason="")]
    assert estimate_sentences(some, None, None, 50) == [
        "Estimates at the face reached above the 50 °C set on place 1."
    ]


def test_nothing_is_said_where_nothing_is_set_or_estimated() -> None:
    assert estimate_sentences([a_pass(1), a_pass(2, band=(1, 2, 3), face=(1, 2, 3))], None, None, None) == []


def test_the_reason_most_passes_share_is_said_once_and_rows_say_only_what_differs() -> None:
    some = [
        a_pass(1), a_pass(2), a_pass(2, 2, reason="not yet tried on a mock-up; the tool was below 65 °C"),
        a_pass(3, reason="no reading from the tool for 35 s"), a_pass(4, verdict="reached", reason=""), PassRow(5),
    ]  # fmt: skip
    assert common_verdict(some) == ("not known", "not yet tried on a mock-up")
    _, table = table_of(_record(), some, WHEN)
    assert [line["remark"] for line in table["rows"]] == [
        "", "", "the tool was below 65 °C", "no reading from the tool for 35 s", "reached", "not touched",
    ]  # fmt: skip
    assert table["told"][-1].startswith("Where a row says nothing else: not known, not yet tried on a mock-up.")


def test_one_pass_alone_says_its_own_reason() -> None:
    assert common_verdict([a_pass(1), PassRow(2)]) is None


def test_the_table_holds_whole_degrees_and_seconds_and_marks_a_face_above_its_limit() -> None:
    row = PassRow(1, 1, 0, 51.6, 61_600, 71.4, 74.6, 80.5, (43.4, 54, 69.2), (26.2, 41, 58.4), "not known", "x")
    _, table = table_of(_record(), [row], WHEN)
    (line,) = table["rows"]
    assert (line["seconds"], line["low"], line["mean"], line["high"], line["humidity"]) == (
        "62",
        "71",
        "75",
        "80",
        "52",
    )
    assert (line["band"], line["face"], line["face_above"]) == ("43 to 69", "26 to 58", True)


def _record() -> Any:
    from monitor.report.record import read_step

    assert any(d.step == STEP for d in drafts(Words()))
    return read_step(STEP, rows(STEP))
