"""What is said of a warning: its state, what was set, and the sentence that names painting and place."""

from __future__ import annotations

from monitor.bench import flood
from monitor.bench.alarms import SCREEN_WORDS, SHOWN, AlarmState
from monitor.bench.events import decimal
from monitor.bench.moves import BY_PROBE
from monitor.bench.quantities import QUANTITIES
from monitor.bench.state import Alarm, State
from monitor.station.computed_told import computed_clause
from monitor.station.words import figure, probe_of, sentence, span

HELD_BACK = "held back: its probe gives no reading"
UNTIL_OVER = "silent until it is over"
_STANDS = (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED)


def is_shown(alarm: Alarm) -> bool:
    """Tell whether a warning is listed: it stands, waits to be seen, or is kept silent by a person or its probe."""
    return alarm.state in SHOWN or is_held_back(alarm)


def is_held_back(alarm: Alarm) -> bool:
    """Tell whether a warning stood when its probe fell silent, and is held back since."""
    return alarm.off_by == BY_PROBE


def comes_and_goes(alarm: Alarm) -> bool:
    """Tell whether a warning stands because it comes and goes."""
    return alarm.chatters and alarm.state in _STANDS


def state_words(alarm: Alarm) -> str:
    """Give the words of a warning's state."""
    if is_held_back(alarm):
        return HELD_BACK
    if alarm.state is AlarmState.SHELVED and alarm.once:
        return UNTIL_OVER
    words = SCREEN_WORDS[alarm.state]
    return f"comes and goes, {words}" if comes_and_goes(alarm) else words


def where(state: State, alarm: Alarm) -> str:
    """Name the painting, the bench, and the place the tool is on where it is the tool that is judged."""
    step = state.steps[alarm.step]
    painting = state.paintings.get(step.painting or "")
    contact = step.places.contact if step.places and alarm.channel.endswith(".tool_temperature") else None
    place = f", place {contact.place}" if contact else ""
    return f"{painting.name}, {step.bench}{place}" if painting else sentence(step.bench) + place


def bound(alarm: Alarm) -> str:
    """Say what was set, and what it is judged at where that differs."""
    limit, quantity = alarm.limit, QUANTITIES[alarm.limit.quantity]
    level = limit.levels[max(alarm.level, 0)]
    judged_at = limit.judged_at(level, alarm.channel)
    drawn_in = "" if judged_at == level.at else f", judged at {decimal(judged_at, 1)} for the probe's error"
    return f"you set {'at most' if limit.side == 'high' else 'at least'} {level.at:g} {quantity.symbol}{drawn_in}"


def warning_sentence(state: State, alarm: Alarm) -> str:
    """Name painting and place, what is read there, and what was set."""
    limit, probe = alarm.limit, probe_of(alarm.channel)
    what, begin = QUANTITIES[limit.quantity].words, where(state, alarm)
    if alarm.level < 0:
        return f"{begin}: {what} at {probe} was outside what you set ({bound(alarm)}); it is inside again."
    if alarm.inputs:
        return f"{begin}: {computed_clause(state, alarm, bound(alarm))}"
    channel = state.channels.get(alarm.channel)
    if channel is None or channel.value is None or channel.stale:
        return f"{begin}: {what} at {probe} was last outside what you set ({bound(alarm)}); now nothing is read."
    now = figure(limit.quantity, channel.value)
    if comes_and_goes(alarm):
        return f"{begin}: {what} at {probe} comes and goes past what you set ({bound(alarm)}); now it is {now}."
    return f"{begin}: {what} at {probe} is {now}; {bound(alarm)}."


def flood_words(state: State, mono_ms: int) -> tuple[int, str]:
    """Give how many warnings came of late, and the words under which they are shown as one."""
    count = len(flood.within(state, mono_ms))
    many = f"{count} or more" if count >= flood.MOST_KEPT else f"{count}"
    return count, f"{many} warnings in {span(flood.WITHIN_MS)}, the most severe first"
