"""How a warning moves: it is raised, put off by a person or a stage, and wanted again; each move is written."""

from __future__ import annotations

from typing import Any

from monitor.bench.alarms import AlarmState, Happening, follow
from monitor.bench.events import decimal
from monitor.bench.outputs import Draft, Output, Signal
from monitor.bench.state import Alarm, State, Step

PLACES_OF_VALUES = 2
BY_STAGE, BY_REQUEST = "stage", "asked"


def follow_from(alarm: Alarm, happening: Happening) -> AlarmState | None:
    """Give the state a happening leads a warning to, None where it may not be asked for."""
    limit = alarm.limit
    return follow(
        alarm.state, happening,
        condition=alarm.level >= 0, latching=limit.latching, must_be_seen=limit.must_be_seen,
    )  # fmt: skip


def value_of(alarm: Alarm) -> str | None:
    """Write what is read or computed now, None where nothing is known."""
    return None if alarm.value is None else decimal(alarm.value, PLACES_OF_VALUES)


def raise_alarm(state: State, alarm: Alarm, mono_ms: int, out: list[Output]) -> None:
    """Make a warning stand unseen, write it, and sound it unless its like sounds already."""
    level = alarm.limit.levels[alarm.level]
    sounds = not _like_sounds(state, alarm)
    alarm.state = AlarmState.UNACKNOWLEDGED
    body = {
        "quantity": alarm.limit.quantity, "side": alarm.limit.side, "at": f"{level.at:g}",
        "value": value_of(alarm),
        "priority": level.priority, "source": level.source, "grade": level.grade, "locator": level.locator,
    }  # fmt: skip
    out.append(draft_of(state, alarm, "alarm_raised", mono_ms, body))
    if sounds:
        out.append(Signal(mono_ms, "warning", {"step": alarm.step, "limit": alarm.limit.key,
                                               "channel": alarm.channel, "priority": level.priority}))  # fmt: skip


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

    One surface in two airs has one name and two values; those are not alike.
    """
    return [
        a for a in state.alarms.values()
        if a.channel == alarm.channel and a.limit.side == alarm.limit.side and a.inputs == alarm.inputs
    ]  # fmt: skip


def draft_of(
    state: State, alarm: Alarm, kind: str, mono_ms: int, body: dict[str, Any],
    by: str | None = None, via: str = "station",
) -> Draft:  # fmt: skip
    """Give a day-book row of a warning."""
    step, limit, channel = alarm.key
    bench = state.steps[step].bench if step in state.steps else None
    full = {"step": step, "limit": limit, "channel": channel, **body}
    return Draft(kind, mono_ms, full, step=step, bench=bench, by=by, via=via)


def befall(
    state: State, alarm: Alarm, happening: Happening, kind: str, mono_ms: int,
    body: dict[str, Any], out: list[Output], by: str | None, via: str,
) -> bool:  # fmt: skip
    """Let a person's or a stage's doing befall a warning and write it.

    Returns:
        False when it may not be asked for in the warning's present state; nothing is written then.
    """
    if happening is Happening.RELEASE and alarm.off_by == BY_STAGE and not _listed(state, alarm):
        return False
    to = follow_from(alarm, happening)
    if to is None:
        return False
    alarm.off_by = ""
    if happening in _ENDS_SILENCE and not _listed(state, alarm):
        to, alarm.off_by = AlarmState.SUPPRESSED, BY_STAGE
    alarm.state = to
    full = {**body, "state": to.value} if happening in _TELLS_STATE else body
    out.append(draft_of(state, alarm, kind, mono_ms, full, by, via))
    if happening in _ENDS_SILENCE and to is AlarmState.UNACKNOWLEDGED:
        raise_alarm(state, alarm, mono_ms, out)
    return True


def _listed(state: State, alarm: Alarm) -> bool:
    """Tell whether the stage that runs lists the warning's limit."""
    return alarm.limit.key in state.steps[alarm.step].stage_now().limits


_ENDS_SILENCE = (Happening.UNSHELVE, Happening.RELEASE)
_TELLS_STATE = (Happening.SEE, Happening.UNSHELVE, Happening.RELEASE)


def unshelve(state: State, alarm: Alarm, mono_ms: int, out: list[Output], by: str | None, via: str) -> bool:
    """End a silence; the state follows the present condition."""
    alarm.shelved_until_ms = None
    return befall(state, alarm, Happening.UNSHELVE, "alarm_unshelved", mono_ms, {}, out, by, via)


def stage_changed(state: State, step: Step, mono_ms: int, out: list[Output], by: str | None, via: str) -> None:
    """Put off the limits the new stage does not list, and on again those it does.

    Which limits a stage lists stands in its sheet; a row is written only for a warning that
    stood, or that the present condition raises. A probe out of use stays out of use.
    """
    listed = step.stage_now().limits
    for alarm in [a for a in state.alarms.values() if a.step == step.id]:
        off = alarm.limit.key not in listed
        if alarm.state is AlarmState.OUT_OF_SERVICE or alarm.off_by == BY_REQUEST or off is bool(alarm.off_by):
            continue
        if off:
            if alarm.state is not AlarmState.NORMAL:
                body: dict[str, Any] = {"reason": f"off during {step.stage_now().title}"}
                befall(state, alarm, Happening.SUPPRESS, "alarm_suppressed", mono_ms, body, out, by, via)
            alarm.state, alarm.off_by, alarm.shelved_until_ms = AlarmState.SUPPRESSED, BY_STAGE, None
        elif alarm.level < 0:
            alarm.state, alarm.off_by = AlarmState.NORMAL, ""
        else:
            befall(state, alarm, Happening.RELEASE, "alarm_released", mono_ms, {}, out, by, via)
