"""The versioned JSON form of the fold's state, at most 64 kB."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from monitor.bench.alarms import AlarmState
from monitor.bench.judged import judged, windows_of
from monitor.bench.limits import again_ms
from monitor.bench.paced import PACED
from monitor.bench.past import PAST_BYTES, Past
from monitor.bench.sheets import Sheet
from monitor.bench.state import Alarm, Binding, Channel, Contact, Painting, Place, Places, State, Step

STATE_FORM = 1
STATE_BYTES, SPARE_BYTES, PLACE_BYTES = 64_000, 4_000, 160
PLAIN = ("boot", "boot_from_ms", "mono_ms", "input_ms", "segment", "offset_ms", "revision", "steps_ever")
LATER: dict[str, Any] = {"paced_ms": -1, "raised_ms": [], "flood_ms": None, "flood_count": 0}
"""What states kept by earlier versions lack, and what stands for it."""


def dump(state: State) -> str:
    """Write the state; sheets and sandwiches that several steps share stand in it once.

    Raises:
        ValueError: the form is larger than 64 kB; names its size and the count of steps.
    """
    shared: list[Any] = []
    body = {
        "form": STATE_FORM,
        **{name: getattr(state, name) for name in (*PLAIN, *LATER)},
        "channels": [asdict(c) for c in state.channels.values()],
        "paintings": [asdict(p) for p in state.paintings.values()],
        "steps": [_step_out(s, shared) for s in state.steps.values()],
        "alarms": [_alarm_out(a) for a in state.alarms.values()],
        "past": [[name, list(inputs), past.as_json()] for (name, inputs), past in state.past.items()],
        "shared": shared,
    }  # fmt: skip
    text = json.dumps(body, separators=(",", ":"), ensure_ascii=False, sort_keys=True)
    if len(text.encode()) > STATE_BYTES:
        raise ValueError(f"state of {len(state.steps)} steps is {len(text)} bytes; at most {STATE_BYTES} are kept")
    return text


def room_left(state: State) -> int:
    """Give how many bytes more the state may grow by, once every place of its steps has been worked."""
    unworked = sum(p.verdict is None for s in state.steps.values() if s.places for p in s.places.places)
    try:
        unlived = sum(
            max(0, PAST_BYTES - len(json.dumps(p.as_json(), separators=(",", ":")))) for p in state.past.values()
        )
        return STATE_BYTES - SPARE_BYTES - len(dump(state).encode()) - PLACE_BYTES * unworked - unlived
    except ValueError:
        return 0


def load(text: str) -> State:
    """Read what `dump` wrote; ValueError for another form."""
    body = json.loads(text)
    if body.get("form") != STATE_FORM:
        raise ValueError(f"state has form {body.get('form')!r}, this version reads form {STATE_FORM}")
    state = State(**{name: body[name] for name in PLAIN}, **{name: body.get(name, x) for name, x in LATER.items()})
    state.channels = {c["name"]: Channel(**c) for c in body["channels"]}
    state.paintings = {p["number"]: Painting(**p) for p in body["paintings"]}
    for raw in body["steps"]:
        step = _step_in(raw, body["shared"])
        state.steps[step.id] = step
    for raw in body["alarms"]:
        alarm = _alarm_in(raw, state, state.steps[raw["step"]])
        state.alarms[alarm.key] = alarm
    state.past = {(name, tuple(inputs)): Past.from_json(raw) for name, inputs, raw in body.get("past", [])}
    return state


def _share(value: Any, shared: list[Any]) -> int | None:  # noqa: ANN401
    if value is None:
        return None
    if value not in shared:
        shared.append(value)
    return shared.index(value)


def _step_out(step: Step, shared: list[Any]) -> dict[str, Any]:
    return {
        "id": step.id, "sheet": _share(step.sheet.as_json(), shared), "painting": step.painting,
        "bench": step.bench, "stage": step.stage, "started_ms": step.started_ms, "by": step.by,
        "bindings": [asdict(b) for b in step.bindings], "revision": step.revision,
        "changed": step.changed, "stage_ms": step.stage_ms,
        "answers": step.answers, "places": asdict(step.places) if step.places else None,
        "sandwich": _share(step.sandwich, shared),
    }  # fmt: skip


def _step_in(raw: dict[str, Any], shared: list[Any]) -> Step:
    return Step(
        **{
            **raw,
            "sheet": Sheet.from_json(shared[raw["sheet"]]),
            "bindings": [Binding(**b) for b in raw["bindings"]],
            "places": _places_in(raw["places"]) if raw["places"] else None,
            "sandwich": None if raw["sandwich"] is None else shared[raw["sandwich"]],
        }
    )


def _places_in(raw: dict[str, Any]) -> Places:
    contact = Contact(**raw["contact"]) if raw["contact"] else None
    last = [Place(**item) if isinstance(item, dict) else item for item in raw["last"]]
    return Places(**{**raw, "places": [Place(**p) for p in raw["places"]], "contact": contact, "last": last})


def _alarm_out(alarm: Alarm) -> dict[str, Any]:
    derived: dict[str, Any] = {}
    if (
        alarm.inputs and alarm.limit.quantity not in PACED
    ):  # of its own name: what is computed from what follows from the step
        derived = {"judged_ms": alarm.judged_ms, "windows": [[w.active, w.since, w.before] for w in alarm.windows]}
    return {
        "step": alarm.step, "limit": alarm.limit.key, "channel": alarm.channel,
        "windows": [[w.active, w.since] for w in alarm.windows], "state": alarm.state.value,
        "level": alarm.level, "since_ms": alarm.since_ms, "value": alarm.value,
        "shelved_until_ms": alarm.shelved_until_ms, "off_by": alarm.off_by, **derived, **_seldom(alarm),
    }  # fmt: skip


def _seldom(alarm: Alarm) -> dict[str, Any]:
    """Give what few warnings have; states kept by earlier versions lack it."""
    seen_ms = alarm.seen_ms if again_ms(alarm) is not None else None
    had = {"seen_ms": seen_ms, "once": alarm.once, "came_ms": alarm.came_ms, "chatters": alarm.chatters,
           "quiet_ms": alarm.quiet_ms, "minutes": alarm.minutes}  # fmt: skip
    return {name: value for name, value in had.items() if value not in (None, False, [])}


def _alarm_in(raw: dict[str, Any], state: State, step: Step) -> Alarm:
    limit = step.sheet.limits[raw["limit"]]
    windows = windows_of(limit, raw["channel"])
    for window, kept in zip(windows, raw["windows"], strict=True):
        window.active, window.since, window.before = (*kept, None)[:3]
    given = judged(state, step, limit)
    inputs = next((source.inputs for source in given if source.channel == raw["channel"]), ())
    return Alarm(
        **{**raw, "limit": limit, "windows": windows, "state": AlarmState(raw["state"]), "inputs": inputs}
    )  # fmt: skip
