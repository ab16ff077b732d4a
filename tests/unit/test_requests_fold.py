"""Requests in the fold: what is refused changes nothing, and every refusal says what to do."""

from __future__ import annotations

from typing import Any

import pytest

from monitor.bench.inputs import Asked
from monitor.bench.kinds import KINDS
from monitor.bench.outputs import Refusal
from monitor.bench.readings import Reading
from monitor.bench.requests import HANDLERS
from monitor.bench.state_json import dump
from monitor.bench.ticking import Fold
from tests.support.folds import TOOL, asked, drafts, limit, running, sheet, start

BOUND: dict[str, Any] = {"role": "tool", "probe": "x", "touches": "", "channels": []}


def painting(number: str = "26-01", name: str = "Quay with nets") -> Asked:
    return asked(0, "painting_asked", number=number, name=name, support="linen", beware=["glue-sized linen"])


def refused(fold: Fold, item: Asked) -> Refusal:
    before = dump(fold.state)
    out = fold.feed(item)
    assert isinstance(out[-1], Refusal)
    assert not drafts(out)
    assert dump(fold.state) == before
    return out[-1]


def test_every_input_kind_but_the_segment_has_a_handler() -> None:
    inputs = {k.key for k in KINDS.values() if k.role == "input"}
    assert inputs - {"segment_started"} == set(HANDLERS)


def test_a_request_stands_in_the_day_book_before_its_effects() -> None:
    fold = running(sheet(limit()))
    assert [d.kind for d in drafts(fold.feed(painting()))] == ["painting_asked", "painting_added"]


def test_a_step_needs_its_painting_in_hand() -> None:
    fold = running(sheet(limit()))
    wants = start(0, sheet(limit(), painting=True), step="s2", painting="26-01")
    assert "not in hand" in refused(fold, wants).found
    fold.feed(painting())
    assert [d.kind for d in drafts(fold.feed(wants))] == ["step_asked", "step_started", "binding_started"]
    assert "already in hand" in refused(fold, painting()).found


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"step": "s7"}, "taken or skips"),
        ({"bindings": []}, "no probe serves it"),
        ({"bindings": [BOUND]}, "does not give"),
        ({"bindings": [{**BOUND, "channels": ["x.tool_temperature"]}]}, "no channel"),
        ({"painting": "26-01"}, "watch of the room"),
        ({"places": 3}, "3 places"),
        ({"side": 3}, "expected str?"),
        ({"extra": 1}, "extra"),
    ],
)  # fmt: skip
def test_a_step_that_cannot_start(changes: dict[str, Any], says: str) -> None:
    fold = running(sheet(limit()))
    item = start(0, sheet(limit()), step="s2")
    assert says in refused(fold, Asked(0, item.kind, item.by, item.via, {**item.body, **changes})).found


def test_a_sheet_with_places_needs_their_number() -> None:
    fold = running(sheet(limit()))
    assert "0 places" in refused(fold, start(0, sheet(limit(), places=True), step="s2", places=0)).found


def test_a_conflict_says_who_changed_what() -> None:
    fold = running(sheet(limit()))
    fold.feed(asked(0, "stage_asked", by="TR", step="s1", stage="rest"))
    conflict = refused(fold, asked(10, "finish_asked", expects=1, step="s1"))
    assert conflict.conflict
    assert "TR changed it meanwhile (stage)" in conflict.found


def test_finishing_puts_standing_warnings_off_and_frees_the_probes() -> None:
    fold = running(sheet(limit(on_delay_ms=0)))
    fold.feed(Reading(1000, TOOL, 80.0))
    out = fold.feed(asked(2500, "finish_asked", step="s1"))
    assert [d.kind for d in drafts(out)] == ["finish_asked", "alarm_suppressed", "binding_ended", "step_finished"]
    assert drafts(out, "step_finished")[0].body["seconds"] == 2
    assert not fold.state.alarms
    fold.feed(Reading(3000, TOOL, 80.0))


