"""Builds the whole view from the fold's state: everything a page may show live."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from monitor.bench.alarms import CAN_BE_SEEN, AlarmState
from monitor.bench.outputs import Estimate
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.bench.readings import Quality
from monitor.bench.sheets import Sheet
from monitor.bench.state import Alarm, Channel, State
from monitor.config import ProbeConfig, Studio
from monitor.link.view import (
    ChannelView,
    FaultView,
    FloodView,
    PaintingView,
    ProbeView,
    SheetView,
    View,
    WarningView,
)
from monitor.link.way_view import WayView
from monitor.station.saying import quality_word
from monitor.station.view_steps import StepViews
from monitor.station.warning_words import (
    comes_and_goes,
    flood_words,
    is_held_back,
    is_shown,
    state_words,
    warning_sentence,
)
from monitor.station.words import fault_words, probe_of

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
        "flood": _flood(state, at, now_ms),
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


def _flood(state: State, at: At, now_ms: int) -> FloodView | None:
    if state.flood_ms is None:
        return None
    count, words = flood_words(state, now_ms)
    return {"count": count, "since_ms": at(state.flood_ms), "words": words}


def warnings(state: State, at: At) -> list[WarningView]:
    """List the warnings that stand or wait to be seen, the most severe first."""
    shown = [a for a in state.alarms.values() if is_shown(a) and a.step in state.steps]
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
        "words": state_words(alarm),
        "priority": level.priority,
        "painting": painting.name if painting else "",
        "bench": step.bench,
        "sentence": warning_sentence(state, alarm),
        "what_to_do": "" if over else alarm.limit.what_to_do,
        "causes": list(alarm.limit.causes),
        "consequence": alarm.limit.consequence,
        "side": alarm.limit.side,
        "at": level.at,
        "judged_at": alarm.limit.judged_at(level, alarm.channel),
        "time_to_respond_s": alarm.limit.time_to_respond_s,
        "began_ms": at(None if alarm.since_ms is None else alarm.since_ms - alarm.limit.on_delay_ms),
        "since_ms": at(alarm.since_ms),
        "over": over and alarm.state is not AlarmState.OUT_OF_SERVICE,
        "may_be_seen": alarm.state in CAN_BE_SEEN,
        "silent_until_ms": at(alarm.shelved_until_ms),
        "comes_and_goes": comes_and_goes(alarm),
        "held_back": is_held_back(alarm),
    }
