"""Tracker: limits on channels become warnings and move through their states."""

from __future__ import annotations

from math import inf
from typing import Any

from monitor.bench.alarms import AlarmState, Happening, follow
from monitor.bench.events import decimal
from monitor.bench.outputs import Draft, Output, Signal
from monitor.bench.readings import Quality, Reading
from monitor.bench.state import Alarm, State, Step
from monitor.bench.watches import Watch
from monitor.bench.windows import Window

PLACES_OF_VALUES = 2
BY_STAGE, BY_REQUEST = "stage", "asked"


def alarms_of(step: Step) -> list[Alarm]:
    """Make a step's warnings: every limit on every channel bound to its role.

    In the order of their keys, because a sheet read from the day-book has lost any other.
    """
    made = []
    for _, limit in sorted(step.sheet.limits.items()):
        for channel in step.channels(limit.role, limit.quantity):
            windows = [
                Window(level.at, limit.side == "high", limit.deadband, limit.on_delay_ms, limit.off_delay_ms)
                for level in limit.levels
            ]
            alarm = Alarm(step.id, limit, channel, windows)
            if limit.key not in step.stage_now().limits:
                alarm.state, alarm.off_by = AlarmState.SUPPRESSED, BY_STAGE
            made.append(alarm)
    return made


class Limits:
    """Holds readings against the limits in force."""

    def reading(self, state: State, watch: Watch, item: Reading, out: list[Output]) -> None:
        """Take a reading: settle what elapsed before it, then let it act."""
        held = watch.channel.held_until()
        for alarm in watch.alarms:
            _settle(state, alarm, item.mono_ms, held, out, before=True)
            for window in alarm.windows:
                if item.value is None:
                    window.gap()
                else:
                    window.take(item.mono_ms, _judged(item, item.value))
            alarm.value = item.value
            _settle(state, alarm, item.mono_ms, None, out, before=False)

    def tick(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Let delays and silences elapse up to and including this instant."""
        for alarm in state.alarms.values():
            channel = state.channels.get(alarm.channel)
            held = channel.held_until() if channel else None
            _settle(state, alarm, mono_ms, held, out, before=False)
            if alarm.shelved_until_ms is not None and alarm.shelved_until_ms <= mono_ms:
                unshelve(state, alarm, alarm.shelved_until_ms, out, None, "station")

    def due(self, state: State) -> int | None:
        """Give the earliest instant at which a tick could change anything here."""
        dues = [d for a in state.alarms.values() for w in a.windows if (d := w.due()) is not None]
        dues += [a.shelved_until_ms for a in state.alarms.values() if a.shelved_until_ms is not None]
        return min(dues, default=None)

    def broken(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """End running delays at an interruption; what stands stays standing."""
        del mono_ms, out
        for alarm in state.alarms.values():
            for window in alarm.windows:
                window.gap()


def _settle(state: State, alarm: Alarm, now: int, held: int | None, out: list[Output], *, before: bool) -> None:
    """Let the delays of one warning elapse that are over by `now`, earliest first.

    Args:
        held: the last instant for which the last reading still speaks; a delay that would
            end later ends without effect. None when the reading is of this very instant.
        before: leave alone what ends at `now` itself, because a reading of that instant comes.
    """
    last = now if held is None else min(now, held)
    while True:
        instant = min((d for w in alarm.windows if (d := w.due()) is not None), default=last + 1)
        if instant > last or (before and instant == now):
            break
        for window in alarm.windows:
            if window.due() == instant:
                window.elapse()
        _level_changed(state, alarm, instant, out)
    if held is not None and now > held:
        for window in alarm.windows:
            window.gap()


def _judged(item: Reading, value: float) -> float:
    """Give the value limits see: a clipped reading is beyond every limit on its side."""
    if item.quality is not Quality.CLIPPED:
        return value
    return inf if value > 0 else -inf


def _value(alarm: Alarm) -> str | None:
    return None if alarm.value is None else decimal(alarm.value, PLACES_OF_VALUES)


def _level_changed(state: State, alarm: Alarm, mono_ms: int, out: list[Output]) -> None:
    level, was = alarm.highest(), alarm.level
    alarm.level = level
    if level > was:
        happening = Happening.RAISE if was < 0 else Happening.WORSEN
        if was < 0:
            alarm.since_ms = mono_ms
        to = _follow(alarm, happening)
        if to is AlarmState.UNACKNOWLEDGED:
            raise_alarm(state, alarm, mono_ms, out)
    elif level < 0:
        came_from = alarm.state
        to = _follow(alarm, Happening.RETURN)
        if to is not None and to is not came_from:
            alarm.state = to
            out.append(_draft(state, alarm, "alarm_returned", mono_ms, {"value": _value(alarm), "state": to.value}))
    elif level < was and alarm.state in (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED):
        now = alarm.limit.levels[level]
        body = {"at": f"{now.at:g}", "priority": now.priority}
        out.append(_draft(state, alarm, "alarm_eased", mono_ms, body))


def _follow(alarm: Alarm, happening: Happening) -> AlarmState | None:
    limit = alarm.limit
    return follow(
        alarm.state, happening,
        condition=alarm.level >= 0, latching=limit.latching, must_be_seen=limit.must_be_seen,
    )  # fmt: skip


def raise_alarm(state: State, alarm: Alarm, mono_ms: int, out: list[Output]) -> None:
    """Make a warning stand unseen, write it, and sound it unless its like sounds already."""
    level = alarm.limit.levels[alarm.level]
    sounds = not _like_sounds(state, alarm)
    alarm.state = AlarmState.UNACKNOWLEDGED
    body = {
        "quantity": alarm.limit.quantity, "side": alarm.limit.side, "at": f"{level.at:g}",
        "value": _value(alarm),
        "priority": level.priority, "source": level.source, "grade": level.grade, "locator": level.locator,
    }  # fmt: skip
    out.append(_draft(state, alarm, "alarm_raised", mono_ms, body))
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
    """List the warnings on the same channel and side, this one included, in order of step."""
    return [
        a for a in state.alarms.values()
        if a.channel == alarm.channel and a.limit.side == alarm.limit.side
    ]  # fmt: skip


def _draft(
    state: State, alarm: Alarm, kind: str, mono_ms: int, body: dict[str, Any],
    by: str | None = None, via: str = "station",
) -> Draft:  # fmt: skip
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
    to = _follow(alarm, happening)
    if to is None:
        return False
    alarm.off_by = ""
    if happening in _ENDS_SILENCE and not _listed(state, alarm):
        to, alarm.off_by = AlarmState.SUPPRESSED, BY_STAGE
    alarm.state = to
    full = {**body, "state": to.value} if happening in _TELLS_STATE else body
    out.append(_draft(state, alarm, kind, mono_ms, full, by, via))
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
