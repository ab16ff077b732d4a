"""Day-book rows as sentences. Rows that only repeat what was asked have none."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboard.words import counted, grade, lasting, sentence_case, shown, spanned, whole
from monitor.bench.kinds import NEWEST
from monitor.bench.quantities import QUANTITIES, split_channel

Row = dict[str, Any]
Body = dict[str, Any]

LISTED: tuple[str, ...] = (*(k.key for k in NEWEST.values() if k.role != "input"), "segment_started")

_SIDE = {"high": "at most", "low": "at least"}


_NAMED = ("step_finished", "stage_started")


def sentence(row: Row, painting: str = "") -> str:
    """Write a day-book row as one sentence; "" for a kind that is not told.

    `painting` names the painting of the row's step, for what would not tell it otherwise.
    """
    write = _WRITERS.get(row["kind"])
    told = sentence_case(write(row["body"])) if write else ""
    named = painting and told and (row["kind"] in _NAMED or row["kind"].startswith("alarm_"))
    return f"{told.rstrip('.')}, {painting}." if named else told


def _what(channel: str) -> str:
    probe, quantity = split_channel(channel)
    known = QUANTITIES.get(quantity)
    return f"{known.words if known else quantity} ({probe})"


def _figure(channel: str, text: str | None) -> str:
    quantity = split_channel(channel)[1]
    known = QUANTITIES.get(quantity)
    if text is None:
        return "not known" if known and known.derived else "no reading"
    return shown(float(text), quantity) if known else whole(float(text))


def _place(body: Body) -> str:
    side = f"side {body['side']}, " if body["side"] else ""
    return f"{side}place {body['place']}, pass {body['pass']}"


def _started(body: Body) -> str:
    painting = f" on {body['painting']}" if body["painting"] else ""
    side = f", side {body['side']}" if body["side"] else ""
    places = f", {body['places']} places" if body["places"] else ""
    return f"{body['title']} started{painting}{side}{places}."


def _contact_ended(body: Body) -> str:
    low, high = body["tool_low"], body["tool_high"]
    tool = "the tool was not read" if low is None else f"tool {spanned(float(low), float(high), '°C')}"
    gaps = f", {counted(body['gaps'], 'gap')}" if body["gaps"] else ""
    return f"Tool off {_place(body)} after {lasting(body['milliseconds'])}; {tool}{gaps}."


def _judged(body: Body) -> str:
    reason = f", {body['reason']}" if body["reason"] else ""
    return f"{sentence_case(_place(body))}: {body['verdict']}{reason}."


def _voided(body: Body) -> str:
    reason = "" if body["reason"] == "mark taken back" else f"; {body['reason']}"
    return f"Mark taken back: {_place(body)}{reason}."


def _raised(body: Body) -> str:
    channel, side = body["channel"], _SIDE[body["side"]]
    value, at = _figure(channel, body["value"]), _figure(channel, body["at"])
    still = ", still, though it was seen" if body.get("why") == "still stands" else ""
    drawn_in = f", judged at {body['judged_at']} for the probe's error" if "judged_at" in body else ""
    return f"Warning{still}: {_what(channel)} {value}; set: {side} {at} ({grade(body['grade'])}){drawn_in}."


def _suppressed(body: Body) -> str:
    if body.get("cause") == "no reading":
        return f"Warning held back: {_what(body['channel'])}; {body['reason']}."
    return _alarm("Warning off during this stage: {what}; {reason}.")(body)


def _chatters(body: Body) -> str:
    often = f"{body['times']} times within {lasting(body['within_s'] * 1000)}"
    return f"Warning comes and goes, {often}, and is not told again until quiet: {_what(body['channel'])}."


def _segment(body: Body) -> str:
    if body["gap_ms"] is None:
        return "The station began to measure; how long nothing was measured before is not known."
    if not body["gap_ms"]:
        return "The clock was set."
    return f"Nothing was measured for {lasting(body['gap_ms'])}."


def _alarm(text: str) -> Callable[[Body], str]:
    def write(body: Body) -> str:
        channel, for_s = body["channel"], int(body.get("for_s", 0))
        told = {"what": _what(channel), "reason": body.get("reason") or "no reason given"}
        silence = f"for {lasting(for_s * 1000)}" if for_s else "until it is over"
        return text.format(**told, lasting=silence, at=_figure(channel, body.get("at")))

    return write


def _way(body: Body) -> str:
    return f"Way to be told {body['name']} ({body['way']})"


def _outcome(body: Body) -> str:
    return f"{body['outcome']}, {body['reason']}" if body["reason"] else str(body["outcome"])


def _outcomes(ways: list[Any]) -> str:
    return "; ".join(f"{w['name']} {_outcome(w)}" for w in ways if isinstance(w, dict) and "name" in w)


def _given_up(count: int) -> str:
    return f"; {counted(count, 'message was', 'messages were')} given up meanwhile" if count > 0 else ""


_WRITERS: dict[str, Callable[[Body], str]] = {
    "segment_started": _segment,
    "painting_added": lambda b: f"Painting {b['number']}, {b['name']}, is in hand.",
    "painting_handed_back": lambda b: f"Painting {b['number']}, {b['name']}, was handed back.",
    "step_started": _started,
    "step_finished": lambda b: f"Step finished after {lasting(b['seconds'] * 1000)}.",
    "stage_started": lambda b: f"Stage: {b['title']}.",
    "binding_started": lambda b: f"Probe {b['probe']} serves as {b['role']}, {b['touches']}.",
    "binding_ended": lambda b: f"Probe {b['probe']} no longer serves as {b['role']}.",
    "contact_started": lambda b: f"Tool down on {_place(b)}.",
    "contact_ended": _contact_ended,
    "contact_voided": _voided,
    "place_judged": _judged,
    "note_written": lambda b: f"Note: {b['text']}",
    "alarm_raised": _raised,
    "alarm_eased": _alarm("Warning eased: {what}, now judged by {at}."),
    "alarm_returned": _alarm("{what}: inside what you set again."),
    "alarm_seen": _alarm("Warning seen: {what}."),
    "alarm_shelved": _alarm("Warning silent {lasting}: {what}; {reason}."),
    "alarm_unshelved": _alarm("Silence ended: {what}."),
    "alarm_suppressed": _suppressed,
    "alarm_chatters": _chatters,
    "alarm_out_of_service": _alarm("Probe not in use: {what}; {reason}."),
    "alarm_released": _alarm("Warning wanted again: {what}."),
    "alarm_reset": _alarm("Warning reset: {what}."),
    "flood_began": lambda b: (
        f"{counted(b['count'], 'new warning')} within {lasting(b['within_s'] * 1000)}: they are told as one."
    ),
    "flood_ended": lambda b: f"Few new warnings come again; {counted(b['count'], 'warning')} came meanwhile.",
    "probe_fault": lambda b: f"Probe {b['probe']} gives no reading: {b['quality']}.",
    "probe_restored": lambda b: f"Probe {b['probe']} reads again after {lasting(b['gap_ms'])}.",
    "probe_stale": lambda b: f"Nothing comes from probe {b['probe']}.",
    "station_started": lambda b: f"The station started, version {b['version']}.",
    "station_stopped": lambda b: f"The station was stopped: {b['reason']}.",
    "clock_known": lambda b: (
        f"The time became known; {counted(b['readings'], 'reading was', 'readings were')} dated."
    ),
    "store_migrated": lambda b: f"The store's form was changed from {b['from']} to {b['to']}.",
    "telling_failed": lambda b: f"{_way(b)} does not work: {b['reason']}.",
    "telling_restored": lambda b: f"{_way(b)} works again{_given_up(b['given_up'])}.",
    "telling_tested": lambda b: f"{_way(b)} was tried: {_outcome(b)}.",
    "self_tested": lambda b: f"Daily trial of the ways to be told: {_outcomes(b['ways'])}.",
}
