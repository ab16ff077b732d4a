"""Contacts, places and their estimates in the fold."""

from __future__ import annotations

from itertools import pairwise

import pytest

from monitor.bench.inputs import Break
from monitor.bench.outputs import Draft, Estimate, Output, Refusal
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Level
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from tests.support.folds import OFFSET_MS, ROOM_C, SANDWICH, TOOL, asked, drafts, limit, mark, running, sheet, start

COLD = (Level(65, "medium", "project", "proposal"),)


def at_work(sandwich: bool = True, places: int = 4) -> Fold:
    fold = running(
        sheet(limit(levels=COLD, side="low", on_delay_ms=1000), places=True), interval_ms=200, places=places,
        sandwich=SANDWICH if sandwich else None, channels=(TOOL, ROOM_C),
    )  # fmt: skip
    fold.feed(Reading(0, ROOM_C, 21.0))
    return fold


def tool(fold: Fold, start_ms: int, end_ms: int, value: float | None = 71.0) -> list[Output]:
    out: list[Output] = []
    quality = Quality.OPEN if value is None else Quality.GOOD
    for at in range(start_ms, end_ms, 200):
        out += fold.feed(Reading(at, TOOL, value, quality))
        out += fold.feed(Reading(at, ROOM_C, 21.0))
    return out


def one(out: list[Output], kind: str) -> Draft:
    (found,) = drafts(out, kind)
    return found


def test_a_contact_is_written_with_what_its_probe_read() -> None:
    fold = at_work()
    tool(fold, 200, 1000)
    started = one(fold.feed(mark(1000, "down")), "contact_started")
    assert (started.body["place"], started.body["pass"], started.body["side"]) == (1, 1, "B")
    tool(fold, 1000, 11_000)
    out = fold.feed(mark(11_000, "lift"))
    ended = one(out, "contact_ended").body
    assert ended["milliseconds"] == 10_000
    assert ended["readings"] == 50
    assert (ended["tool_low"], ended["tool_mean"], ended["tool_high"], ended["gaps"]) == ("71.0", "71.0", "71.0", 0)
    assert fold.state.steps["s1"].places.here == 2  # type: ignore[union-attr]


def test_without_a_mock_up_there_is_a_band_and_no_verdict() -> None:
    fold = at_work()
    fold.feed(mark(1000, "down"))
    out = tool(fold, 1000, 11_000)
    rows = [o for o in out if isinstance(o, Estimate) and o.depth == "bond_line"]
    assert all(r.p05 <= r.p50 <= r.p95 and r.p_reached is None for r in rows)
    assert all(a.p50 <= b.p50 for a, b in pairwise(rows))
    judged = one(fold.feed(mark(11_000, "lift")), "place_judged").body
    assert (judged["verdict"], judged["reason"]) == ("not known", "not yet tried on a mock-up")
    assert judged["bond_line"] == [f"{v:.1f}" for v in (rows[-1].p05, rows[-1].p50, rows[-1].p95)]
    assert 21.0 < rows[-1].p05 < rows[-1].p95 < 71.0


def test_no_sandwich_or_no_room_temperature_means_no_estimate() -> None:
    fold = at_work(sandwich=False)
    fold.feed(mark(1000, "down"))
    assert not [o for o in tool(fold, 1000, 6000) if isinstance(o, Estimate)]
    judged = one(fold.feed(mark(6000, "lift")), "place_judged").body
    assert judged["reason"] == "no estimate for this contact"


def test_a_lead_that_opens_in_mid_contact_is_not_known_and_its_time_is_told() -> None:
    fold = at_work()
    fold.feed(mark(1000, "down"))
    tool(fold, 1000, 6000)
    tool(fold, 6000, 8400, None)
    out = tool(fold, 8400, 11_000)
    assert not [o for o in out if isinstance(o, Estimate)]
    out = fold.feed(mark(11_000, "lift"))
    assert one(out, "contact_ended").body["gaps"] == 12
    assert one(out, "place_judged").body["reason"] == "no reading from the tool for 3 s"


def test_silence_of_the_probe_counts_as_a_gap() -> None:
    fold = at_work()
    fold.feed(mark(1000, "down"))
    tool(fold, 1000, 3000)
    judged = one(fold.feed(mark(9000, "lift")), "place_judged").body
    assert judged["reason"] == "no reading from the tool for 7 s"


