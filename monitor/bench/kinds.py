"""The registry of day-book kinds. A row whose kind is not listed here is refused."""

from __future__ import annotations

from typing import Any

from monitor.bench.events import Kind

_STEP = {"step": "str"}
_ALARM = {"step": "str", "limit": "str", "channel": "str"}
_CONTACT = {"side": "str", "place": "int", "pass": "int", "probe": "str"}

_ALL: tuple[Kind, ...] = (
    # inputs: fed again when the fold is recomputed
    Kind("segment_started", 1, "input",
         {"segment": "int", "offset_ms": "int?", "gap_ms": "int?", "reason": "str"},
         "A stretch of one clock begins; what was running before it is broken by the gap."),
    Kind("settings_in_force", 1, "input", {"engine": "int", "channels": "list"},
         "The channels, their intervals and benches that hold from here on."),
    Kind("painting_asked", 1, "input", {"number": "str", "name": "str", "support": "str", "beware": "list"},
         "Someone asked to enter a painting."),
    Kind("hand_back_asked", 1, "input", {"number": "str"}, "Someone asked to hand a painting back."),
    Kind("step_asked", 1, "input",
         {"step": "str", "sheet": "dict", "painting": "str?", "bench": "str", "bindings": "list",
          "side": "str?", "places": "int?", "sandwich": "dict?", "answers": "list"},
         "Someone asked to start a step; the sheet and its limits stand here as they were."),
    Kind("finish_asked", 1, "input", _STEP, "Someone asked to finish a step."),
    Kind("stage_asked", 1, "input", {**_STEP, "stage": "str"}, "Someone asked to begin a stage."),
    Kind("mark_asked", 1, "input", {**_STEP, "mark": "str", "place": "int?", "age_ms": "int"},
         "Someone marked the tool set down or lifted."),
    Kind("undo_asked", 1, "input", _STEP, "Someone took the last mark back."),
    Kind("note_asked", 1, "input", {"step": "str?", "text": "str"}, "Someone wrote a note."),
    Kind("see_asked", 1, "input", _ALARM, "Someone has seen a warning."),
    Kind("shelve_asked", 1, "input", {**_ALARM, "for_s": "int", "reason": "str"},
         "Someone asked for a warning to be silent for a time."),
    Kind("shelve_asked", 2, "input", {**_ALARM, "for_s": "int", "reason": "str"},
         "Someone asked for a warning to be silent for a time; for 0 s: until it is over."),
    Kind("unshelve_asked", 1, "input", _ALARM, "Someone ended a silence."),
    Kind("suppress_asked", 1, "input", {**_ALARM, "reason": "str"}, "Logic asked for a warning to be off."),
    Kind("out_of_service_asked", 1, "input", {**_ALARM, "reason": "str"}, "Someone took a probe out of use."),
    Kind("release_asked", 1, "input", _ALARM, "A warning that was off or out of use is wanted again."),
    Kind("reset_asked", 1, "input", _ALARM, "Someone reset a latched warning."),
    Kind("past_measured", 1, "input", {"channel": "str", "mean": "decimal?", "covered_h": "int"},
         "The mean of a channel over the last 30 days, and how many hours of them were measured."),
    # outputs: must come out of the fold again
    Kind("painting_added", 1, "output", {"number": "str", "name": "str", "support": "str", "beware": "list"},
         "A painting is in hand."),
    Kind("painting_handed_back", 1, "output", {"number": "str", "name": "str"}, "A painting is no longer in hand."),
    Kind("step_started", 1, "output",
         {"sheet": "str", "title": "str", "painting": "str?", "stage": "str", "side": "str?", "places": "int?"},
         "A step runs."),
    Kind("step_finished", 1, "output", {"sheet": "str", "seconds": "int"}, "A step has ended."),
    Kind("stage_started", 1, "output", {"stage": "str", "title": "str"}, "A stage of a step runs."),
    Kind("binding_started", 1, "output", {"role": "str", "probe": "str", "touches": "str", "channels": "list"},
         "A probe serves a role of a step."),
    Kind("binding_ended", 1, "output", {"role": "str", "probe": "str"}, "A probe no longer serves a role."),
    Kind("contact_started", 1, "output", _CONTACT, "The tool was set down on a place."),
    Kind("contact_ended", 1, "output",
         {**_CONTACT, "ended_by": "str", "milliseconds": "int", "readings": "int", "gaps": "int",
          "tool_low": "decimal?", "tool_mean": "decimal?", "tool_high": "decimal?"},
         "The tool left a place; what its probe read meanwhile."),
    Kind("contact_voided", 1, "output", {**_CONTACT, "reason": "str"}, "A mark was taken back."),
    Kind("place_judged", 1, "output",
         {"side": "str", "place": "int", "pass": "int", "verdict": "str", "reason": "str",
          "bond_line": "list", "face": "list"},
         "The verdict on a place, from stored estimates alone."),
    Kind("note_written", 1, "output", {"text": "str"}, "A note stands in the day-book."),
    Kind("alarm_raised", 1, "output",
         {**_ALARM, "quantity": "str", "side": "str", "at": "decimal", "value": "decimal?", "priority": "str",
          "source": "str", "grade": "str", "locator": "str"},
         "A limit was passed for longer than its delay."),
    Kind("alarm_raised", 2, "output",
         {**_ALARM, "quantity": "str", "side": "str", "at": "decimal", "value": "decimal?", "priority": "str",
          "source": "str", "grade": "str", "locator": "str"},
         "A limit was passed for longer than its delay; `judged_at` is the level less the margin for the probe's "
         "error, `why` is `still stands` where it was seen before; `of` is what a stretch of time was looked at of, "
         "`threshold` what its minutes were counted above.",
         {"judged_at": "decimal", "why": "str", "of": "str", "threshold": "decimal"}),
    Kind("alarm_chatters", 1, "output", {**_ALARM, "times": "int", "within_s": "int", "quiet_s": "int"},
         "A warning comes and goes: it is shown as standing, and not told again, until quiet for so long."),
    Kind("alarm_eased", 1, "output", {**_ALARM, "at": "decimal", "priority": "str"},
         "A warning fell back to a lower level."),
    Kind("alarm_returned", 1, "output", {**_ALARM, "value": "decimal?", "state": "str"},
         "The condition of a warning has ended; `state` is what it is now."),
    Kind("alarm_seen", 1, "output", {**_ALARM, "state": "str"}, "A warning was seen."),
    Kind("alarm_shelved", 1, "output", {**_ALARM, "for_s": "int", "reason": "str"},
         "A warning is silent for a time."),
    Kind("alarm_shelved", 2, "output", {**_ALARM, "for_s": "int", "reason": "str"},
         "A warning is silent for a time; for 0 s: until it is over."),
    Kind("alarm_unshelved", 1, "output", {**_ALARM, "state": "str"}, "A silence has ended."),
    Kind("alarm_suppressed", 1, "output", {**_ALARM, "reason": "str"}, "A warning is off during this stage."),
    Kind("alarm_suppressed", 2, "output", {**_ALARM, "reason": "str"},
         "A warning is off: during this stage, by logic, or (`cause` is `no reading`) while its probe gives none.",
         {"cause": "str"}),
    Kind("alarm_out_of_service", 1, "output", {**_ALARM, "reason": "str"}, "The warning's probe is not in use."),
    Kind("alarm_released", 1, "output", {**_ALARM, "state": "str"}, "A warning is wanted again."),
    Kind("alarm_released", 2, "output", {**_ALARM, "state": "str"},
         "A warning is wanted again, or (with its value) over while it was held back.", {"value": "decimal"}),
    Kind("alarm_reset", 1, "output", _ALARM, "A latched warning was reset."),
    Kind("flood_began", 1, "output", {"count": "int", "within_s": "int"},
         "More new warnings came within a time than can be looked at one by one; they are told as one."),
    Kind("flood_ended", 1, "output", {"count": "int", "seconds": "int"},
         "Few new warnings come again; how many came while they were told as one, and for how long."),
    Kind("probe_fault", 1, "output", {"probe": "str", "channel": "str", "quality": "str", "from_mono_ms": "int"},
         "A probe has given no reading for a while, and why."),
    Kind("probe_restored", 1, "output", {"probe": "str", "channel": "str", "gap_ms": "int"},
         "A probe reads again."),
    Kind("probe_stale", 1, "output", {"probe": "str", "channel": "str", "last_mono_ms": "int"},
         "Nothing at all has come from a probe for three intervals."),
    # notes: stand beside the fold
    Kind("station_started", 1, "note", {"version": "str", "engine": "int", "sources": "list"},
         "The station runs; where its readings come from."),
    Kind("station_stopped", 1, "note", {"reason": "str"}, "The station was stopped in order."),
    Kind("clock_known", 1, "note", {"segment": "int", "offset_ms": "int", "readings": "int"},
         "The time became known; undated readings were dated by it."),
    Kind("store_migrated", 1, "note", {"from": "str", "to": "str"}, "The store's form was changed."),
    Kind("telling_failed", 1, "note", {"way": "str", "name": "str", "reason": "str"},
         "A way to be told does not work, and why; written once until it works again."),
    Kind("telling_restored", 1, "note", {"way": "str", "name": "str", "given_up": "int"},
         "A way to be told works again; how many messages were given up meanwhile."),
    Kind("telling_tested", 1, "note", {"way": "str", "name": "str", "outcome": "str", "reason": "str"},
         "Someone tried a way to be told; what came of it."),
    Kind("self_tested", 1, "note", {"ways": "list"}, "The daily trial of every way to be told; what came of each."),
)  # fmt: skip

