"""What the right-hand sheet says of a step: a sentence, why, facts, the one large control, cautions."""

from __future__ import annotations

from monitor.bench.alarms import SHOWN
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.bench.readings import Quality
from monitor.bench.sheets import PRIORITIES
from monitor.bench.state import Alarm, Channel, Place, Places, State, Step
from monitor.link.view import ControlView, SayView
from monitor.station.computed_told import computed_facts
from monitor.station.words import STALE, fault_words, figure, probe_of, sentence, span

NOTHING: ControlView = {"words": "", "do": "", "body": {}, "calls": False}
NO_MOCK_UP = "Estimated through the layers you gave, not yet tried on a mock-up: a band, and no verdict."
NO_ESTIMATE = "No estimate for this contact: readings of the tool or the room were missing."
NO_LAYERS = "No layers were given for this step, so nothing is estimated at the adhesive or the face."


def say(state: State, step: Step) -> SayView:
    """Say what to do next in a running step."""
    what, why = _what(state, step)
    return {
        "sentence": what,
        "why": why,
        "facts": _facts(state, step),
        "control": _control(step, calls=_contact(step) or not outside(state, step)),
        "cautions": [*step.sheet.cautions, *_beware(state, step)],
    }


def estimate_note(state: State, step: Step) -> str:
    """Say what the estimate of the contact in hand rests on, or why there is none; "" without a contact."""
    if not _contact(step):
        return ""
    if step.sandwich is None:
        return NO_LAYERS
    return NO_MOCK_UP if step.id in state.estimators else NO_ESTIMATE


def next_stage(step: Step) -> tuple[str, str] | None:
    """Give key and title of the stage after the present one, None after the last."""
    keys = [stage.key for stage in step.sheet.stages]
    index = keys.index(step.stage) + 1
    return (keys[index], step.sheet.stages[index].title) if index < len(keys) else None


def sick(state: State, step: Step) -> list[Channel]:
    """List the step's channels that give no reading now."""
    bound = [state.channels[c] for b in step.bindings for c in b.channels if c in state.channels]
    return [c for c in bound if c.fault or c.stale]


def quality_word(channel: Channel) -> str:
    """Give the word for why a channel gives nothing, or its last quality."""
    return STALE if channel.stale else Quality(channel.quality).word


def _what(state: State, step: Step) -> tuple[str, str]:
    faulty = sick(state, step)
    if faulty:
        words, do = fault_words(quality_word(faulty[0]))
        unknown = " What happens on this place meanwhile is not known." if _contact(step) else ""
        return f"{sentence(probe_of(faulty[0].name))} {words}.", do + unknown
    stage = step.stage_now()
    beyond = outside(state, step)
    if beyond and step.painting is not None:
        return _stop_first(step, beyond[0])
    if stage.has_contacts and step.places is not None:
        return _on_places(step.places)
    if step.painting is None:
        return _inside_or_outside(state, step)
    return stage.sentence or f"{stage.title}.", _where(state, step)


def outside(state: State, step: Step) -> list[Alarm]:
    """List the step's limits that are passed now, the most severe first."""
    standing = [a for a in state.alarms.values() if a.step == step.id and a.level >= 0 and a.state in SHOWN]
    return sorted(standing, key=lambda a: -PRIORITIES.index(a.limit.levels[a.level].priority))


def _stop_first(step: Step, alarm: Alarm) -> tuple[str, str]:
    """Say what is outside and what to do, before anything else is proposed."""
    limit = alarm.limit
    unread = "not known" if alarm.inputs else "not read"
    now = figure(limit.quantity, alarm.value) if alarm.value is not None else unread
    bound = "at most" if limit.side == "high" else "at least"
    at = figure(limit.quantity, limit.levels[alarm.level].at)
    verb = "Lift" if _contact(step) and limit.quantity == "tool_temperature" else "Wait"
    return f"{verb}: {QUANTITIES[limit.quantity].words} {now}, {at} {bound}.", limit.what_to_do


