"""What the report reads out of day-book and readings, before anything is printed."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.bench.sheets import Level, Limit, Sheet, Stage
from monitor.catalogue.model import Source
from monitor.report.excursions import excursions
from monitor.report.limits import InForce, limit_rows, stage_spans
from monitor.report.origins import numbered, source_sentences
from monitor.report.passes import pass_rows
from monitor.report.print_text import by_number, printable, signs_of, unprintable
from monitor.report.record import StepRecord, TakenBack, read_step
from monitor.report.selection import Selection
from monitor.report.unmeasured import unmeasured_sentences
from monitor.report.words import When, figure, numbers, plain_reason, seconds
from tests.unit.report_scene import DAMP, STEP, TOOL, Words, drafts

WHEN = When()


def rows(step: str | None = None) -> list[dict[str, Any]]:
    """The day's rows as the store would give them."""
    return [
        {"seq": n, "kind": d.kind, "at_ms": d.mono_ms, "mono_ms": d.mono_ms, "body": d.body, "step": d.step,
         "bench": d.bench, "by": d.by, "boot": 1}
        for n, d in enumerate(drafts(Words()), 1)
        if step is None or d.step == step
    ]  # fmt: skip


def test_a_step_is_read_from_its_rows() -> None:
    record = read_step(STEP, rows(STEP))
    assert (record.title, record.side, record.places) == ("Strip-lining with a heated spatula", "B", 6)
    assert (record.from_ms, record.to_ms, record.people) == (60_000, 660_000, ["MK"])
    assert [(c.place, c.pass_no) for c in record.contacts] == [(1, 1), (2, 1), (3, 1), (3, 2), (5, 1)]
    assert record.voided == [TakenBack(4, 1, "mark taken back", 365_000, "MK")]
    assert record.answers == [("What lies in front of the strip?", "ground only")]
    assert record.notes == [(290_000, "MK", "Telephone; tool on its stand meanwhile.")]


def test_a_step_started_before_anything_was_asked_has_no_answers() -> None:
    some = rows(STEP)
    for row in some:
        row["body"] = {key: value for key, value in row["body"].items() if key != "answers"}
    assert read_step(STEP, some).answers == []


def test_every_pass_has_a_row_of_its_own_and_nothing_is_summed() -> None:
    table = pass_rows(read_step(STEP, rows(STEP)), {170_000: 51.6})
    assert [(row.place, row.pass_no) for row in table] == [(1, 1), (2, 1), (3, 1), (3, 2), (4, 0), (5, 1), (6, 0)]
    first, second = table[2:4]
    assert (first.at_ms, first.humidity, first.milliseconds) == (170_000, 51.6, 12_000)
    assert (second.at_ms, second.humidity, second.milliseconds) == (210_000, None, 24_000)
    assert (first.tool_low, first.tool_mean, second.tool_mean) == (77.0, 76.0, 77.0)
    assert (first.band, second.band) == ((52.0, 55.0, 58.2), (61.0, 64.2, 67.5))
    assert (first.face, table[1].face) == ((36.0, 43.0, 52.0), None)


def test_a_place_whose_mark_was_taken_back_is_as_if_not_touched() -> None:
    fourth = pass_rows(read_step(STEP, rows(STEP)))[4]
    assert (fourth.place, fourth.pass_no, fourth.verdict, fourth.band, fourth.tool_mean) == (4, 0, None, None, None)


def test_a_contact_without_estimate_has_no_band_and_its_reason_has_whole_seconds() -> None:
    fifth = pass_rows(read_step(STEP, rows(STEP)))[5]
    assert (fifth.band, fifth.verdict, fifth.reason) == (None, "not known", "no reading from the tool for 7 s")


def test_a_second_pass_taken_back_leaves_the_first() -> None:
    some = rows(STEP)
    body = {"side": "B", "place": 3, "pass": 2, "probe": "spatula", "reason": "mark taken back"}
    record = read_step(STEP, [*some, {**some[-1], "kind": "contact_voided", "body": body}])
    (third,) = [row for row in pass_rows(record) if row.place == 3]
    assert (third.pass_no, third.milliseconds, third.band) == (1, 12_000, (52.0, 55.0, 58.2))


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        ("no reading from the tool for 0.2 s", "a reading was missing"),
        ("no reading from the tool for 35.0 s", "no reading from the tool for 35 s"),
        ("no reading from the tool for 36 s", "no reading from the tool for 36 s"),
        ("not yet tried on a mock-up", "not yet tried on a mock-up"),
    ],
)
def test_a_reason_is_said_without_parts_of_a_second(reason: str, said: str) -> None:
    assert plain_reason(reason) == said