KINDS: dict[tuple[str, int], Kind] = {(k.key, k.version): k for k in _ALL}
NEWEST: dict[str, Kind] = {k.key: k for k in _ALL}

_TYPES: dict[str, type] = {"str": str, "int": int, "bool": bool, "list": list, "dict": dict, "decimal": str}


def check_body(kind: str, body: dict[str, Any], version: int | None = None) -> None:
    """Hold a body against its kind's fields, of the newest version unless one is named.

    Raises:
        ValueError: unknown kind, missing or surplus field, or another type than registered.
    """
    known = NEWEST.get(kind) if version is None else KINDS.get((kind, version))
    if known is None:
        raise ValueError(
            f"day-book kind {kind!r} version {version or 'any'} is not registered in monitor.bench.kinds"
        )
    odd = (known.fields.keys() - body.keys()) | (body.keys() - known.fields.keys() - known.optional.keys())
    if odd:
        named = ", ".join(sorted(odd))
        raise ValueError(f"day-book kind {kind!r}: fields {named} do not match its registered form")
    for name, spec in {**known.fields, **known.optional}.items():
        if name not in body:
            continue
        value, wanted = body[name], _TYPES[spec.rstrip("?")]
        if value is None and spec.endswith("?"):
            continue
        if not isinstance(value, wanted) or (wanted is int and isinstance(value, bool)):
            raise ValueError(f"day-book kind {kind!r}: field {name} is {value!r}, expected {spec}")
