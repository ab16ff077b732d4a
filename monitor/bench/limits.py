"""Tracker: limits on channels become warnings and move through their states."""

from __future__ import annotations

from math import inf
from typing import Any

from monitor.bench.alarms import AlarmState, Happening, follow
from monitor.bench.computed import UNKNOWN_MS, Computed, held_together
from monitor.bench.events import decimal
from monitor.bench.outputs import Draft, Output, Signal
from monitor.bench.pace import next_pace
from monitor.bench.paced import PACED
from monitor.bench.readings import Quality, Reading
from monitor.bench.state import Alarm, State, Step
from monitor.bench.watches import Watch

PLACES_OF_VALUES = 2
BY_STAGE, BY_REQUEST = "stage", "asked"


class Limits:
    """Holds readings, and what is computed from them, against the limits in force."""

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
        for computed in watch.feeds:
            for alarm in computed.alarms:
                _judge(state, alarm, computed, item.mono_ms, out)

    def tick(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Let delays and silences elapse up to and including this instant."""
        for alarm in state.alarms.values():
            if alarm.limit.quantity in PACED:
                _tick_paced(state, alarm, mono_ms, out)
            else:
                _settle(state, alarm, mono_ms, _held(state, alarm), out, before=False)
            if alarm.shelved_until_ms is not None and alarm.shelved_until_ms <= mono_ms:
                unshelve(state, alarm, alarm.shelved_until_ms, out, None, "station")

    def due(self, state: State) -> int | None:
        """Give the earliest instant at which a tick could change anything here."""
        dues = [d for a in state.alarms.values() for w in a.windows if (d := w.due()) is not None]
        dues += [a.shelved_until_ms for a in state.alarms.values() if a.shelved_until_ms is not None]
        paces = {p.every_ms for a in state.alarms.values() if (p := PACED.get(a.limit.quantity)) is not None}
        dues += [next_pace(every_ms, state.mono_ms, state.paced_ms) for every_ms in paces]
        return min(dues, default=None)

    def broken(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """End running delays at an interruption; what stands stays standing."""
        del mono_ms, out
        for alarm in state.alarms.values():
            alarm.judged_ms = None
            alarm.value = None if alarm.limit.quantity in PACED else alarm.value
            for window in alarm.windows:
                window.gap()
                window.before = None


def _tick_paced(state: State, alarm: Alarm, mono_ms: int, out: list[Output]) -> None:
    """Let a warning's delays elapse; at a multiple of its pace what the state makes known acts first."""
    paced = PACED[alarm.limit.quantity]
    if mono_ms % paced.every_ms == 0:
        state.paced_ms = mono_ms
        _settle(state, alarm, mono_ms, None, out, before=True)
        alarm.value = None if alarm.unfed else paced.value(state, alarm, mono_ms)
        for window in alarm.windows:
            if alarm.value is None:
                window.gap()
            else:
                window.take(mono_ms, alarm.value)
    _settle(state, alarm, mono_ms, None, out, before=False)


def _judge(state: State, alarm: Alarm, computed: Computed, mono_ms: int, out: list[Output]) -> None:
    """Hold a computed value against a limit, in place of what earlier readings of this instant made of it.

    A delay that is over at this very instant is left to the tick or the reading after it: the
    instant's last value is not known before.
    """
    if alarm.judged_ms != mono_ms:
        _settle(state, alarm, mono_ms, computed.held, out, before=True)
        alarm.judged_ms = mono_ms
        for window in alarm.windows:
            window.before = window.since
    alarm.value = None if alarm.unfed else computed.value
    for window in alarm.windows:
        window.since = window.before
        if alarm.value is None:
            window.gap()
        elif computed.at_least is None:
            window.take(mono_ms, alarm.value)
        else:
            window.take_bound(mono_ms, alarm.value, at_least=computed.at_least)


def _held(state: State, alarm: Alarm) -> int | None:
    """Give the last instant for which what a warning judges still speaks."""
    if not alarm.inputs:
        channel = state.channels.get(alarm.channel)
        return channel.held_until() if channel else None
    inputs = tuple(state.channels[name] for name in alarm.inputs if name in state.channels)
    return held_together(inputs) if len(inputs) == len(alarm.inputs) else UNKNOWN_MS


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
        alarm.value = None if alarm.inputs else alarm.value
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
    """List the warnings on the same channel and side, this one included, in order of step.

    One surface in two airs has one name and two values; those are not alike.
    """
    return [
        a for a in state.alarms.values()
        if a.channel == alarm.channel and a.limit.side == alarm.limit.side and a.inputs == alarm.inputs
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