def _on_places(places: Places) -> tuple[str, str]:
    contact = places.contact
    if contact is not None:
        return (
            f"The tool is on place {contact.place}.",
            f"Lift it when your hold is over and mark it: {_pass(places)}.",
        )
    if places.here > len(places.places):
        return (
            f"Every place of side {places.side} has been worked.",
            "A cold weight on the last one at once. Then look at the places, and begin the next stage.",
        )
    last = places.last[0] if places.last else None
    if last is None:
        return f"Set the tool down on place {places.here}.", "Mark it as it touches."
    why = f"A cold weight on place {last} at once, if it has none. {_told(last, places.places[last - 1])}"
    return f"Set the tool down on place {places.here}.", why


def _pass(places: Places) -> str:
    contact = places.contact
    assert contact is not None
    return f"side {places.side}, place {contact.place} of {len(places.places)}, pass {contact.pass_no}"


def _told(number: int, place: Place) -> str:
    return f"Place {number}: {place.verdict}, {place.reason}." if place.verdict else ""


def _inside_or_outside(state: State, step: Step) -> tuple[str, str]:
    standing = [a for a in state.alarms.values() if a.step == step.id and a.level >= 0]
    if standing:
        return "Outside what you set.", "; ".join(sorted({a.limit.words for a in standing})) + "."
    known = any(c.value is not None for c in _channels(state, step))
    return ("Inside what you set.", "") if known else ("Nothing has been read yet.", "")


def _where(state: State, step: Step) -> str:
    painting = state.paintings.get(step.painting or "")
    return f"{painting.name}, {step.bench}" if painting else step.bench


def _channels(state: State, step: Step) -> list[Channel]:
    return [state.channels[c] for b in step.bindings for c in b.channels if c in state.channels]


def _facts(state: State, step: Step) -> list[list[str]]:
    facts: list[list[str]] = []
    places = step.places
    if places is not None:
        worked = sum(1 for place in places.places if place.passes)
        facts.append(["worked", f"{worked} of {len(places.places)} places"])
        if places.last and not places.contact:
            place = places.places[places.last[0] - 1]
            heat = "" if place.low is None or place.high is None else f", tool {place.low:.0f} to {place.high:.0f} °C"
            facts.append([f"place {places.last[0]}", f"{span(place.ms)}{heat}"])
    for binding in step.bindings:
        now = [
            figure(split_channel(c.name)[1], c.value) if c.value is not None else quality_word(c)
            for name in binding.channels
            if (c := state.channels.get(name)) is not None
        ]
        told = ", ".join(dict.fromkeys(now)) or "no such probe"
        facts.append([binding.role, f"{told}; {binding.touches}"])
    return facts + computed_facts(state, step)


def _contact(step: Step) -> bool:
    return step.places is not None and step.places.contact is not None


def _control(step: Step, *, calls: bool) -> ControlView:
    places = step.places
    if step.stage_now().has_contacts and places is not None:
        if places.contact is not None:
            return {"words": "Mark: lifted", "do": "mark", "body": {"step": step.id, "mark": "lift"}, "calls": calls}
        if places.here <= len(places.places):
            words = f"Mark: tool down on place {places.here}"
            return {"words": words, "do": "mark", "body": {"step": step.id, "mark": "down"}, "calls": calls}
    following = next_stage(step)
    if following is not None:
        return {
            "words": f"Next: {following[1]}",
            "do": "next_stage",
            "body": {"step": step.id, "stage": following[0]},
            "calls": calls,
        }
    if step.painting is None:
        return NOTHING
    return {"words": "Finish this step", "do": "finish_step", "body": {"step": step.id}, "calls": calls}


def _beware(state: State, step: Step) -> list[str]:
    painting = state.paintings.get(step.painting or "")
    return [f"{painting.name}: {text}." for text in painting.beware] if painting else []