@pytest.mark.parametrize(
    "item",
    [
        asked(0, "finish_asked", step="s9"),
        asked(0, "stage_asked", step="s1", stage="nowhere"),
        asked(0, "stage_asked", step="s1", stage="work"),
        asked(0, "mark_asked", step="s1", mark="down", place=None, age_ms=0),
        asked(0, "undo_asked", step="s1"),
        asked(0, "note_asked", step=None, text="  "),
        asked(0, "note_asked", step="s9", text="words"),
        asked(0, "see_asked", step="s1", limit="hot", channel=TOOL),
        asked(0, "see_asked", step="s1", limit="cold", channel=TOOL),
        asked(0, "shelve_asked", step="s1", limit="hot", channel=TOOL, for_s=60, reason=" "),
        asked(0, "shelve_asked", step="s1", limit="hot", channel=TOOL, for_s=0, reason="noise"),
        asked(0, "unshelve_asked", step="s1", limit="hot", channel=TOOL),
        asked(0, "release_asked", step="s1", limit="hot", channel=TOOL),
        asked(0, "reset_asked", step="s1", limit="hot", channel=TOOL),
        asked(0, "dance_asked"),
        asked(0, "painting_asked", number="", name="x", support="", beware=[]),
    ],
    ids=lambda item: f"{item.kind} {item.body}",
)
def test_what_cannot_be_done_is_refused_with_what_to_do(item: Asked) -> None:
    refusal = refused(running(sheet(limit())), item)
    assert refusal.thing
    assert refusal.found
    assert refusal.expected
    assert refusal.do


def test_a_warning_out_of_use_stays_silent_until_released() -> None:
    fold = running(sheet(limit(on_delay_ms=0)))
    key = {"step": "s1", "limit": "hot", "channel": TOOL}
    fold.feed(asked(0, "out_of_service_asked", **key, reason="lead at repair"))
    assert not drafts(fold.feed(Reading(1000, TOOL, 80.0)))
    kinds = [d.kind for d in drafts(fold.feed(asked(1500, "release_asked", **key)))]
    assert kinds == ["release_asked", "alarm_released", "alarm_raised"]


def test_a_painting_is_handed_back_once_no_step_runs_on_it() -> None:
    fold = running(sheet(limit()))
    fold.feed(painting())
    fold.feed(start(0, sheet(limit(), painting=True), step="s2", painting="26-01"))
    back = asked(0, "hand_back_asked", number="26-01")
    assert refused(fold, back).found == "s2 still runs on it"
    fold.feed(asked(0, "finish_asked", step="s2"))
    assert [d.kind for d in drafts(fold.feed(back))] == ["hand_back_asked", "painting_handed_back"]
    assert "not in hand" in refused(fold, back).found


def test_no_more_paintings_than_the_state_can_hold() -> None:
    fold = running(sheet(limit()))
    long = "beside the window, " * 24
    for n in range(400):
        if isinstance(fold.feed(painting(f"{n:03}", long))[-1], Refusal):
            break
    assert "paintings are in hand" in refused(fold, painting("27-01", long)).found
    assert 60 < len(fold.state.paintings) < 200
    assert len(dump(fold.state).encode()) <= 64_000


def test_a_painting_is_described_in_few_words() -> None:
    fold = running(sheet(limit()))
    assert "characters about it" in refused(fold, painting("27-01", "x" * 600)).found


def test_no_more_steps_than_the_state_can_hold() -> None:
    """Every place is worked afterwards, and the state can still be kept."""
    fold = running(sheet(limit()))
    made = 1
    while made < 200:
        item = start(0, sheet(limit(), places=True), step=f"s{made + 1}", places=60)
        if isinstance(fold.feed(item)[-1], Refusal):
            break
        made += 1
    assert 3 < made < 10
    now = 0
    for step in list(fold.state.steps.values())[1:]:
        for _ in step.places.places if step.places else []:
            for what in ("down", "lift"):
                now += 10
                fold.feed(asked(now, "mark_asked", step=step.id, mark=what, place=None, age_ms=0))
    assert len(dump(fold.state).encode()) <= 64_000
