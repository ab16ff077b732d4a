"""What people ask of the fold: each request is checked whole, then takes effect whole."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from monitor.bench import contacts, moves
from monitor.bench.alarms import CAN_BE_SEEN, Happening
from monitor.bench.events import canonical
from monitor.bench.inputs import Asked
from monitor.bench.kinds import check_body
from monitor.bench.limits import count_anew
from monitor.bench.outputs import Draft, Output, Refusal
from monitor.bench.past_given import KIND, past_measured
from monitor.bench.state import Alarm, Painting, State, Step
from monitor.bench.state_json import room_left
from monitor.bench.steps import finish_step, settings_in_force, start_step

Handler = Callable[[State, Asked, list[Output]], Refusal | None]


def ask(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    """Let a request act; a Refusal means that nothing has changed."""
    handler = HANDLERS.get(item.kind)
    if handler is None:
        return Refusal("request", f"unknown kind {item.kind!r}", "a kind of this version", "Look it up in the docs.")
    try:
        check_body(item.kind, item.body)
    except ValueError as error:
        return Refusal("request", str(error), "its registered form", "Send it in that form.")
    return handler(state, item, out)


def _step_of(state: State, item: Asked) -> Step | Refusal:
    step = state.steps.get(item.body["step"])
    if step is None:
        running = ", ".join(state.steps) or "none"
        return Refusal(
            f"step {item.body['step']}", "it does not run", f"a running step ({running})", "Start it first."
        )
    if item.expects is not None and item.expects != step.revision:
        who, what = (step.changed or [None, "it"])[:2]
        found = f"{who or 'the station'} changed it meanwhile ({what})"
        return Refusal(f"step {step.id}", found, f"revision {item.expects}", "Look again and repeat.", conflict=True)
    return step


def _touch(step: Step, item: Asked) -> None:
    step.revision += 1
    step.changed = [item.by, item.kind.removesuffix("_asked")]


def _painting(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    body = item.body
    if not body["number"].strip() or not body["name"].strip():
        return Refusal("painting", "no number or no name", "both", "Give the painting a number and a name.")
    if body["number"] in state.paintings:
        there = state.paintings[body["number"]].name
        return Refusal(f"painting {body['number']}", f"already in hand ({there})", "a new number", "Choose another.")
    if len(canonical(body)) > PAINTING_AT_MOST:
        found = f"{len(canonical(body))} characters about it"
        return Refusal("painting", found, f"at most {PAINTING_AT_MOST}", "Say it shorter; the rest goes into a note.")
    if len(canonical(body).encode()) > room_left(state):
        found = f"{len(state.paintings)} paintings are in hand and {len(state.steps)} steps run"
        return Refusal("painting", found, "fewer at once", "Hand a painting back, or finish a step.")
    state.paintings[body["number"]] = Painting(body["number"], body["name"], body["support"], list(body["beware"]))
    out.append(Draft("painting_added", item.mono_ms, dict(body), by=item.by, via=item.via))
    return None


def _hand_back(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    number = item.body["number"]
    painting = state.paintings.get(number)
    if painting is None:
        known = ", ".join(state.paintings) or "none"
        return Refusal(f"painting {number}", "it is not in hand", known, "Name one of these.")
    running = [step.id for step in state.steps.values() if step.painting == number]
    if running:
        found = f"{', '.join(running)} still runs on it"
        return Refusal(f"painting {number}", found, "no running step", "Finish it first.")
    del state.paintings[number]
    body = {"number": number, "name": painting.name}
    out.append(Draft("painting_handed_back", item.mono_ms, body, by=item.by, via=item.via))
    return None


def _finish(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    step = _step_of(state, item)
    if isinstance(step, Refusal):
        return step
    if step.places and step.places.contact:
        place = step.places.contact.place
        return Refusal(f"step {step.id}", f"the tool is on place {place}", "the tool lifted", "Mark it lifted first.")
    finish_step(state, step, item, out)
    return None


def _stage(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    step = _step_of(state, item)
    if isinstance(step, Refusal):
        return step
    keys = [stage.key for stage in step.sheet.stages]
    if item.body["stage"] not in keys or item.body["stage"] == step.stage:
        found = f"stage {item.body['stage']!r} asked for while {step.stage!r} runs"
        return Refusal(f"step {step.id}", found, f"another one of {', '.join(keys)}", "Choose one of these.")
    if step.places and step.places.contact:
        place = step.places.contact.place
        return Refusal(f"step {step.id}", f"the tool is on place {place}", "the tool lifted", "Mark it lifted first.")
    step.stage, step.stage_ms = item.body["stage"], item.mono_ms
    _touch(step, item)
    body = {"stage": step.stage, "title": step.stage_now().title}
    out.append(Draft("stage_started", item.mono_ms, body, step.id, step.bench, item.by, item.via))
    count_anew(state, step, item.mono_ms, out)
    moves.stage_changed(state, step, item.mono_ms, out, item.by, item.via)
    return None


def _mark(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    step = _step_of(state, item)
    if isinstance(step, Refusal):
        return step
    places, thing = step.places, f"step {step.id}"
    if places is None or not step.stage_now().has_contacts:
        return Refusal(
            thing, f"no places during {step.stage_now().title}", "a stage with places", "Begin that stage."
        )
    if not 0 <= item.age_ms <= contacts.RECENT_MS:
        found = f"a mark {item.age_ms} ms old"
        return Refusal(thing, found, f"at most {contacts.RECENT_MS} ms", "Mark again.")
    # A mark is dated back by its age, but never into another contact, stage or boot.
    at = max(item.mono_ms - item.age_ms, places.lifted_ms, step.stage_ms, state.boot_from_ms)
    if item.body["mark"] == "down":
        return _down(state, step, at, item, out)
    if item.body["mark"] != "lift" or places.contact is None:
        found = f"mark {item.body['mark']!r} with no tool on a place"
        return Refusal(thing, found, "'down', or 'lift' after it", "Mark the tool down first.")
    contacts.end(state, step, max(at, places.contact.started_ms), "mark", item.by, item.via, out)
    _touch(step, item)
    return None


def _down(state: State, step: Step, at: int, item: Asked, out: list[Output]) -> Refusal | None:
    places = step.places
    assert places is not None
    place = places.here if item.body["place"] is None else item.body["place"]
    if places.contact is not None:
        found = f"the tool is on place {places.contact.place} already"
        return Refusal(f"step {step.id}", found, "the tool lifted", "Mark it lifted first.")
    if not 1 <= place <= len(places.places):
        found = f"place {place} of {len(places.places)}"
        return Refusal(f"step {step.id}", found, "a place of this side", "Name a place for a second pass, or finish.")
    other = contacts.elsewhere(state, step)
    if other is not None:
        found = f"its spatula is down on {other.painting or other.id}, place {_place_of(other)}"
        return Refusal(f"step {step.id}", found, "a tool that is free", "Mark it lifted there first.")
    out.append(contacts.begin(state, step, place, at, item.by, item.via))
    _touch(step, item)
    return None


def _place_of(step: Step) -> int | None:
    return step.places.contact.place if step.places and step.places.contact else None


def _undo(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    step = _step_of(state, item)
    if isinstance(step, Refusal):
        return step
    voided = contacts.take_back(state, step, item.mono_ms, item.by, item.via)
    if voided is None:
        return Refusal(f"step {step.id}", "no mark to take back", "a mark before it", "Write a note instead.")
    out.append(voided)
    _touch(step, item)
    return None


def _note(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    step_id, text = item.body["step"], item.body["text"]
    step = state.steps.get(step_id) if step_id is not None else None
    if step_id is not None and step is None:
        return Refusal(f"step {step_id}", "it does not run", "a running step, or none", "Write it without a step.")
    if not text.strip():
        return Refusal("note", "it is empty", "some words", "Write what you saw.")
    bench = step.bench if step else None
    out.append(Draft("note_written", item.mono_ms, {"text": text}, step_id, bench, item.by, item.via))
    return None


def _alarm_of(state: State, item: Asked) -> Alarm | Refusal:
    key = (item.body["step"], item.body["limit"], item.body["channel"])
    alarm = state.alarms.get(key)
    if alarm is None:
        return Refusal(f"warning {' '.join(key)}", "there is none", "a warning of a running step", "Look again.")
    return alarm


def _see(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    alarm = _alarm_of(state, item)
    if isinstance(alarm, Refusal):
        return alarm
    if alarm.state not in CAN_BE_SEEN:
        found = f"it is {alarm.state.value.replace('_', ' ')}"
        return Refusal(f"warning {alarm.limit.key}", found, "a warning not yet seen", "Nothing needs doing.")
    for like in moves.alike(state, alarm):
        if like.state in CAN_BE_SEEN:
            moves.befall(state, like, Happening.SEE, "alarm_seen", item.mono_ms, {}, out, item.by, item.via)
    return None


def _on_alarm(happening: Happening, kind: str, *fields: str) -> Handler:
    def handler(state: State, item: Asked, out: list[Output]) -> Refusal | None:
        alarm = _alarm_of(state, item)
        if isinstance(alarm, Refusal):
            return alarm
        body: dict[str, Any] = {name: item.body[name] for name in fields}
        if "reason" in body and not body["reason"].strip():
            return Refusal(f"warning {alarm.limit.key}", "no reason given", "a reason", "Say why.")
        wrong = _wrong_silence(alarm, body["for_s"]) if happening is Happening.SHELVE else None
        if wrong is not None:
            return wrong
        was = alarm.state.value.replace("_", " ")
        done = moves.befall(state, alarm, happening, kind, item.mono_ms, body, out, item.by, item.via)
        if not done:
            return Refusal(f"warning {alarm.limit.key}", f"it is {was}", f"a state that allows {kind}", "Look again.")
        for_s = body.get("for_s")
        alarm.shelved_until_ms, alarm.once = item.mono_ms + for_s * 1000 if for_s else None, for_s == 0
        if happening is Happening.SUPPRESS:
            alarm.off_by = moves.BY_REQUEST
        return None

    return handler


def _wrong_silence(alarm: Alarm, for_s: int) -> Refusal | None:
    thing = f"warning {alarm.limit.key}"
    if not 0 <= for_s <= SHELVED_AT_MOST_S:
        expected = f"1 to {SHELVED_AT_MOST_S} s, or 0 until it is over"
        return Refusal(thing, f"silent for {for_s} s", expected, "Choose a shorter time.")
    if for_s == 0 and alarm.level < 0:
        expected = "one that stands, to be silent until it is over"
        return Refusal(thing, "it is over already", expected, "Choose a time.")
    return None


PAINTING_AT_MOST = 600
SHELVED_AT_MOST_S = 8 * 3600

HANDLERS: dict[str, Handler] = {
    "settings_in_force": settings_in_force,
    "painting_asked": _painting,
    "hand_back_asked": _hand_back,
    "step_asked": start_step,
    "finish_asked": _finish,
    "stage_asked": _stage,
    "mark_asked": _mark,
    "undo_asked": _undo,
    "note_asked": _note,
    "see_asked": _see,
    "shelve_asked": _on_alarm(Happening.SHELVE, "alarm_shelved", "for_s", "reason"),
    "unshelve_asked": _on_alarm(Happening.UNSHELVE, "alarm_unshelved"),
    "suppress_asked": _on_alarm(Happening.SUPPRESS, "alarm_suppressed", "reason"),
    "out_of_service_asked": _on_alarm(Happening.REMOVE, "alarm_out_of_service", "reason"),
    "release_asked": _on_alarm(Happening.RELEASE, "alarm_released"),
    "reset_asked": _on_alarm(Happening.RESET, "alarm_reset"),
    KIND: past_measured,
}
