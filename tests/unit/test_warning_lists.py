"""What stood long, was seen, silent, or given at an unknown time, out of day-books made by hand."""

from __future__ import annotations

from tests.support.warned_days import (
    CHANNEL,
    DAY_S,
    HOUR_S,
    START_MS,
    Book,
    counted,
    stage,
    step_asked,
    told,
)


def test_what_stands_for_more_than_a_day_is_named_even_if_it_began_before() -> None:
    book = Book()
    book.warn(0, limit="old")
    book.warn(HOUR_S, limit="older than a day too")
    book.warn(2 * HOUR_S, limit="gone in time")
    book.clear(26 * HOUR_S, limit="gone in time")  # exactly 24 h
    book.clear(30 * HOUR_S, limit="old")
    figures = counted(book, from_s=DAY_S, to_s=2 * DAY_S, newest_s=40 * HOUR_S)
    assert [(one.key[1], one.to_ms) for one in figures.stale] == [
        ("old", START_MS + 30 * HOUR_S * 1000), ("older than a day too", None),
    ]  # fmt: skip
    assert (figures.stale_at_once, figures.stood_before, figures.stand_after) == (2, 3, 1)
    assert "still standing" in told(figures)
    # the record ends before a day is over: nothing is said of what nobody recorded
    assert counted(book, from_s=DAY_S, to_s=2 * DAY_S).stale[0].key[1] == "old"
    young = Book()
    young.warn(0)
    assert counted(young, to_s=3 * DAY_S, newest_s=23 * HOUR_S).stale == ()


def test_time_to_seen_counts_each_warning_once_and_says_what_became_of_the_others() -> None:
    book = Book()
    for n, after in enumerate((10, 20, 30, 40, 50, 60, 70, 80, 90, 600)):
        book.warn(1000 * n, limit=f"l{n}")
        book.see(1000 * n + after, limit=f"l{n}")
    book.warn(20_000, limit="worse", level="65")
    book.warn(20_030, limit="worse", level="70")
    book.see(20_060, limit="worse")  # sees both: 60 s and 30 s
    book.warn(21_000, limit="over")
    book.clear(21_005, limit="over", state="normal")
    book.warn(22_000, limit="kept")
    book.clear(22_005, limit="kept", state="returned_unacknowledged")
    book.warn(23_000, limit="shelved")
    book.hush(23_009, "alarm_shelved", limit="shelved")
    book.warn(24_000, limit="put off")
    book.hush(24_009, "alarm_suppressed", limit="put off")
    looked = counted(book, newest_s=DAY_S).looked
    assert (looked.seen, looked.silenced, looked.never, looked.waiting) == (12, 1, 2, 1)
    # 10 20 30 30 40 50 | 60 60 70 80 90 600: the median is half-way from 50 to 60, nine tenths the eleventh
    assert (looked.median_ms, looked.most_ms) == (55_000, 90_000)


def test_a_warning_seen_after_the_period_is_seen() -> None:
    book = Book()
    book.warn(100)
    book.see(5000)
    assert counted(book, to_s=1000).looked.median_ms == 4_900_000


def test_a_finished_step_leaves_nothing_standing_waiting_or_silent() -> None:
    book = Book()
    book.warn(0)
    book.hush(50, "alarm_out_of_service", limit="lead")
    book.hush(100, "alarm_suppressed")
    book.write(100, "step_finished", {"sheet": "room", "seconds": 100}, step="s1")
    figures = counted(book, newest_s=DAY_S)
    assert (figures.looked.never, figures.looked.waiting, figures.stand_after) == (1, 0, 0)
    assert [(one.what, one.count, one.total_ms, one.lasting) for one in figures.hushed] == [
        ("silent", 0, 0, 0), ("off", 0, 0, 0), ("probe not in use", 1, 50_000, 0),
        ("off for want of a reading", 0, 0, 0),
    ]  # fmt: skip


def test_off_during_a_stage_ends_with_a_stage_that_lists_it_though_no_row_says_so() -> None:
    book = Book()
    book.write(0, "step_asked", step_asked("s1", ["damp"], [], ["damp"]))
    book.warn(10)
    book.write(100, "stage_started", stage(1), step="s1")
    book.hush(100, "alarm_suppressed")
    book.write(400, "stage_started", stage(2), step="s1")
    off = counted(book, newest_s=DAY_S).hushed[1]
    assert (off.count, off.total_ms, off.lasting) == (1, 300_000, 0)


def test_off_by_name_stays_off_across_stages_until_released() -> None:
    book = Book()
    book.write(0, "step_asked", step_asked("s1", ["damp"], ["damp"]))
    whose = {"step": "s1", "limit": "damp", "channel": CHANNEL}
    book.write(100, "suppress_asked", {**whose, "reason": "by name"}, step="s1")
    book.hush(100, "alarm_suppressed")
    book.write(400, "stage_started", stage(1), step="s1")
    book.hear(700, "alarm_released")
    off = counted(book, newest_s=DAY_S).hushed[1]
    assert (off.count, off.total_ms) == (1, 600_000)


def test_silences_are_cut_off_at_the_period_and_one_that_lasts_says_so() -> None:
    book = Book()
    book.hush(0, "alarm_shelved")
    book.hear(600, "alarm_unshelved")
    book.hush(5000, "alarm_shelved", limit="other")
    silent = counted(book, from_s=300, to_s=6000, newest_s=7000).hushed[0]
    assert (silent.count, silent.total_ms, silent.longest_ms, silent.lasting) == (2, 1_300_000, 1_000_000, 1)
    assert "Silent for a time: 2 times, 21 min 40 s in all, the longest 16 min 40 s; 1 lasted on" in told(
        counted(book, from_s=300, to_s=6000, newest_s=7000)
    )


def test_warnings_of_a_board_without_time_are_counted_by_themselves_until_it_learns_the_time() -> None:
    book = Book(known=False)
    book.warn(10)
    book.see(25)
    figures = counted(book)
    assert (figures.given, figures.undated, figures.ran_ms) == (0, 1, 0)
    assert "1 warning was given while the board did not know the time" in told(figures)
    book.segments[0] = book.segments[0].__class__(1, 1, 0, START_MS, True)
    dated = counted(book)
    assert (dated.given, dated.undated, dated.looked.median_ms) == (1, 0, 15_000)


def test_a_clock_that_is_set_changes_no_length_and_is_told() -> None:
    book = Book()
    book.warn(10)
    book.set_clock(20, by_s=HOUR_S)
    book.see(25)
    figures = counted(book, to_s=2 * HOUR_S)
    assert (figures.looked.median_ms, figures.clock_set) == (15_000, 1)
    assert "The clock was set once" in told(figures)


def test_one_reading_of_two_steps_is_told_to_sound_once() -> None:
    book = Book()
    book.warn(10, step="s1")
    book.warn(10, step="s2")
    book.warn(10, step="s3", side="low")
    figures = counted(book, newest_s=DAY_S)
    assert (figures.given, figures.beside) == (3, 1)


def test_priorities_are_shares_of_all() -> None:
    book = Book()
    for n, priority in enumerate(["low"] * 5 + ["medium"] * 2 + ["high"]):
        book.warn(n, limit=f"l{n}", priority=priority)
    figures = counted(book, newest_s=DAY_S)
    assert figures.priorities == {"low": 5, "medium": 2, "high": 1}
    assert "low 62 % (5), medium 25 % (2), high 12 % (1); the guide's figure is about 80/15/5 (cited)" in told(
        figures
    )
