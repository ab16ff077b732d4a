"""The guide's figures out of day-books made by hand, whose figures can be counted on paper."""

from __future__ import annotations

import pytest

from monitor.report.warning_compared import as_json, compared
from monitor.report.warning_reading import KINDS
from tests.support.warned_days import (
    CHANNEL,
    DAY_S,
    HOUR_S,
    START_MS,
    Book,
    counted,
    stage,
    step_asked,
    step_started,
    told,
)


def test_a_day_without_a_warning_is_no_fault_and_says_how_long_it_was_watched() -> None:
    book = Book()
    figures = counted(book, to_s=DAY_S, newest_s=8 * HOUR_S)
    assert (figures.given, figures.ran_ms, figures.rates.per_10_min) == (0, 8 * HOUR_S * 1000, 0.0)
    text = told(figures)
    assert "The station ran for 8 h 0 min of these 24 h 0 min. The record reaches to 2026-05-04 17:00:00." in text
    assert "No warnings were given" in text
    assert "On average 0.00 in 10 min" in text


def test_a_period_in_which_nothing_ran_gives_no_rate() -> None:
    figures = counted(Book(), from_s=10 * DAY_S, to_s=11 * DAY_S, newest_s=HOUR_S)
    assert (figures.ran_ms, figures.rates.per_10_min, figures.rates.flood_share) == (0, None, None)
    assert "no rate can be given" in told(figures)
    assert [one.inside for one in compared(figures) if one.measure == "average.per_10_min"] == [None]


def test_the_average_is_of_the_time_the_station_ran() -> None:
    """Twelve warnings in two hours of running, of a day: one in ten minutes."""
    book = Book()
    for n in range(12):
        book.warn(600 * n + 1, limit=f"l{n}")
    book.write(2 * HOUR_S, "station_stopped", {"reason": "stopped"})
    figures = counted(book)
    assert figures.ran_ms == 2 * HOUR_S * 1000
    assert (figures.rates.per_10_min, figures.rates.per_day) == (1.0, 144.0)
    assert "about 1 in 10 min (144 a day) acceptable and 2 (288 a day)" in told(figures)
    assert "inside what it calls manageable" in told(figures)


def test_thirteen_in_an_hour_of_running_are_outside() -> None:
    book = Book()
    for n in range(13):
        book.warn(270 * n + 1, limit=f"l{n}")
    assert "outside what it calls manageable" in told(counted(book, to_s=HOUR_S, newest_s=HOUR_S))


def test_a_flood_begins_with_the_eleventh_and_ends_when_fewer_than_five_are_left() -> None:
    """One every 30 s from 0 to 300 s: the eleventh at 300; the seventh leaves at 780, and four are left."""
    book = Book()
    for n in range(11):
        book.warn(30 * n, limit=f"l{n}")
    rates = counted(book, to_s=HOUR_S, newest_s=HOUR_S).rates
    assert rates.floods == ((START_MS + 300_000, START_MS + 780_000),)
    assert rates.flood_share == pytest.approx(100 * 480 / 3600)
    assert (rates.minute.most, rates.ten_minutes.most, rates.hour.most) == (2, 11, 11)
    assert rates.ten_minutes.from_ms == START_MS
    # a period that begins in the flood knows what came before it
    assert counted(book, from_s=400, to_s=HOUR_S, newest_s=HOUR_S).rates.flood_ms == 380_000
    # ten are none
    assert not counted(book, to_s=HOUR_S, newest_s=HOUR_S).rates.floods[1:]
    ten = Book()
    for n in range(10):
        ten.warn(30 * n, limit=f"l{n}")
    assert counted(ten, to_s=HOUR_S, newest_s=HOUR_S).rates.floods == ()


def test_no_flood_goes_on_while_the_station_does_not_run() -> None:
    book = Book()
    for n in range(11):
        book.warn(30 * n, limit=f"l{n}")
    book.write(360, "station_stopped", {"reason": "stopped"})
    book.start_again(720, gap_s=360)
    figures = counted(book, to_s=HOUR_S, newest_s=HOUR_S)
    assert figures.ran_ms == (360 + HOUR_S - 720) * 1000
    assert figures.rates.flood_ms == (60 + 60) * 1000


def test_a_start_after_a_crash_is_told_by_its_gap_or_by_the_last_row() -> None:
    book = Book()
    book.warn(100)
    book.start_again(1000, gap_s=700)  # the last reading came at 300 s
    assert counted(book, to_s=2000, newest_s=2000).ran_ms == (300 + 1000) * 1000
    unknown = Book()
    unknown.warn(100)
    unknown.start_again(1000, gap_s=None)
    assert counted(unknown, to_s=2000, newest_s=2000).ran_ms == (100 + 1000) * 1000


def test_the_most_frequent_are_named_with_their_share_steps_of_one_sheet_together() -> None:
    book = Book()
    for step in ("s1", "s2"):
        book.write(0, "step_started", step_started("room"), step=step)
    for n in range(6):
        book.warn(100 * n, limit="damp", step="s1" if n % 2 else "s2")
    for n in range(12):
        book.warn(1000 + n, limit=f"l{n:02}")
    figures = counted(book, newest_s=DAY_S)
    assert figures.kinds == 13
    assert len(figures.frequent) == 10
    assert (figures.frequent[0].sheet, figures.frequent[0].limit, figures.frequent[0].count) == ("room", "damp", 6)
    assert figures.frequent_share == pytest.approx(100 * 15 / 18)
    text = told(figures)
    assert "6 (33 %) damp on room.relative_humidity, sheet room" in text
    assert "The ten together: 83 %; no more than 1 to 5 % (recalled, not read): outside that." in text
    few = Book()
    few.warn(1)
    assert "their share in all tells nothing" in told(counted(few, newest_s=DAY_S))


