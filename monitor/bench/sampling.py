"""Tracker: samples, at every whole minute, the channels whose past a limit in force looks back on."""

from __future__ import annotations

from math import inf

from monitor.bench.computed import Computed
from monitor.bench.outputs import Output
from monitor.bench.pace import MINUTE_MS
from monitor.bench.quantities import split_channel
from monitor.bench.readings import Quality, Reading
from monitor.bench.state import PastKey, State
from monitor.bench.watches import Watch
from monitor.bench.windowed import MINUTES_ABOVE, key_of

Sample = tuple[float | None, bool | None]
"""A value and what it bounds, as of `Computed`; a measured one clipped is beyond everything on its side."""


class Sampling:
    """Takes samples; comes before what judges them."""

    def reading(self, state: State, watch: Watch, item: Reading, out: list[Output]) -> None:
        """Take no notice: only whole minutes count."""

    def tick(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Sample at a whole minute, once."""
        del out
        if mono_ms % MINUTE_MS or state.paced_ms == mono_ms:
            return
        taken: dict[PastKey, Sample] = {}
        for key, past in state.past.items():
            taken[key] = _sample(state, key, mono_ms)
            value, bound = taken[key]
            past.take(mono_ms, value if bound is None else None)
        for alarm in state.alarms.values():
            if alarm.limit.quantity == MINUTES_ABOVE and not alarm.unfed:
                alarm.minutes += _above(alarm.limit.threshold, *taken[key_of(alarm)])

    def due(self, state: State) -> int | None:
        """Leave it to the warnings that look back: they are due at the same minutes."""

    def broken(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Leave it to the engine, which knows how long the interruption was."""


def _sample(state: State, key: PastKey, mono_ms: int) -> Sample:
    name, inputs = key
    if inputs:
        channels = tuple(c for name in inputs if (c := state.channels.get(name)) is not None)
        known = len(channels) == len(inputs)
        return Computed(split_channel(name)[1], channels).at(mono_ms) if known else (None, None)
    channel = state.channels.get(name)
    held = None if channel is None else channel.held_until()
    if channel is None or held is None or held < mono_ms or channel.value is None:
        return None, None
    if channel.quality == Quality.CLIPPED:
        return (inf, True) if channel.value > 0 else (-inf, False)
    return channel.value, None


def _above(threshold: float, value: float | None, at_least: bool | None) -> bool:
    return value is not None and at_least is not False and value > threshold
