"""Tracker: a cause hides its effects. While a probe gives no reading, what judges its readings is held back.

A standing warning falls silent at the first whole second at which a fault or a silence is told of what it rests
on. When all of it reads again the present condition decides: past the level it warns anew, back inside for the
off-delay it is over. While the off-delay runs it is still held back, so that nothing sounds that is about to end.
"""

from __future__ import annotations

from monitor.bench import chattering
from monitor.bench.alarms import AlarmState, Happening
from monitor.bench.moves import BY_PROBE, NO_READING, befall
from monitor.bench.outputs import Output
from monitor.bench.readings import Reading
from monitor.bench.state import Alarm, State
from monitor.bench.unread import reads, unread
from monitor.bench.watches import Watch

_SEEN_OR_NOT = (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED)


class Hiding:
    """Holds warnings back and lets them go."""

    def reading(self, state: State, watch: Watch, item: Reading, out: list[Output]) -> None:
        """Leave it to the next whole second: the readings of one instant come one after another."""

    def tick(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Hold back what stands and is not read, release what is read again."""
        for alarm in [a for a in state.alarms.values() if a.level >= 0]:
            if _is_to_hide(state, alarm):
                body = dict(NO_READING)
                befall(state, alarm, Happening.SUPPRESS, "alarm_suppressed", mono_ms, body, out, None, "station")
                alarm.off_by = BY_PROBE
            elif _is_to_show(state, alarm):
                befall(state, alarm, Happening.RELEASE, "alarm_released", mono_ms, {}, out, None, "station")
                if alarm.state is AlarmState.UNACKNOWLEDGED:
                    chattering.came(state, alarm, mono_ms, out)

    def due(self, state: State) -> int | None:
        """Give the present instant while anything is to be held back or released."""
        standing = [alarm for alarm in state.alarms.values() if alarm.level >= 0]
        return state.mono_ms if any(_is_to_hide(state, a) or _is_to_show(state, a) for a in standing) else None

    def broken(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Leave it as it is: what was held back waits for its first reading."""


def _is_to_hide(state: State, alarm: Alarm) -> bool:
    return alarm.state in _SEEN_OR_NOT and unread(state, alarm)


def _is_to_show(state: State, alarm: Alarm) -> bool:
    if alarm.off_by != BY_PROBE or not reads(state, alarm):
        return False
    standing = [window for window in alarm.windows if window.active]
    return not standing or any(window.since is None for window in standing)
