"""A step's start and end, and the settings all steps rest on."""

from __future__ import annotations

from typing import Any

from monitor.bench import moves
from monitor.bench.alarms import AlarmState, Happening
from monitor.bench.events import canonical
from monitor.bench.inputs import Asked
from monitor.bench.judged import alarms_of, judged_at, lacking
from monitor.bench.outputs import Draft, Output, Refusal
from monitor.bench.pace import Served
from monitor.bench.past import PAST_BYTES
from monitor.bench.sheets import Sheet
from monitor.bench.state import STALE_INTERVALS, Binding, Channel, Place, Places, State, Step
from monitor.bench.state_json import PLACE_BYTES, room_left
from monitor.bench.windowed import WINDOWS

PLACES_AT_MOST = 60
LIMIT_BYTES = 300
"""What a limit's warnings take of the kept state."""


def settings_in_force(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    """Take the channels, intervals and benches that hold from here on; what was read stays known."""
    del out
    kept = state.channels
    state.channels = {}
    for raw in item.body["channels"]:
        name = raw["channel"]
        channel = kept.get(name) or Channel(name, 0, "")
        channel.stale_after_ms = raw.get("stale_after_ms", STALE_INTERVALS * raw["interval_ms"])
        channel.bench = raw["bench"]
        state.channels[name] = channel
    return None


def start_step(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    """Start a step with its sheet, its limits and its probes."""
    body = item.body
    sheet = Sheet.from_json(body["sheet"])
    bindings = [Binding(b["role"], b["probe"], b["touches"], list(b["channels"])) for b in body["bindings"]]
    at = Served(sheet, bindings, body["bench"], body["step"], state.channels)
    wrong = (
        _too_much(state, item, at)
        or _wrong_start(state, item, sheet)
        or _wrong_answers(body, sheet)
        or _wrong_bindings(state, at)
    )
    if wrong is not None:
        return wrong
    step = Step(
        body["step"], sheet, body["painting"], body["bench"], sheet.stages[0].key, item.mono_ms, item.by, bindings,
        stage_ms=item.mono_ms, changed=[item.by, "step"], sandwich=body["sandwich"],
        answers=[[answer["text"], answer["answer"]] for answer in body["answers"]],
    )  # fmt: skip
    if sheet.has_places:
        step.places = Places(body["side"], 1, [Place() for _ in range(body["places"])])
    state.steps[step.id] = step
    state.steps_ever += 1
    state.alarms.update({alarm.key: alarm for alarm in alarms_of(state, step)})
    _write_start(step, item, out)
    return None


def _write_start(step: Step, item: Asked, out: list[Output]) -> None:
    body = {
        "sheet": step.sheet.key, "title": step.sheet.title, "painting": step.painting, "stage": step.stage,
        "side": item.body["side"], "places": item.body["places"],
    }  # fmt: skip
    out.append(Draft("step_started", item.mono_ms, body, step.id, step.bench, item.by, item.via))
    for b in step.bindings:
        bound = {"role": b.role, "probe": b.probe, "touches": b.touches, "channels": b.channels}
        out.append(Draft("binding_started", item.mono_ms, bound, step.id, step.bench, item.by, item.via))


def _too_much(state: State, item: Asked, at: Served) -> Refusal | None:
    """Refuse a step that the kept state could not hold."""
    grows = len(canonical(item.body["bindings"]))
    judged = [(limit, judged_at(limit, at)) for limit in at.sheet.limits.values()]
    grows += sum(LIMIT_BYTES * max(len(sources), 1) for _, sources in judged)
    grows += sum(PAST_BYTES * len(sources) for limit, sources in judged if limit.quantity in WINDOWS)
    grows += PLACE_BYTES * (item.body["places"] or 0)
    shared = [step.sheet.as_json() for step in state.steps.values()]
    if item.body["sheet"] not in shared:
        grows += len(canonical(item.body["sheet"]).encode())
    if item.body["sandwich"] not in [step.sandwich for step in state.steps.values()]:
        grows += len(canonical(item.body["sandwich"]).encode())
    if grows <= room_left(state):
        return None
    found = f"{len(state.steps)} steps run already"
    return Refusal(f"step {item.body['step']}", found, "fewer steps or places at once", "Finish a step first.")


def _wrong_start(state: State, item: Asked, sheet: Sheet) -> Refusal | None:
    body, thing = item.body, f"step {item.body['step']}"
    if body["step"] != f"s{state.steps_ever + 1}":
        return Refusal(thing, "its number is taken or skips one", f"s{state.steps_ever + 1}", "Ask again.", True)
    if sheet.asks_painting and body["painting"] not in state.paintings:
        known = ", ".join(state.paintings) or "none yet"
        return Refusal(thing, f"painting {body['painting']!r} is not in hand", known, "Enter the painting first.")
    if not sheet.asks_painting and body["painting"] is not None:
        return Refusal(thing, f"painting {body['painting']!r} for a watch of the room", "none", "Leave it out.")
    if sheet.has_places:
        count = body["places"]
        if not body["side"] or count is None or not 1 <= count <= PLACES_AT_MOST:
            found = f"side {body['side']!r} with {count} places"
            return Refusal(thing, found, f"a side with 1 to {PLACES_AT_MOST} places", "Name the side and count them.")
    elif body["places"] is not None:
        return Refusal(thing, f"{body['places']} places", "a sheet that has places", "Leave them out.")
    return None


def _wrong_answers(body: dict[str, Any], sheet: Sheet) -> Refusal | None:
    given = {answer["key"]: answer["answer"].strip() for answer in body["answers"]}
    for question in sheet.asks:
        answer = given.pop(question.key, "")
        if not answer:
            return Refusal(question.text, "no answer", "an answer", "Answer it before the step is started.")
        if question.choices and answer not in question.choices:
            return Refusal(question.text, repr(answer), "; ".join(question.choices), "Choose one of these.")
    if given:
        return Refusal("answers", f"to {', '.join(given)}", "answers to what the sheet asks", "Leave them out.")
    return None


def _wrong_bindings(state: State, at: Served) -> Refusal | None:
    sheet, bindings = at.sheet, at.bindings
    for role, quantities in sheet.roles.items():
        bound = [b for b in bindings if b.role == role]
        if not bound:
            return Refusal(f"role {role}", "no probe serves it", f"a probe of {', '.join(quantities)}", "Choose one.")
        given = {c.rpartition(".")[2] for b in bound for c in b.channels}
        missing = [q for q in quantities if q not in given]
        if missing:
            probes = ", ".join(b.probe for b in bound)
            return Refusal(f"role {role}", f"{probes} does not give {', '.join(missing)}", "a probe that does",
                           "Choose another.")  # fmt: skip
    for b in bindings:
        if b.role not in sheet.roles:
            return Refusal(f"role {b.role}", "the sheet has no such role", ", ".join(sheet.roles), "Leave it out.")
        for channel in b.channels:
            if channel not in state.channels:
                return Refusal(f"probe {b.probe}", f"no channel {channel}", ", ".join(state.channels), "Choose one.")
    for key, limit in sorted(sheet.limits.items()):
        missed = lacking(limit, at)
        if missed is not None:
            return Refusal(f"limit {key}", *missed, "Choose other probes, or mend the sheet.")
    return None


def finish_step(state: State, step: Step, item: Asked, out: list[Output]) -> None:
    """End a step: put its warnings off, release its probes."""
    for alarm in [a for a in state.alarms.values() if a.step == step.id]:
        if alarm.state not in (AlarmState.NORMAL, AlarmState.SUPPRESSED):
            reason: dict[str, Any] = {"reason": "step finished"}
            moves.befall(state, alarm, Happening.SUPPRESS, "alarm_suppressed", item.mono_ms, reason, out,
                          item.by, item.via)  # fmt: skip
        del state.alarms[alarm.key]
    for b in step.bindings:
        body = {"role": b.role, "probe": b.probe}
        out.append(Draft("binding_ended", item.mono_ms, body, step.id, step.bench, item.by, item.via))
    seconds = (item.mono_ms - step.started_ms) // 1000
    finished = {"sheet": step.sheet.key, "seconds": seconds}
    out.append(Draft("step_finished", item.mono_ms, finished, step.id, step.bench, item.by, item.via))
    del state.steps[step.id]
