"""Whether what a warning judges gives a reading.

What a stretch of time showed, or a condition of a bench, stays so when a probe falls silent: what is judged at
ticks is no effect of the silence.
"""

from __future__ import annotations

from monitor.bench.paced import PACED
from monitor.bench.state import Alarm, Channel, State


def unread(state: State, alarm: Alarm) -> bool:
    """Tell whether a fault or a silence has been told of a channel that a warning rests on."""
    if alarm.limit.quantity in PACED:
        return False
    return any(channel is None or channel.fault or channel.stale for channel in _channels(state, alarm))


def reads(state: State, alarm: Alarm) -> bool:
    """Tell whether every channel that a warning rests on has a value that speaks."""
    return all(c is not None and c.value is not None and not c.fault for c in _channels(state, alarm))


def _channels(state: State, alarm: Alarm) -> list[Channel | None]:
    return [state.channels.get(name) for name in alarm.inputs or (alarm.channel,)]
