"""For each channel: who looks at it, and the range in which none of them can have anything to say.

A reading inside that range only has to be remembered. This keeps the fold fast however many
limits there are, and is rebuilt from the state whenever a slow input has passed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

from monitor.bench.alarms import AlarmState
from monitor.bench.computed import Computed
from monitor.bench.paced import PACED
from monitor.bench.readings import Reading
from monitor.bench.state import Alarm, Channel, State, Step
from monitor.bench.windowed import keep


@dataclass(slots=True)
class Watch:
    """One channel's onlookers.

    Attributes:
        alarms: warnings on it.
        tools: steps whose contact it may belong to.
        feeds: what is computed from it.
        low, high: while calm, values strictly between need no second look; none where it feeds something.
        inner: the same values where it feeds something, which has to be looked at too.
        calm: no delay runs, no level stands, no fault, and no tool is in use on places; nor in what it feeds.
    """

    channel: Channel
    alarms: list[Alarm] = field(default_factory=list)
    tools: list[Step] = field(default_factory=list)
    feeds: list[Computed] = field(default_factory=list)
    low: float = -inf
    high: float = inf
    inner: tuple[float, float] = (-inf, inf)
    calm: bool = False

    def settle(self) -> None:
        """Work out whether it is calm, and within which values it stays so."""
        windows = [w for alarm in self.alarms for w in alarm.windows]
        self.calm = (
            self.channel.is_good()
            and not any(w.active or w.since is not None for w in windows)
            and not any(alarm.chatters for alarm in self.alarms)
            and not any(step.stage_now().has_contacts for step in self.tools)
            and all(computed.calm for computed in self.feeds)
        )
        self.high = min((w.at for w in windows if w.high), default=inf)
        self.low = max((w.at for w in windows if not w.high), default=-inf)
        if self.feeds:
            self.inner, self.low, self.high = (self.low, self.high), inf, -inf

    def passes(self, item: Reading, mono_ms: int) -> bool:
        """Tell whether, while calm, a reading leaves what it feeds calm too; then it is remembered.

        Args:
            mono_ms: the last input's instant; none comes before it.
        """
        value, channel, (low, high) = item.value, self.channel, self.inner
        if value is None or item.quality or not low < value < high or item.mono_ms < mono_ms:
            return False
        for computed in self.feeds:
            if not computed.stays_calm(channel, value, item.mono_ms):
                return False
        channel.last_ms, channel.value = item.mono_ms, value
        return True


def rebuild(state: State) -> None:
    """Build every watch anew from steps and warnings."""
    state.watches = {name: Watch(channel) for name, channel in state.channels.items()}
    for alarm in state.alarms.values():
        watch = state.watches.get(alarm.channel)
        if watch is not None and not alarm.inputs:
            watch.alarms.append(alarm)
    _compute(state)
    keep(state)
    for step in state.steps.values():
        if step.places is not None:
            for name in tool_channels(step):
                if name in state.watches:
                    state.watches[name].tools.append(step)
    settle(state)


def settle(state: State) -> None:
    """Work out everywhere what is calm."""
    for computed in state.computed.values():
        computed.settle()
    for watch in state.watches.values():
        watch.settle()


def _compute(state: State) -> None:
    """Build anew what is computed, each once however many steps judge it."""
    state.computed = {}
    for alarm in state.alarms.values():
        if not alarm.inputs:
            continue
        alarm.unfed = _unfed(state, alarm)
        if alarm.unfed:
            alarm.gap()
            for window in alarm.windows:
                window.before = None
        if alarm.limit.quantity in PACED:
            continue
        key = alarm.channel, alarm.inputs
        if key not in state.computed:
            if not all(name in state.channels for name in alarm.inputs):
                continue
            inputs = tuple(state.channels[name] for name in alarm.inputs)
            state.computed[key] = Computed(alarm.limit.quantity, inputs)
            for name in alarm.inputs:
                state.watches[name].feeds.append(state.computed[key])
        state.computed[key].alarms.append(alarm)


def _unfed(state: State, alarm: Alarm) -> bool:
    """Tell whether the probe of an input is not in use in the same step."""
    return any(
        other.state is AlarmState.OUT_OF_SERVICE and other.step == alarm.step and other.channel in alarm.inputs
        for other in state.alarms.values()
    )


def tool_channels(step: Step) -> list[str]:
    """List the channels that give the tool's temperature of a step."""
    return [c for b in step.bindings for c in b.channels if c.endswith(".tool_temperature")]
