"""What is said of a warning: its state, what was set, and the sentence that names painting and place."""

from __future__ import annotations

from monitor.bench import flood
from monitor.bench.alarms import SCREEN_WORDS, SHOWN, AlarmState
from monitor.bench.events import decimal
from monitor.bench.moves import BY_PROBE
from monitor.bench.paced import PACED
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
    """Name painting and place, what is read or worked out there, and what was set."""
    begin, what = where(state, alarm), f"{alarm.limit.what}{_at_probe(state, alarm.channel)}"
    if alarm.level < 0:
        return f"{begin}: {what} was outside what you set ({bound(alarm)}); it is inside again."
    if alarm.inputs:
        return f"{begin}: {computed_clause(state, alarm, bound(alarm))}"
    value = _now(state, alarm)
    if value is None:
        nothing = "it is not known" if alarm.limit.quantity in PACED else "nothing is read"
        return f"{begin}: {what} was last outside what you set ({bound(alarm)}); now {nothing}."
    now = figure(alarm.limit.quantity, value)
    if comes_and_goes(alarm):
        return f"{begin}: {what} comes and goes past what you set ({bound(alarm)}); now it is {now}."
    return f"{begin}: {what} is {now}; {bound(alarm)}."


def _now(state: State, alarm: Alarm) -> float | None:
    if alarm.limit.quantity in PACED:
        return alarm.value
    channel = state.channels.get(alarm.channel)
    return None if channel is None or channel.stale else channel.value


def _at_probe(state: State, name: str) -> str:
    """Name the probe of a channel; "" where a bench or a step has given it its name, which is said already."""
    probe = probe_of(name)
    return f" at {probe}" if any(probe_of(other) == probe for other in state.channels) else ""


def flood_words(state: State, mono_ms: int) -> tuple[int, str]:
    """Give how many warnings came of late, and the words under which they are shown as one."""
    count = len(flood.within(state, mono_ms))
    many = f"{count} or more" if count >= flood.MOST_KEPT else f"{count}"
    return count, f"{many} warnings in {span(flood.WITHIN_MS)}, the most severe first"
