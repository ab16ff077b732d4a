"""Tracker: limits on channels become warnings and move through their states."""

from __future__ import annotations

from math import inf

from monitor.bench import chattering
from monitor.bench.alarms import AlarmState, Happening
from monitor.bench.computed import UNKNOWN_MS, Computed, held_together
from monitor.bench.moves import BY_PROBE, befall, follow_from, raise_alarm, unshelve
from monitor.bench.outputs import Output
from monitor.bench.pace import next_pace
from monitor.bench.paced import PACED
from monitor.bench.readings import Quality, Reading
from monitor.bench.rows import draft_of, value_of
from monitor.bench.state import Alarm, State, Step
from monitor.bench.watches import Watch
from monitor.bench.windowed import MINUTES_ABOVE


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
            if alarm.chatters:
                chattering.hear(alarm, item.mono_ms, known=item.value is not None)
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
            _pass_time(state, alarm, mono_ms, out)
            if alarm.shelved_until_ms is not None and alarm.shelved_until_ms <= mono_ms:
                unshelve(state, alarm, alarm.shelved_until_ms, out, None, "station")

    def due(self, state: State) -> int | None:
        """Give the earliest instant at which a tick could change anything here."""
        dues: list[int | None] = []
        for alarm in state.alarms.values():
            dues += [window.due() for window in alarm.windows if window.since is not None]
            if alarm.level >= 0 or alarm.shelved_until_ms is not None:  # else nothing of it waits for time alone
                dues += (alarm.shelved_until_ms, again_ms(alarm), chattering.due(alarm))
        paces = {PACED[q].every_ms for a in state.alarms.values() if (q := a.limit.quantity) in PACED}
        dues += [next_pace(every_ms, state.mono_ms, state.paced_ms) for every_ms in paces]
        return min((due for due in dues if due is not None), default=None)

    def broken(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """End running delays at an interruption; what stands stays standing."""
        del mono_ms, out
        for alarm in state.alarms.values():
            alarm.judged_ms = None
            alarm.value = None if alarm.limit.quantity in PACED else alarm.value
            alarm.gap()
            for window in alarm.windows:
                window.before = None


def again_ms(alarm: Alarm) -> int | None:
    """Give the instant at which a warning that was seen and still stands warns again."""
    if not alarm.limit.re_alarm_ms or alarm.state is not AlarmState.ACKNOWLEDGED or alarm.level < 0:
        return None
    return None if alarm.seen_ms is None else alarm.seen_ms + alarm.limit.re_alarm_ms


def _pass_time(state: State, alarm: Alarm, mono_ms: int, out: list[Output]) -> None:
    """Let end what comes and goes and has been quiet; warn again of what was seen and still stands."""
    quiet_ms = chattering.due(alarm)
    if quiet_ms is not None and quiet_ms <= mono_ms:
        chattering.over(alarm)
        _level_changed(state, alarm, mono_ms, out)
    again = again_ms(alarm)
    if again is not None and again <= mono_ms and follow_from(alarm, Happening.WORSEN) is AlarmState.UNACKNOWLEDGED:
        raise_alarm(state, alarm, mono_ms, out, "still stands")


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
        if alarm.chatters:
            chattering.hear(alarm, mono_ms, known=alarm.value is not None)
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
    if alarm.chatters:
        chattering.hear(alarm, mono_ms, known=alarm.value is not None)


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
        alarm.gap()


def _judged(item: Reading, value: float) -> float:
    """Give the value limits see: a clipped reading is beyond every limit on its side."""
    if item.quality is not Quality.CLIPPED:
        return value
    return inf if value > 0 else -inf


def _level_changed(state: State, alarm: Alarm, mono_ms: int, out: list[Output]) -> None:
    """Let a warning follow its levels; one that comes and goes does not fall."""
    level, was = alarm.highest(), alarm.level
    if alarm.chatters and level <= was:
        chattering.hear(alarm, mono_ms, known=True)
        return
    alarm.level = level
    if level > was:
        _worsen(state, alarm, was, mono_ms, out)
    elif level < 0:
        _return(state, alarm, mono_ms, out)
    elif level < was and alarm.state in (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED):
        now = alarm.limit.levels[level]
        body = {"at": f"{now.at:g}", "priority": now.priority}
        out.append(draft_of(state, alarm, "alarm_eased", mono_ms, body))


def count_anew(state: State, step: Step, mono_ms: int, out: list[Output]) -> None:
    """Begin to count the minutes of a new stage; what stood for the last one's is over."""
    for alarm in state.alarms.values():
        if alarm.step != step.id or alarm.limit.quantity != MINUTES_ABOVE:
            continue
        alarm.minutes, alarm.value = 0, 0.0
        chattering.over(alarm)
        for window in alarm.windows:
            window.active = False
            window.gap()
        _level_changed(state, alarm, mono_ms, out)


def _worsen(state: State, alarm: Alarm, was: int, mono_ms: int, out: list[Output]) -> None:
    if was < 0:
        alarm.since_ms = mono_ms
    to = follow_from(alarm, Happening.RAISE if was < 0 else Happening.WORSEN)
    if to is AlarmState.UNACKNOWLEDGED:
        raise_alarm(state, alarm, mono_ms, out)
        chattering.came(state, alarm, mono_ms, out)


def _return(state: State, alarm: Alarm, mono_ms: int, out: list[Output]) -> None:
    if alarm.once:
        unshelve(state, alarm, mono_ms, out, None, "station")
        return
    if alarm.off_by == BY_PROBE:
        over = {"value": value} if (value := value_of(alarm)) is not None else {}
        befall(state, alarm, Happening.RELEASE, "alarm_released", mono_ms, over, out, None, "station")
        return
    to = follow_from(alarm, Happening.RETURN)
    if to is not None and to is not alarm.state:
        alarm.state = to
        body = {"value": value_of(alarm), "state": to.value}
        out.append(draft_of(state, alarm, "alarm_returned", mono_ms, body))
