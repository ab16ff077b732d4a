"""The story `strip-lining`: what happens in it is in the day-book, to the byte, at every run."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from monitor.bench.events import GENESIS, row_hash
from monitor.station.uses import run_story
from monitor.store.recompute import recompute
from monitor.store.store import Store
from monitor.stories.script import load_story
from tests.support.golden_story import kept, lines
from tests.support.stories import StoryRun

pytestmark = pytest.mark.long

NAME = "strip-lining"
MINUTE_MS = 60_000


@pytest.fixture(scope="module")
def run(story_run: Callable[[str], StoryRun]) -> StoryRun:
    return story_run(NAME)


def rows(run: StoryRun, kind: str) -> list[dict[str, Any]]:
    return [row for row in run.events if row["kind"] == kind]


def test_the_day_book_is_the_one_that_was_looked_at(run: StoryRun) -> None:
    told, wanted = lines(run.events), kept(NAME)
    for number, (new, old) in enumerate(zip(told, wanted, strict=False), start=1):
        assert new == old, f"row {number} differs; if it should, run python -m tests.support.update_golden {NAME}"
    assert len(told) == len(wanted)


def test_a_second_run_prints_the_same_bytes(run: StoryRun, tmp_path: Path) -> None:
    again = run_story(load_story(NAME), tmp_path / "data")
    printed = json.dumps(again.events, indent=1, ensure_ascii=False) + "\n"
    assert printed.encode() == run.printed


def test_the_chain_holds(run: StoryRun) -> None:
    prev = GENESIS
    for seq, row in enumerate(run.events, start=1):
        assert row["seq"] == seq
        assert row["prev"] == prev
        assert row["hash"] == row_hash(row)
        prev = row["hash"]


def test_every_event_and_estimate_follows_from_what_was_stored(run: StoryRun) -> None:
    store = Store.open(run.data, read_only=True)
    try:
        found = recompute(store)
    finally:
        store.close()
    assert found.differences == []
    assert found.events >= 150
    assert found.estimates >= 10_000


def test_sixteen_places_are_worked_and_none_is_called_reached(run: StoryRun) -> None:
    ended = rows(run, "contact_ended")
    passes = Counter(row["body"]["place"] for row in ended)
    assert set(passes) == set(range(1, 17))
    assert {place for place, count in passes.items() if count > 1} == {4, 11, 13}
    verdicts = {row["body"]["verdict"] for row in rows(run, "place_judged")}
    assert verdicts == {"not known"}  # no mock-up has been fitted


def test_place_4_was_lifted_too_early_and_gone_over_again(run: StoryRun) -> None:
    seconds = [row["body"]["milliseconds"] / 1000 for row in rows(run, "contact_ended") if row["body"]["place"] == 4]
    assert seconds == [17.0, 60.0]


def test_marks_are_dated_back_by_the_age_of_the_key(run: StoryRun) -> None:
    marks = {row["seq"]: row for row in rows(run, "mark_asked")}
    for started in rows(run, "contact_started"):
        asked = marks[started["seq"] - 1]
        assert started["mono_ms"] == asked["mono_ms"] - asked["body"]["age_ms"]


def test_the_cold_tool_is_told_and_seen(run: StoryRun) -> None:
    (raised,) = [r for r in rows(run, "alarm_raised") if r["body"]["limit"] == "tool-too-cold"]
    (seen,) = [r for r in rows(run, "alarm_seen") if r["body"]["limit"] == "tool-too-cold"]
    assert raised["step"] == seen["step"] == "s2"
    assert seen["by"] == "MK"
    cold = next(r["body"] for r in rows(run, "contact_ended") if r["body"]["place"] == 11)
    assert float(cold["tool_high"]) < 65


def test_the_tool_is_warm_when_the_places_begin_and_warns_at_no_rest(run: StoryRun) -> None:
    raised = [r["body"]["limit"] for r in rows(run, "alarm_raised")]
    assert raised.count("tool-too-cold") == 1
    first = next(r for r in run.events if r["kind"] == "contact_started")
    assert first["mono_ms"] <= 45_000
    assert float(rows(run, "contact_ended")[0]["body"]["tool_low"]) > 65
    silent = rows(run, "alarm_shelved")
    assert [r["body"]["reason"].split(";")[0] for r in silent] == ["telephone", "resting"]
    assert {r["body"]["state"] for r in rows(run, "alarm_unshelved")} == {"normal"}


def test_the_base_that_is_noted_is_the_one_that_lies_there(run: StoryRun) -> None:
    asked = next(r["body"] for r in rows(run, "step_asked") if r["body"]["sandwich"])
    assert "MDF" in asked["sandwich"]["words"]
    assert "with the film of 2010" in asked["sandwich"]["words"]
    assert load_story(NAME).world["base"] == "board"
    touches = {b["probe"]: b["touches"] for b in asked["bindings"]}
    assert "clamped to the outside of the shank" in touches["spatula"]


def test_the_open_lead_leaves_place_13_not_known(run: StoryRun) -> None:
    (fault,) = rows(run, "probe_fault")
    assert fault["body"]["quality"] == "open"
    assert fault["mono_ms"] - fault["body"]["from_mono_ms"] <= 3000
    (restored,) = rows(run, "probe_restored")
    assert restored["body"]["gap_ms"] == 85_000
    first = next(r["body"] for r in rows(run, "place_judged") if r["body"]["place"] == 13)
    assert "no reading from the tool for 36 s" in first["reason"]


def test_the_humid_hour_passes_both_limits_and_comes_back(run: StoryRun) -> None:
    humid = [r for r in run.events if r["body"].get("limit") == "humidity-high" and r["kind"].startswith("alarm_")]
    raised = [(r["step"], r["body"]["at"]) for r in humid if r["kind"] == "alarm_raised"]
    assert raised == [("s1", "60"), ("s2", "60"), ("s2", "65"), ("s1", "70")]
    assert {r["by"] for r in humid if r["kind"] == "alarm_seen"} == {"MK", "TB"}
    returned = [r for r in humid if r["kind"] == "alarm_returned"]
    assert {r["step"] for r in returned} == {"s1", "s2"}
    assert {r["body"]["state"] for r in returned} == {"normal"}
    assert returned[-1]["mono_ms"] - humid[0]["mono_ms"] > 60 * MINUTE_MS


def test_it_is_humid_for_a_whole_hour(run: StoryRun) -> None:
    store = Store.open(run.data, read_only=True)
    try:
        beyond = [at for at, _, value, _ in store.readings("room.relative_humidity", 0, 2**53) if (value or 0) > 60]
    finally:
        store.close()
    assert len(beyond) >= 3600
    assert beyond[-1] - beyond[0] < 65 * MINUTE_MS


def test_the_rest_begins_when_the_warning_is_seen_and_it_is_said_why_work_goes_on(run: StoryRun) -> None:
    seen = next(r["mono_ms"] for r in rows(run, "alarm_seen") if r["step"] == "s2")
    downs = [r["mono_ms"] for r in run.events if r["kind"] == "contact_started"]
    after = next(at for at in downs if at > seen)
    assert after - seen > 30 * MINUTE_MS
    said = [r["body"]["text"] for r in rows(run, "note_written") if seen < r["mono_ms"] < after]
    assert any("window closed, dehumidifier on" in text for text in said)
    assert any("Going on" in text and "limit knowingly passed" in text for text in said)


def test_what_the_last_note_says_of_the_estimates_is_so(run: StoryRun) -> None:
    store = Store.open(run.data, read_only=True)
    try:
        most: dict[str, float] = {}
        for row in store.estimates("s2"):
            most[row.depth] = max(most.get(row.depth, 0.0), row.p95)
    finally:
        store.close()
    last = rows(run, "note_written")[-1]["body"]["text"]
    asked = next(r["body"]["sandwich"] for r in rows(run, "step_asked") if r["body"]["sandwich"])
    assert "Estimates lay below the film's figure throughout" in last
    assert most["bond_line"] < asked["min_c"]
    assert "band at the face passed its ceiling" in last
    assert most["face"] > asked["ceiling_c"]


def test_the_telephone_the_mistaken_mark_and_the_end_are_written_down(run: StoryRun) -> None:
    notes = [row["body"]["text"] for row in rows(run, "note_written")]
    assert any("Telephone" in text for text in notes)
    (voided,) = rows(run, "contact_voided")
    assert voided["body"]["place"] == 15
    assert [row["body"]["stage"] for row in rows(run, "stage_started")] == ["places", "cooling"]
    (finished,) = rows(run, "step_finished")
    assert finished["by"] == "MK"
    assert run.events[-1]["kind"] == "station_stopped"


def test_every_source_says_that_it_is_simulated(run: StoryRun) -> None:
    (started,) = rows(run, "station_started")
    sources = [entry["source"] for entry in started["body"]["sources"]]
    assert sources
    assert all(source.startswith("simulated ") for source in sources)


def test_the_summary_counts_what_the_day_book_holds(run: StoryRun) -> None:
    from monitor.stories.summary import summary

    told = "\n".join(summary(load_story(NAME), run.events))
    assert "16 of 16 worked in 19 contacts" in told
    assert "1 no reading from the tool for 36 s" in told
    assert "1 spatula open" in told
