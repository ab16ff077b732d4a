"""Quantities of a stretch of time: how fast, how far in a day, how far from the last 30 days, for how long above.

Each is worked out at whole minutes from samples of a measured channel or of what is computed from several;
`Limit.of` names it. All but the minutes above are in its unit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from monitor.bench.derived import DERIVED, Source, inputs_of, sources
from monitor.bench.pace import MINUTE_MS, Paced, Served, Value
from monitor.bench.past import NOW_MINUTES, RATE_MINUTES, Past
from monitor.bench.quantities import channel_name, split_channel
from monitor.bench.sheets import Limit
from monitor.bench.state import Alarm, PastKey, State

MINUTES_ABOVE = "minutes_above"


@dataclass(frozen=True, slots=True)
class Window:
    """What a quantity looks back on.

    Attributes:
        of: what it may be made of, the first by default; none for anything with a unit of its own.
        minutes: so many samples.
        day: a day's extremes.
        mean: a trailing mean from the store.
    """

    of: tuple[str, ...] = ()
    minutes: int = 0
    day: bool = False
    mean: bool = False


WINDOWS: dict[str, Window] = {
    "rate_1h": Window(("relative_humidity", "humidity_at_canvas"), minutes=RATE_MINUTES),
    "change_24h": Window(("relative_humidity",), day=True),
    "temperature_change_24h": Window(("air_temperature",), day=True),
    "departure_30d": Window(("relative_humidity",), minutes=NOW_MINUTES, mean=True),
    MINUTES_ABOVE: Window(),
}


def of_what(limit: Limit) -> str:
    """Give the quantity that a limit's windowed quantity is made of."""
    return limit.of or next(iter(WINDOWS[limit.quantity].of), "")


def key_of(alarm: Alarm) -> PastKey:
    """Give the channel whose past a warning looks back on, and what that is computed from; none if measured."""
    of = of_what(alarm.limit)
    name = channel_name(split_channel(alarm.channel)[0], of)
    return name, alarm.inputs if of in DERIVED else ()


def measured_for(limit: Limit) -> tuple[str, ...]:
    """List the measured quantities that what a limit judges is had from."""
    return inputs_of(of_what(limit) if limit.quantity in WINDOWS else limit.quantity)


def windowed_sources(limit: Limit, at: Served) -> list[Source]:
    """List `<probe>.<quantity>` for each channel it is made of."""
    of = of_what(limit)
    if of in DERIVED:
        made_of = sources(replace(limit, quantity=of), at.sheet, at.bindings)
    else:
        names = [c for b in at.bindings if b.role == limit.role for c in b.channels if split_channel(c)[1] == of]
        made_of = [Source(name, (name,)) for name in dict.fromkeys(names)]
    return [Source(channel_name(split_channel(s.channel)[0], limit.quantity), s.inputs) for s in made_of]


def keep(state: State) -> None:
    """Keep the past of those channels that the limits in force look back on, as far as they do."""
    wanted: dict[PastKey, list[Window]] = {}
    for alarm in state.alarms.values():
        window = WINDOWS.get(alarm.limit.quantity)
        if window is not None:
            wanted.setdefault(key_of(alarm), []).append(window)
    state.past = {key: state.past.get(key) or Past() for key in wanted}
    for key, windows in wanted.items():
        minutes = max(w.minutes for w in windows)
        state.past[key].keep(minutes, day=any(w.day for w in windows), mean=any(w.mean for w in windows))


def over_words(state: State, alarm: Alarm) -> str:
    """Say over how long a change in a day was seen, while that is less than a day; "" otherwise."""
    past = state.past.get(key_of(alarm)) if alarm.limit.quantity in WINDOWS else None
    if past is None or not WINDOWS[alarm.limit.quantity].day:
        return ""
    hours, minutes = divmod(past.span_minutes(), 60)
    if hours >= 23:  # the oldest stretch goes as a whole
        return ""
    return f"over the last {hours} h" if minutes == 0 else f"over the last {hours} h {minutes} min"


def _of_past(work_out: str) -> Value:
    def value(state: State, alarm: Alarm, mono_ms: int) -> float | None:
        past: Past | None = state.past.get(key_of(alarm))
        if past is None:
            return None
        if work_out == "departure":
            return past.departure(mono_ms)
        return past.rate() if work_out == "rate" else past.change()

    return value


def _minutes_above(state: State, alarm: Alarm, mono_ms: int) -> float | None:
    """Give what was counted: minutes at which nothing was known are not in it, so it is at least so much."""
    del state, mono_ms
    return float(alarm.minutes)


WINDOWED: dict[str, Paced] = {
    "rate_1h": Paced(MINUTE_MS, _of_past("rate"), windowed_sources),
    "change_24h": Paced(MINUTE_MS, _of_past("change"), windowed_sources),
    "temperature_change_24h": Paced(MINUTE_MS, _of_past("change"), windowed_sources),
    "departure_30d": Paced(MINUTE_MS, _of_past("departure"), windowed_sources),
    MINUTES_ABOVE: Paced(MINUTE_MS, _minutes_above, windowed_sources),
}