def test_a_mark_is_dated_back_by_its_age_and_later_readings_do_not_count() -> None:
    fold = at_work()
    fold.feed(mark(1000, "down"))
    tool(fold, 1000, 5000, 70.0)
    tool(fold, 5000, 6000, 90.0)
    ended = one(fold.feed(mark(6000, "lift", age_ms=1100)), "contact_ended")
    assert ended.mono_ms == 4900
    assert ended.body["tool_high"] == "70.0"
    assert isinstance(fold.feed(mark(7000, "down", age_ms=2001))[-1], Refusal)


def test_undo_takes_back_the_contact_in_hand_then_the_one_before() -> None:
    fold = at_work()
    before = dump(fold.state)
    fold.feed(mark(1000, "down"))
    one(fold.feed(asked(1500, "undo_asked", step="s1")), "contact_voided")
    fold.feed(mark(2000, "down"))
    tool(fold, 2000, 4000)
    fold.feed(mark(4000, "lift"))
    places = fold.state.steps["s1"].places
    assert places is not None
    assert places.here == 2
    voided = one(fold.feed(asked(4500, "undo_asked", step="s1")), "contact_voided").body
    assert (voided["place"], voided["pass"]) == (1, 1)
    assert places.here == 1
    assert places.places == load(before).steps["s1"].places.places  # type: ignore[union-attr]
    assert isinstance(fold.feed(asked(4600, "undo_asked", step="s1"))[-1], Refusal)


def test_a_second_pass_adds_up_and_leaves_the_next_place_alone() -> None:
    fold = at_work()
    for down in (1000, 11_000):
        fold.feed(mark(down, "down"))
        tool(fold, down, down + 5000)
        fold.feed(mark(down + 5000, "lift"))
    fold.feed(mark(20_000, "down", place=1))
    tool(fold, 20_000, 22_000)
    assert one(fold.feed(mark(22_000, "lift")), "contact_ended").body["pass"] == 2
    places = fold.state.steps["s1"].places
    assert places is not None
    assert (places.here, places.places[0].passes, places.places[0].ms) == (3, 2, 7000)


def test_the_last_place_leaves_no_next_one() -> None:
    fold = at_work(places=1)
    fold.feed(mark(1000, "down"))
    fold.feed(mark(2000, "lift"))
    refusal = fold.feed(mark(3000, "down"))[-1]
    assert isinstance(refusal, Refusal)
    assert refusal.found == "place 2 of 1"


@pytest.mark.parametrize("what", ["lift", "sideways"])
def test_marks_that_make_no_sense_are_refused_and_change_nothing(what: str) -> None:
    fold = at_work()
    before = dump(fold.state)
    assert isinstance(fold.feed(mark(1000, what))[-1], Refusal)
    assert dump(fold.state) == before


def test_a_contact_at_an_interruption_is_not_known() -> None:
    fold = at_work()
    fold.feed(mark(1000, "down"))
    tool(fold, 1000, 3000)
    out = fold.feed(Break(100, 2, 2, OFFSET_MS + 10_000, 5000))
    assert one(out, "contact_ended").body["ended_by"] == "break"
    assert one(out, "place_judged").body["reason"].startswith("broken off")


def test_a_fault_is_named_two_seconds_after_it_began_and_its_end_is_told() -> None:
    fold = at_work()
    tool(fold, 200, 1000)
    out = tool(fold, 1000, 4000, None)
    fault = one(out, "probe_fault")
    assert (fault.mono_ms, fault.body["quality"], fault.body["from_mono_ms"]) == (3000, "open", 1000)
    assert one(tool(fold, 4000, 5000), "probe_restored").body["gap_ms"] == 3000


def test_a_probe_that_sends_nothing_is_stale_after_three_intervals() -> None:
    fold = at_work()
    tool(fold, 200, 1000)
    stale = [d for d in drafts(fold.pass_time(5000), "probe_stale") if d.body["channel"] == TOOL]
    assert [(d.mono_ms, d.body["last_mono_ms"]) for d in stale] == [(1401, 800)]