def test_three_times_beyond_one_level_within_a_minute_is_chattering() -> None:
    book = Book()
    for at in (0, 30, 60):
        book.warn(at)
        book.clear(at + 5)
    for at in (200, 230, 261):
        book.warn(at, limit="slow")
        book.clear(at + 5, limit="slow")
    (one,) = counted(book, newest_s=DAY_S).chattering
    assert (one.key[1], one.most, one.from_ms) == ("damp", 3, START_MS)


def test_worsening_and_being_told_again_are_no_chattering() -> None:
    book = Book()
    for at, level in ((0, "65"), (10, "70"), (20, "75")):
        book.warn(at, level=level)
    for at in (1000, 1010, 1020):
        book.hush(at, "alarm_shelved", limit="warm")
        book.hear(at + 5, "alarm_unshelved", limit="warm", state="unacknowledged")
        book.warn(at + 5, limit="warm")
    figures = counted(book, newest_s=DAY_S)
    assert figures.chattering == ()
    assert (figures.given, figures.anew) == (6, 3)


def test_fleeting_is_short_untouched_and_alone() -> None:
    book = Book()
    book.warn(0, limit="short")
    book.clear(10, limit="short")  # 10 s: fleeting
    book.warn(100, limit="longer")
    book.clear(111, limit="longer")  # 11 s: not
    book.warn(200, limit="seen")
    book.see(202, limit="seen")
    book.clear(203, limit="seen")  # somebody did something
    book.warn(300, limit="again")
    book.clear(301, limit="again")
    book.warn(361, limit="again")  # back 60 s later: at once
    book.clear(362, limit="again")  # and this one is not followed: fleeting
    assert counted(book, newest_s=DAY_S).fleeting == 2


def test_the_json_holds_what_the_sentences_say_and_each_figure_of_the_guide() -> None:
    book = Book()
    book.warn(10)
    found = as_json(counted(book, newest_s=HOUR_S))
    assert found["warnings"] == 1
    assert found["hushed"].keys() == {"silent", "off", "out_of_use", "no_reading"}
    assert {key for one in found["compared"] for key in one["guide"]} <= found["guide"].keys()
    assert found["guide"]["warnings.flood.below"]["grade"] == "recalled"


def test_a_warning_found_to_come_and_go_is_chattering_though_it_was_told_no_more() -> None:
    book = Book()
    for at in (0, 20, 40):
        book.warn(at, limit="both")
        book.clear(at + 5, limit="both")
    whose = {"step": "s1", "channel": CHANNEL, "times": 4, "within_s": 60, "quiet_s": 60}
    book.write(45, "alarm_chatters", {**whose, "limit": "both"}, step="s1")
    book.write(50, "alarm_chatters", {**whose, "limit": "hidden"}, step="s1")
    book.write(90, "alarm_chatters", {**whose, "limit": "hidden", "times": 5}, step="s1")
    figures = counted(book, newest_s=DAY_S)
    assert [(one.key[1], one.level, one.most) for one in figures.chattering] == [("both", "65", 3), ("hidden", "", 4)]
    assert "hidden on room.relative_humidity, step s1 (then told no more until it was quiet): 4" in told(figures)


def test_told_again_because_it_still_stands_is_no_passing_of_the_level() -> None:
    book = Book()
    book.warn(0)
    book.see(5)
    for at in (20, 40):
        book.warn(at, judged_at="65", why="still stands")
    figures = counted(book, newest_s=DAY_S)
    assert (figures.given, figures.again, figures.chattering) == (3, 2, ())
    assert figures.stand_after == 1
    assert "2 of them because they stood on after they had been seen" in told(figures)


def test_off_for_want_of_a_reading_is_told_by_itself_and_lasts_across_stages() -> None:
    book = Book()
    book.write(0, "step_asked", step_asked("s1", ["damp"], ["damp"]))
    whose = {"step": "s1", "limit": "damp", "channel": CHANNEL}
    book.write(100, "alarm_suppressed", {**whose, "reason": "no reading", "cause": "no reading"}, step="s1")
    book.write(400, "stage_started", stage(1), step="s1")
    book.hear(700, "alarm_released")
    hushed = {one.what: (one.count, one.total_ms) for one in counted(book, newest_s=DAY_S).hushed}
    assert (hushed["off"], hushed["off for want of a reading"]) == ((0, 0), (1, 600_000))


def test_a_warning_whose_probe_is_lost_for_a_while_is_the_same_when_it_reads_again() -> None:
    """It stands for over a day in all, is seen when it is told again, and ends where it is found over."""
    book = Book()
    lost = {"reason": "no reading", "cause": "no reading", "step": "s1", "channel": CHANNEL}
    for limit in ("held", "over"):
        book.warn(0, limit=limit)
        book.write(100, "alarm_suppressed", {**lost, "limit": limit}, step="s1")
    book.hear(400, "alarm_released", limit="held", state="unacknowledged")
    book.warn(400, limit="held")
    book.see(500, limit="held")
    book.hear(400, "alarm_released", limit="over")
    figures = counted(book, to_s=2 * DAY_S, newest_s=DAY_S + 1)
    assert [one.key[1] for one in figures.stale] == ["held"]
    assert (figures.given, figures.anew, figures.stand_after) == (3, 1, 1)
    assert (figures.looked.seen, figures.looked.never) == (2, 1)
    assert figures.fleeting == 0


def test_every_kind_of_row_that_is_read_is_in_the_registry() -> None:
    from monitor.bench.kinds import NEWEST

    assert set(KINDS) <= NEWEST.keys()
    told_of = {kind for kind in NEWEST if kind.startswith("alarm_")}
    assert told_of - set(KINDS) == {"alarm_eased"}, "a new kind of row about warnings: is it counted?"