def test_numbers_are_listed_with_runs_by_their_ends() -> None:
    assert numbers([3, 1, 4, 5, 9, 9]) == "1, 3 to 5 and 9"
    assert (numbers([]), numbers([7]), numbers([7, 8])) == ("", "7", "7 and 8")


def test_a_gap_is_told_with_its_length_and_cause() -> None:
    told = unmeasured_sentences(rows(), WHEN)
    assert "Tool temperature (spatula) from 00:07:35 to 00:07:42, 7 s: a lead was open." in told


def test_a_gap_that_does_not_end_is_told_to_the_end() -> None:
    (fault,) = [row for row in rows() if row["kind"] == "probe_fault"]
    assert unmeasured_sentences([fault], WHEN) == [
        "Tool temperature (spatula) from 00:07:35 on, to the end: a lead was open."
    ]


def test_an_interruption_of_the_station_is_told_and_the_first_segment_is_not() -> None:
    begun = next(row for row in rows() if row["kind"] == "segment_started")
    again = {**begun, "at_ms": 300_000, "body": {**begun["body"], "segment": 2, "gap_ms": 95_000}}
    assert unmeasured_sentences([begun], WHEN) == []
    assert unmeasured_sentences([begun, again], WHEN) == [
        "Everything, for 95 s before 00:05:00: the station did not run."
    ]


def in_force(side: str, *levels: float, spans: tuple[tuple[int, int], ...] = ((0, 10**9),)) -> list[InForce]:
    made = tuple(Level(at, "low", "project", "proposal") for at in levels)
    limit = Limit("l", "room", "relative_humidity", side, 1, 0, 0, made)
    return [InForce(limit, n, "this step", spans) for n in range(len(levels))]


def test_time_outside_is_held_from_reading_to_reading() -> None:
    readings = [(0, 59.0), (1000, 61.0), (2000, 60.0), (3000, 66.0), (4000, None), (5000, 50.0)]
    (one,) = excursions(DAMP, readings, in_force("high", 60), 1000, 6000)
    assert (one.outside_ms, one.furthest, one.furthest_ms) == (2000, 66.0, 3000)


def test_the_last_reading_speaks_no_further_than_three_intervals_nor_beyond_the_end() -> None:
    (stale,) = excursions(DAMP, [(0, 61.0), (60_000, 50.0)], in_force("high", 60), 1000, 61_000)
    assert stale.outside_ms == 3000
    (ended,) = excursions(DAMP, [(0, 61.0)], in_force("high", 60), 1000, 400)
    assert ended.outside_ms == 400


def test_below_a_low_limit_counts_and_equal_does_not() -> None:
    readings = [(0, 40.0), (1000, 39.9), (2000, 45.0)]
    (one,) = excursions(DAMP, readings, in_force("low", 40), 1000, 3000)
    assert (one.outside_ms, one.furthest) == (1000, 39.9)


def test_each_level_is_counted_for_itself() -> None:
    some = excursions(DAMP, [(0, 61.0), (1000, 66.0), (2000, 50.0)], in_force("high", 60, 65), 1000, 3000)
    assert [one.outside_ms for one in some] == [2000, 1000]
    assert [one.spells for one in some] == [((0, 2000),), ((1000, 2000),)]


def test_stretches_apart_stay_apart_and_join_only_where_paper_cannot_show_them() -> None:
    readings = [(0, 61.0), (1000, 50.0), (2000, 61.0), (3000, 50.0), (60_000, 61.0), (61_000, 50.0)]
    (fine,) = excursions(DAMP, readings, in_force("high", 60), 1000, 62_000)
    (rough,) = excursions(DAMP, readings, in_force("high", 60), 1000, 62_000, join_ms=1000)
    assert fine.spells == ((0, 1000), (2000, 3000), (60_000, 61_000))
    assert rough.spells == ((0, 3000), (60_000, 61_000))
    assert fine.outside_ms == rough.outside_ms == 3000


def test_time_counts_only_while_the_limit_is_in_force() -> None:
    readings = [(n * 1000, 70.0 + n) for n in range(10)]
    (one,) = excursions(DAMP, readings, in_force("high", 60, spans=((2500, 4000), (8000, 8200))), 1000, 10_000)
    assert (one.outside_ms, one.furthest, one.furthest_ms) == (1700, 78.0, 8000)
    assert excursions(DAMP, readings, in_force("high", 60, spans=()), 1000, 10_000) == []


