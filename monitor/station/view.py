"""Builds the whole view from the fold's state: everything a page may show live."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from monitor.bench.alarms import CAN_BE_SEEN, SCREEN_WORDS, SHOWN, AlarmState
from monitor.bench.outputs import Estimate
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.bench.readings import Quality
from monitor.bench.sheets import Sheet
from monitor.bench.state import Alarm, Channel, State
from monitor.config import ProbeConfig, Studio
from monitor.link.view import (
    ChannelView,
    FaultView,
    PaintingView,
    ProbeView,
    SheetView,
    View,
    WarningView,
    WayView,
)
from monitor.station.computed_told import computed_clause
from monitor.station.saying import quality_word
from monitor.station.view_steps import StepViews
from monitor.station.words import fault_words, figure, probe_of, sentence

PRIORITIES = ("high", "medium", "low")
At = Callable[[int | None], int | None]


@dataclass(frozen=True)
class Surroundings:
    """What stays the same while the station runs.

    Attributes:
        studio: the configuration.
        sheets: the working sheets that can be started.
        sources: where each probe's readings come from, by probe; "simulated ..." when they are.
    """

    studio: Studio
    sheets: Mapping[str, Sheet]
    sources: Mapping[str, str]

    @property
    def simulated(self) -> bool:
        """Tell whether any probe is simulated."""
        return any(source.startswith("simulated") for source in self.sources.values())


def build(
    around: Surroundings,
    state: State,
    at: At,
    *,
    now_ms: int,
    stored_at_ms: int | None,
    estimates: Mapping[tuple[str, str], Estimate],
    ways: list[WayView] | None = None,
) -> View:
    """Build the view.

    Args:
        around: configuration, sheets and sources.
        state: the fold's state; only read.
        at: gives UTC ms of a monotonic instant, None while the time is not known.
        now_ms: the present monotonic instant.
        stored_at_ms: UTC up to which everything is stored.
        estimates: the last estimate of each (step, depth).
        ways: the ways to be told.
    """
    return {
        "at_ms": at(now_ms),
        "revision": state.revision,
        "studio": around.studio.name,
        "simulated": around.simulated,
        "time_known": at(now_ms) is not None,
        "stored_at_ms": stored_at_ms,
        "benches": list(around.studio.benches),
        "probes": [_probe(around, state, at, probe) for probe in around.studio.probes],
        "paintings": [_painting(state, number) for number in state.paintings],
        "steps": StepViews(state, at, estimates).all(),
        "warnings": warnings(state, at),
        "sheets": [_sheet(sheet) for sheet in around.sheets.values()],
        "ways": ways or [],
    }


def _painting(state: State, number: str) -> PaintingView:
    painting = state.paintings[number]
    return {
        "number": painting.number,
        "name": painting.name,
        "support": painting.support,
        "beware": list(painting.beware),
    }


def _probe(around: Surroundings, state: State, at: At, probe: ProbeConfig) -> ProbeView:
    channels = [c for name, c in state.channels.items() if probe_of(name) == probe.name]
    source = around.sources.get(probe.name, "")
    sick = next((c for c in channels if c.fault or c.stale), None)
    return {
        "probe": probe.name,
        "bench": probe.bench,
        "part": probe.part,
        "source": source,
        "simulated": source.startswith("simulated"),
        "fault": None if sick is None else _fault(sick, at),
        "channels": [_channel(c, at) for c in channels],
    }


def _fault(channel: Channel, at: At) -> FaultView:
    quality = quality_word(channel)
    words, do = fault_words(quality)
    return {"quality": quality, "words": words, "do": do, "since_ms": at(channel.gap_since)}


def _channel(channel: Channel, at: At) -> ChannelView:
    quantity = QUANTITIES[split_channel(channel.name)[1]]
    return {
        "channel": channel.name,
        "quantity": quantity.key,
        "words": quantity.words,
        "symbol": quantity.symbol,
        "unit": quantity.unit,
        "value": None if channel.stale else channel.value,
        "at_ms": at(channel.last_ms),
        "quality": quality_word(channel) if channel.stale else Quality(channel.quality).word,
    }


def _sheet(sheet: Sheet) -> SheetView:
    return {
        "sheet": sheet.key,
        "title": sheet.title,
        "roles": {role: list(quantities) for role, quantities in sheet.roles.items()},
        "has_places": sheet.has_places,
        "asks_painting": sheet.asks_painting,
        "asks": [{"key": q.key, "text": q.text, "choices": list(q.choices)} for q in sheet.asks],
    }


def warnings(state: State, at: At) -> list[WarningView]:
    """List the warnings that stand or wait to be seen, the most severe first."""
    shown = [a for a in state.alarms.values() if a.state in SHOWN and a.step in state.steps]
    views = [_warning(state, at, alarm) for alarm in shown]
    return sorted(views, key=lambda w: (not w["may_be_seen"], PRIORITIES.index(w["priority"]), w["step"]))


def _warning(state: State, at: At, alarm: Alarm) -> WarningView:
    step = state.steps[alarm.step]
    painting = state.paintings.get(step.painting or "")
    level = alarm.limit.levels[max(alarm.level, 0)]
    over = alarm.level < 0
    return {
        "step": alarm.step,
        "limit": alarm.limit.key,
        "channel": alarm.channel,
        "state": alarm.state.value,
        "words": SCREEN_WORDS[alarm.state],
        "priority": level.priority,
        "painting": painting.name if painting else "",
        "bench": step.bench,
        "sentence": _warning_sentence(state, alarm, over),
        "what_to_do": "" if over else alarm.limit.what_to_do,
        "causes": list(alarm.limit.causes),
        "consequence": alarm.limit.consequence,
        "side": alarm.limit.side,
        "at": level.at,
        "began_ms": at(None if alarm.since_ms is None else alarm.since_ms - alarm.limit.on_delay_ms),
        "since_ms": at(alarm.since_ms),
        "over": over and alarm.state is not AlarmState.OUT_OF_SERVICE,
        "may_be_seen": alarm.state in CAN_BE_SEEN,
        "silent_until_ms": at(alarm.shelved_until_ms),
    }


def _warning_sentence(state: State, alarm: Alarm, over: bool) -> str:
    """Name painting and place, what is read there, and what was set."""
    step = state.steps[alarm.step]
    painting = state.paintings.get(step.painting or "")
    where = f"{painting.name}, {step.bench}" if painting else f"{sentence(step.bench)}"
    limit = alarm.limit
    quantity = QUANTITIES[limit.quantity]
    level = limit.levels[max(alarm.level, 0)]
    bound = f"you set {'at most' if limit.side == 'high' else 'at least'} {level.at:g} {quantity.symbol}"
    probe = probe_of(alarm.channel)
    if over:
        return f"{where}: {quantity.words} at {probe} was outside what you set ({bound}); it is inside again."
    if alarm.inputs:
        return f"{where}: {computed_clause(state, alarm, bound)}"
    channel = state.channels.get(alarm.channel)
    if channel is None or channel.value is None or channel.stale:
        return f"{where}: {quantity.words} at {probe} was last outside what you set ({bound}); now nothing is read."
    return f"{where}: {quantity.words} at {probe} is {figure(limit.quantity, channel.value)}; {bound}."
