"""What a step computes from several probes, as the view and its sentences tell it."""

from __future__ import annotations

from collections.abc import Callable

from monitor.bench.computed import Computed
from monitor.bench.derived import Source, computed_from
from monitor.bench.judged import judged
from monitor.bench.paced import PACED
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.bench.readings import Quality
from monitor.bench.state import Alarm, State, Step
from monitor.link.view import ComputedView
from monitor.station.words import figure, probe_of

NOT_KNOWN = "not known"
Now = tuple[float | None, bool | None]


def computed_views(state: State, step: Step, at: Callable[[int | None], int | None]) -> list[ComputedView]:
    """Give what a step computes, each channel in each air once, in the order of its limits."""
    return [_view(state, step, source, keys, at) for source, keys in _sources(state, step).items()]


def _sources(state: State, step: Step) -> dict[Source, list[str]]:
    found: dict[Source, list[str]] = {}
    for key, limit in step.sheet.limits.items():
        for source in judged(state, step, limit):
            if source.inputs:
                found.setdefault(source, []).append(key)
    return found


def _view(
    state: State, step: Step, source: Source, keys: list[str], at: Callable[[int | None], int | None]
) -> ComputedView:
    quantity = QUANTITIES[split_channel(source.channel)[1]]
    value, at_least = _now(state, state.alarms.get((step.id, keys[0], source.channel)))
    read = [channel.last_ms for name in source.inputs if (channel := state.channels.get(name)) is not None]
    quality = Quality.GOOD if at_least is None else Quality.CLIPPED
    return {
        "channel": source.channel,
        "quantity": quantity.key,
        "words": quantity.words,
        "symbol": quantity.symbol,
        "unit": quantity.unit,
        "value": value,
        "at_ms": None if None in read else at(min((ms for ms in read if ms is not None), default=None)),
        "quality": NOT_KNOWN if value is None else quality.word,
        "told": source.words,
        "limits": keys,
    }


def _now(state: State, alarm: Alarm | None) -> Now:
    """Give value and bound now, neither while an input is lost or out of use."""
    if alarm is None or alarm.unfed:
        return None, None
    if alarm.limit.quantity in PACED:
        return alarm.value, None
    computed: Computed | None = state.computed.get((alarm.channel, alarm.inputs))
    return (None, None) if computed is None else computed.present()


def written(quantity: str, now: Now) -> str:
    """Write a computed value, for instance `85 %`, `at least 113 %` or `not known`."""
    value, at_least = now
    if value is None:
        return NOT_KNOWN
    bound = "" if at_least is None else "at least " if at_least else "at most "
    return bound + figure(quantity, value)


def computed_clause(state: State, alarm: Alarm, bound: str) -> str:
    """Say of a standing warning what is computed now, from what, and what was set."""
    quantity = alarm.limit.quantity
    what = f"{alarm.limit.what} at {probe_of(alarm.channel)}"
    now = _now(state, alarm)
    if now[0] is None:
        return f"{what} was last outside what you set ({bound}); now it is not known."
    return f"{what} is {written(quantity, now)} ({computed_from(alarm.channel, alarm.inputs)}); {bound}."


def computed_facts(state: State, step: Step) -> list[list[str]]:
    """Give a line for everything computed that this stage judges: what it is now, and from what."""
    listed = step.stage_now().limits
    here = {source: keys for source, keys in _sources(state, step).items() if set(keys) & set(listed)}
    quantities = [split_channel(source.channel)[1] for source in here]
    facts = []
    for source, keys in here.items():
        probe, quantity = split_channel(source.channel)
        words = QUANTITIES[quantity].words + (f" at {probe}" if quantities.count(quantity) > 1 else "")
        now = _now(state, state.alarms.get((step.id, keys[0], source.channel)))
        facts.append([words, f"{written(quantity, now)}; {source.words}"])
    return facts