def test_a_set_down_dated_back_counts_what_was_read_since() -> None:
    marked_at_once, marked_late = at_work(), at_work()
    tool(marked_at_once, 200, 5000)
    marked_at_once.feed(mark(5000, "down"))
    tool(marked_at_once, 5000, 15_000)
    tool(marked_late, 200, 6000)
    marked_late.feed(mark(6000, "down", age_ms=1000))
    tool(marked_late, 6000, 15_000)
    prompt, late = (fold.feed(mark(15_000, "lift")) for fold in (marked_at_once, marked_late))
    assert one(late, "contact_ended").mono_ms == one(prompt, "contact_ended").mono_ms
    assert one(late, "contact_ended").body == one(prompt, "contact_ended").body
    assert one(late, "place_judged").body == one(prompt, "place_judged").body


def test_a_gap_between_set_down_and_its_mark_ends_the_estimate() -> None:
    fold = at_work()
    tool(fold, 200, 5000)
    tool(fold, 5000, 6000, None)
    fold.feed(mark(6000, "down", age_ms=1000))
    tool(fold, 6200, 8000)
    judged = one(fold.feed(mark(8000, "lift")), "place_judged").body
    assert judged["bond_line"] == []
    assert judged["reason"].startswith("no reading from the tool for")


def test_a_missing_reading_or_two_is_bridged_and_only_counted() -> None:
    fold = at_work()
    fold.feed(mark(1000, "down"))
    tool(fold, 1000, 4000)
    tool(fold, 4000, 4800, None)
    out = tool(fold, 4800, 8000)
    assert [o for o in out if isinstance(o, Estimate)]
    out = fold.feed(mark(8000, "lift"))
    assert one(out, "contact_ended").body["gaps"] == 4
    assert one(out, "place_judged").body["reason"] == "not yet tried on a mock-up"


def test_a_tool_below_its_limit_is_told_with_the_place() -> None:
    fold = at_work()
    fold.feed(mark(1000, "down"))
    tool(fold, 1000, 6000, 50.0)
    judged = one(fold.feed(mark(6000, "lift")), "place_judged").body
    assert judged["reason"] == "not yet tried on a mock-up; the tool was below 65 °C"


def test_one_tool_is_not_down_on_two_paintings_at_once() -> None:
    fold = at_work()
    fold.feed(start(300, sheet(limit(), places=True), step="s2", places=2, channels=(TOOL,)))
    fold.feed(mark(1000, "down"))
    other = asked(1500, "mark_asked", step="s2", mark="down", place=None, age_ms=0)
    refusal = fold.feed(other)[-1]
    assert isinstance(refusal, Refusal)
    assert refusal.found == "its spatula is down on s1, place 1"
    fold.feed(mark(2000, "lift"))
    assert one(fold.feed(asked(2500, "mark_asked", step="s2", mark="down", place=None, age_ms=0)), "contact_started")


def test_a_step_is_not_finished_with_the_tool_down() -> None:
    fold = at_work()
    fold.feed(mark(1000, "down"))
    refusal = fold.feed(asked(2000, "finish_asked", step="s1"))[-1]
    assert isinstance(refusal, Refusal)
    assert refusal.found == "the tool is on place 1"


def test_the_fan_spans_the_ranges_of_the_layers() -> None:
    def band(layers: object) -> tuple[float, float]:
        fold = running(
            sheet(limit(), places=True), interval_ms=200, places=2, channels=(TOOL, ROOM_C),
            sandwich={**SANDWICH, "layers": layers},
        )  # fmt: skip
        fold.feed(Reading(0, ROOM_C, 21.0))
        fold.feed(mark(1000, "down"))
        rows = [o for o in tool(fold, 1000, 11_000) if isinstance(o, Estimate) and o.depth == "bond_line"]
        return rows[-1].p05, rows[-1].p95

    thick = {"thickness_um": {"low": 300, "high": 800}, "conductivity_mw_mk": {"low": 50, "high": 120}}
    narrow, wide = band(SANDWICH["layers"]), band([{**x, "figures": thick} for x in SANDWICH["layers"]])
    assert wide[0] < narrow[0] - 1
    assert wide[1] > narrow[1] + 1
