"""How a warning moves: raised, put off by a person, a stage or its probe's silence, wanted again; all is written."""

from __future__ import annotations

from typing import Any

from monitor.bench import chattering, flood
from monitor.bench.alarms import AlarmState, Happening, follow
from monitor.bench.outputs import Output, Signal
from monitor.bench.rows import draft_of, raised_body
from monitor.bench.state import Alarm, State, Step
from monitor.bench.unread import unread

BY_STAGE, BY_REQUEST, BY_PROBE = "stage", "asked", "no reading"
NO_READING = {"reason": "its probe gives no reading", "cause": BY_PROBE}


def follow_from(alarm: Alarm, happening: Happening) -> AlarmState | None:
    """Give the state a happening leads a warning to, None where it may not be asked for."""
    limit = alarm.limit
    return follow(
        alarm.state, happening,
        condition=alarm.level >= 0, latching=limit.latching, must_be_seen=limit.must_be_seen,
    )  # fmt: skip


def raise_alarm(state: State, alarm: Alarm, mono_ms: int, out: list[Output], why: str = "") -> None:
    """Make a warning stand unseen, write it, and sound it unless its like sounds already."""
    sounds = not _like_sounds(state, alarm)
    alarm.state = AlarmState.UNACKNOWLEDGED
    out.append(draft_of(state, alarm, "alarm_raised", mono_ms, raised_body(alarm, why)))
    if sounds:
        step, limit, channel = alarm.key
        priority = alarm.limit.levels[alarm.level].priority
        body: dict[str, Any] = {"step": step, "limit": limit, "channel": channel, "priority": priority}
        count = flood.came(state, mono_ms, out)
        out.append(Signal(mono_ms, "warning", {**body, "flood": count} if count else body))


def _like_sounds(state: State, alarm: Alarm) -> bool:
    """Tell whether another step's warning on the same channel and side already stands as severe."""
    return any(
        other is not alarm
        and other.state is AlarmState.UNACKNOWLEDGED
        and other.level >= 0
        and _rank(other) >= _rank(alarm)
        for other in alike(state, alarm)
    )


def _rank(alarm: Alarm) -> int:
    return ("low", "medium", "high").index(alarm.limit.levels[alarm.level].priority)


def alike(state: State, alarm: Alarm) -> list[Alarm]:
    """List the warnings on the same channel and side, this one included, in order of step.

    One surface in two airs has one name and two values; those are not alike, nor are counts above different levels.
    """
    return [
        a for a in state.alarms.values()
        if (a.channel, a.inputs, a.limit.side, a.limit.threshold)
        == (alarm.channel, alarm.inputs, alarm.limit.side, alarm.limit.threshold)
    ]  # fmt: skip


def befall(
    state: State, alarm: Alarm, happening: Happening, kind: str, mono_ms: int,
    body: dict[str, Any], out: list[Output], by: str | None, via: str,
) -> bool:  # fmt: skip
    """Let a person's or a stage's doing befall a warning and write it.

    Returns:
        False when it may not be asked for in the warning's present state; nothing is written then.
    """
    if happening is Happening.RELEASE and _must_stay_off(state, alarm):
        return False
    if follow_from(alarm, happening) is None:
        return False
    if not _may_come_and_go(alarm, happening, body):
        chattering.over(alarm)
        alarm.level = alarm.highest()
    to = follow_from(alarm, happening)
    assert to is not None
    alarm.off_by = ""
    if happening in _ENDS_SILENCE and not _listed(state, alarm):
        to, alarm.off_by = AlarmState.SUPPRESSED, BY_STAGE
    elif happening in _ENDS_SILENCE and to is AlarmState.UNACKNOWLEDGED and unread(state, alarm):
        to, alarm.off_by = AlarmState.SUPPRESSED, BY_PROBE
    alarm.state = to
    if happening is Happening.SEE and to is AlarmState.ACKNOWLEDGED:
        alarm.seen_ms = mono_ms
    full = {**body, "state": to.value} if happening in _TELLS_STATE else body
    out.append(draft_of(state, alarm, kind, mono_ms, full, by, via))
    if alarm.off_by == BY_PROBE:
        out.append(draft_of(state, alarm, "alarm_suppressed", mono_ms, dict(NO_READING)))
    if happening in _ENDS_SILENCE and to is AlarmState.UNACKNOWLEDGED and not alarm.chatters:
        raise_alarm(state, alarm, mono_ms, out)
    return True


def _may_come_and_go(alarm: Alarm, happening: Happening, body: dict[str, Any]) -> bool:
    """Tell whether a warning may come and go still; else it follows its present condition from here on."""
    once = happening is Happening.SHELVE and body["for_s"] == 0
    hidden = body.get("cause") == BY_PROBE or (happening is Happening.RELEASE and alarm.off_by == BY_PROBE)
    return once or hidden or happening is Happening.SEE


def _must_stay_off(state: State, alarm: Alarm) -> bool:
    """Tell whether what put a warning off still does."""
    if alarm.off_by == BY_STAGE:
        return not _listed(state, alarm)
    return alarm.off_by == BY_PROBE and alarm.level >= 0 and unread(state, alarm)


def _listed(state: State, alarm: Alarm) -> bool:
    """Tell whether the stage that runs lists the warning's limit."""
    return alarm.limit.key in state.steps[alarm.step].stage_now().limits


_ENDS_SILENCE = (Happening.UNSHELVE, Happening.RELEASE)
_TELLS_STATE = (Happening.SEE, Happening.UNSHELVE, Happening.RELEASE)


def unshelve(state: State, alarm: Alarm, mono_ms: int, out: list[Output], by: str | None, via: str) -> bool:
    """End a silence; the state follows the present condition."""
    alarm.shelved_until_ms, alarm.once = None, False
    return befall(state, alarm, Happening.UNSHELVE, "alarm_unshelved", mono_ms, {}, out, by, via)


def stage_changed(state: State, step: Step, mono_ms: int, out: list[Output], by: str | None, via: str) -> None:
    """Put off the limits the new stage does not list, and on again those it does.

    Which limits a stage lists stands in its sheet; a row is written only for a warning that
    stood, or that the present condition raises. A probe out of use stays out of use.
    """
    listed = step.stage_now().limits
    for alarm in [a for a in state.alarms.values() if a.step == step.id]:
        off = alarm.limit.key not in listed
        if alarm.state is AlarmState.OUT_OF_SERVICE or alarm.off_by == BY_REQUEST:
            continue
        if off is (alarm.off_by == BY_STAGE):
            continue
        if off:
            if alarm.state is not AlarmState.NORMAL:
                body: dict[str, Any] = {"reason": f"off during {step.stage_now().title}"}
                befall(state, alarm, Happening.SUPPRESS, "alarm_suppressed", mono_ms, body, out, by, via)
            alarm.state, alarm.off_by = AlarmState.SUPPRESSED, BY_STAGE
            alarm.shelved_until_ms, alarm.once = None, False
            chattering.over(alarm)
        elif alarm.level < 0:
            alarm.state, alarm.off_by = AlarmState.NORMAL, ""
        else:
            befall(state, alarm, Happening.RELEASE, "alarm_released", mono_ms, {}, out, by, via)
