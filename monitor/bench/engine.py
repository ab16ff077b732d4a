"""The heart: `advance(state, input) -> (state, outputs)`. No clock, no I/O, no chance.

The state is changed in place and given back; a refused request leaves it as it was.
"""

from __future__ import annotations

from typing import Any

from monitor.bench.inputs import Asked, Break, Input, Tick
from monitor.bench.kinds import KINDS
from monitor.bench.outputs import Draft, Output
from monitor.bench.readings import Reading
from monitor.bench.requests import ask
from monitor.bench.state import State
from monitor.bench.trackers import TRACKERS
from monitor.bench.watches import Watch, rebuild, settle

ENGINE_VERSION = 2
NOTHING: list[Output] = []


def fresh() -> State:
    """Give the state before the first input."""
    return State()


def advance(state: State, item: Input) -> tuple[State, list[Output]]:
    """Fold one input in.

    Args:
        state: changed in place.
        item: the next input; not earlier than the one before (ValueError otherwise).

    Returns:
        The state and what follows: day-book drafts, estimates, signals, or one Refusal.
    """
    if type(item) is Reading:
        watch = state.watches.get(item.channel)
        if watch is not None and watch.calm:
            value = item.value
            if (
                value is not None
                and watch.low < value < watch.high
                and not item.quality
                and item.mono_ms >= state.mono_ms
            ):
                channel = watch.channel
                channel.last_ms = state.mono_ms = state.input_ms = item.mono_ms
                channel.value = value
                return state, NOTHING
            if watch.feeds and watch.passes(item, state.mono_ms):
                state.mono_ms = state.input_ms = item.mono_ms
                return state, NOTHING
        return state, _reading(state, item, watch)
    if type(item) is Tick:
        return state, _tick(state, item)
    if type(item) is Asked:
        return state, _asked(state, item)
    assert type(item) is Break
    return state, _break(state, item)


def _in_order(state: State, mono_ms: int) -> None:
    if mono_ms < state.mono_ms:
        raise ValueError(f"input at {mono_ms} ms comes after one at {state.mono_ms} ms of the same boot")
    state.mono_ms = mono_ms


def _reading(state: State, item: Reading, watch: Watch | None) -> list[Output]:
    _in_order(state, item.mono_ms)
    state.input_ms = item.mono_ms
    if watch is None:
        raise ValueError(f"reading of {item.channel!r}, which is not among the settings in force")
    out: list[Output] = []
    for computed in watch.feeds:
        computed.take(item)
    for tracker in TRACKERS:
        tracker.reading(state, watch, item, out)
    channel = watch.channel
    channel.last_ms, channel.value, channel.quality = item.mono_ms, item.value, int(item.quality)
    for computed in watch.feeds:
        computed.settle()
    watch.settle()
    return _told(state, out)


def _tick(state: State, item: Tick) -> list[Output]:
    _in_order(state, item.mono_ms)
    out: list[Output] = []
    for tracker in TRACKERS:
        tracker.tick(state, item.mono_ms, out)
    settle(state)
    return _told(state, out)


def _asked(state: State, item: Asked) -> list[Output]:
    if item.mono_ms < state.mono_ms:
        _in_order(state, item.mono_ms)
    out: list[Output] = []
    refusal = ask(state, item, out)
    if refusal is not None:
        return [refusal]
    state.mono_ms = state.input_ms = item.mono_ms
    state.revision += 1
    rebuild(state)
    return _told(state, out)


def _break(state: State, item: Break) -> list[Output]:
    out: list[Output] = []
    restarted = item.boot != state.boot
    if restarted:
        for tracker in TRACKERS:
            tracker.broken(state, state.input_ms, out)
        _rebase(state, item)
        out = [_moved(o, item.mono_ms) if isinstance(o, Draft) else o for o in out]
    else:
        _in_order(state, item.mono_ms)
    if restarted:
        state.boot_from_ms, state.paced_ms = item.mono_ms, -1
    state.boot, state.mono_ms, state.input_ms = item.boot, item.mono_ms, item.mono_ms
    state.segment, state.offset_ms = item.segment, item.offset_ms
    rebuild(state)
    return _told(state, out)


def _moved(draft: Draft, mono_ms: int) -> Draft:
    return Draft(draft.kind, mono_ms, draft.body, draft.step, draft.bench, draft.by, draft.via)


def _rebase(state: State, item: Break) -> None:
    """Carry instants that outlive the interruption over to the new boot's monotonic scale."""
    if state.offset_ms is not None and item.offset_ms is not None:
        shift = state.offset_ms - item.offset_ms
    else:
        shift = item.mono_ms - (item.gap_ms or 0) - state.input_ms
    known = item.gap_ms is not None or None not in (state.offset_ms, item.offset_ms)
    for past in state.past.values():
        past.carry_over(shift, item.mono_ms, known=known)
    for step in state.steps.values():
        step.started_ms += shift
        step.stage_ms += shift
        if step.places is not None:
            step.places.lifted_ms += shift
    state.raised_ms = [ms + shift for ms in state.raised_ms]
    state.flood_ms = None if state.flood_ms is None else state.flood_ms + shift
    for alarm in state.alarms.values():
        if alarm.since_ms is not None:
            alarm.since_ms += shift
        if alarm.seen_ms is not None:
            alarm.seen_ms += shift
        alarm.came_ms = [[level, ms + shift] for level, ms in alarm.came_ms]
        if alarm.shelved_until_ms is not None:
            # A silence that ended while nothing ran ends now: before, there was nobody to tell.
            alarm.shelved_until_ms = max(alarm.shelved_until_ms + shift, item.mono_ms)


def _told(state: State, out: list[Output]) -> list[Output]:
    if any(isinstance(o, Draft) for o in out):
        state.revision += 1
    return out


def next_due(state: State) -> int | None:
    """Give the earliest instant at which a tick could change anything, or None."""
    dues = [d for tracker in TRACKERS if (d := tracker.due(state)) is not None]
    return min(dues, default=None)


def may_be_kept(state: State) -> bool:
    """Tell whether the state may be stored: an estimate in progress is not part of its form."""
    return not any(step.places and step.places.contact for step in state.steps.values())


def record_of(item: Input) -> Draft | None:
    """Give the day-book row of a Break or a request, to be written before its effects."""
    if isinstance(item, Break):
        reason = "start" if item.gap_ms != 0 else "clock set"
        body: dict[str, Any] = {
            "segment": item.segment, "offset_ms": item.offset_ms, "gap_ms": item.gap_ms, "reason": reason,
        }  # fmt: skip
        return Draft("segment_started", item.mono_ms, body)
    if isinstance(item, Asked):
        step = item.body.get("step") if item.kind != "settings_in_force" else None
        bench = item.body.get("bench") if item.kind == "step_asked" else None
        return Draft(item.kind, item.mono_ms, item.body, step=step, bench=bench, by=item.by, via=item.via)
    return None


def input_of(row: dict[str, Any]) -> Input | None:
    """Give the input a day-book row stands for, or None when its kind is no input."""
    if KINDS[row["kind"], row["v"]].role != "input":
        return None
    body = row["body"]
    if row["kind"] == "segment_started":
        return Break(row["mono_ms"], row["boot"], body["segment"], body["offset_ms"], body["gap_ms"])
    age_ms = body.get("age_ms", 0)
    return Asked(row["mono_ms"], row["kind"], row["by"], row["via"], body, None, age_ms)