def test_a_limit_that_a_stage_has_off_is_not_in_force_then() -> None:
    record = StepRecord("s2", stages=[(1000, "places"), (5000, "cooling"), (7000, "places")])
    stages = (Stage("places", "", ("hot",)), Stage("cooling", "", ()))
    sheet = Sheet("x", "", {}, stages, {})
    assert stage_spans(record, sheet, "hot", Selection((), 1000, 9000)) == ((1000, 5000), (7000, 9000))


@given(st.lists(st.floats(0, 100), min_size=1, max_size=50))
def test_time_outside_of_evenly_spaced_readings_is_their_count(values: list[float]) -> None:
    readings = [(n * 1000, value) for n, value in enumerate(values)]
    found = excursions(TOOL, readings, in_force("high", 60), 1000, len(values) * 1000)
    assert sum(one.outside_ms for one in found) == 1000 * sum(value > 60 for value in values)


def test_a_limit_is_given_with_unit_whose_it_is_source_grade_and_note() -> None:
    made = Limit("l", "room", "relative_humidity", "high", 1, 0, 0, (
        Level(60, "low", "iic", "cited", "p. 3", "for collections at rest"), Level(65, "high", "project", "proposal"),
    ))  # fmt: skip
    some = [InForce(made, 1, "this step", ()), InForce(made, 0, "this step", ()), InForce(made, 0, "the room", ())]
    assert [tuple(row.values()) for row in limit_rows(some, numbered({"iic", "project"}))] == [
        ("relative humidity at most", "60 %", "this step and the room", "[1], p. 3, cited; for collections at rest"),
        ("relative humidity at most", "65 %", "this step", "proposal of this project"),
    ]


def test_sources_are_told_by_number_and_title_and_what_is_no_text_comes_last() -> None:
    sources = {
        key: Source(key, f"Title of {key}", "All of it.") for key in ("b-book", "a-paper", "project", "memory")
    }
    keys = {"project", "b-book", "a-paper", "memory", "lost", "command"}
    assert source_sentences(keys, sources, numbered(keys)) == [
        "[1] Title of a-paper. Read of it: All of it.", "[2] Title of b-book. Read of it: All of it.",
        "[3] A source that this catalogue does not list, kept as lost.",
        "Title of memory. All of it.", "Title of project. All of it.",
    ]  # fmt: skip


def test_unprintable_signs_are_found_by_asking_few_times() -> None:
    asked: list[str] = []

    def prints(text: str) -> bool:
        asked.append(text)
        return "\u05d0" not in text

    bad = unprintable({chr(n) for n in range(32, 600)} | {"\u05d0", "\u202e", "\x07", "\n"}, prints)
    assert bad == {"\u05d0", "\u202e", "\x07"}
    assert len(asked) < 40


def test_when_too_many_signs_are_strange_the_rest_is_written_by_number() -> None:
    strange = {chr(n) for n in range(0x4E00, 0x5600)}
    assert unprintable(strange | {"a"}, lambda text: text == "a") >= strange - {"a"}


def test_signs_are_written_by_number_and_long_words_may_break() -> None:
    assert by_number("a\u05d0", {"\u05d0"}) == "a[U+05D0]"
    softened = printable({"k": ["x" * 100]}, set())["k"][0]
    assert softened.replace("\u200b", "") == "x" * 100
    assert max(map(len, softened.split("\u200b"))) <= 24
    assert signs_of({"a": ["b", {"c": "d"}], "e": 1}) == {"b", "d"}


@pytest.mark.parametrize(
    ("milliseconds", "words"),
    [(0, "0 s"), (200, "under 1 s"), (9_999, "10 s"), (24_000, "24 s"), (119_000, "119 s"), (120_000, "2 min"),
     (1_642_000, "27 min 22 s"), (7_200_000, "2 h 0 min")],
)  # fmt: skip
def test_durations_read_as_a_person_says_them(milliseconds: int, words: str) -> None:
    assert seconds(milliseconds) == words


@pytest.mark.parametrize(
    ("value", "words"), [(60.0, "60 °C"), (61.25, "61.2 °C"), ("-0.04", "0 °C"), (100, "100 °C"), (None, "not known")]
)
def test_figures_carry_their_unit(value: float | None, words: str) -> None:
    assert figure(value, "°C") == words


def test_a_stretch_past_midnight_names_both_days() -> None:
    midnight = 86_400_000
    assert WHEN.stretch(midnight - 1000, midnight) == "1 January 1970, 23:59:59 to 2 January 1970, 00:00:00"
    assert WHEN.stretch(0, None).endswith("from 00:00:00, still running")
