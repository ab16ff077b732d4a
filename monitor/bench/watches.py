"""For each channel: who looks at it, and the range in which none of them can have anything to say.

A reading inside that range only has to be remembered. This keeps the fold fast however many
limits there are, and is rebuilt from the state whenever a slow input has passed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

from monitor.bench.state import Alarm, Channel, State, Step


@dataclass(slots=True)
class Watch:
    """One channel's onlookers.

    Attributes:
        alarms: warnings on it.
        tools: steps whose contact it may belong to.
        low, high: while calm, values strictly between need no second look.
        calm: no delay runs, no level stands, no fault, and no tool is in use on places.
    """

    channel: Channel
    alarms: list[Alarm] = field(default_factory=list)
    tools: list[Step] = field(default_factory=list)
    low: float = -inf
    high: float = inf
    calm: bool = False

    def settle(self) -> None:
        """Work out whether it is calm, and within which values it stays so."""
        channel = self.channel
        windows = [w for alarm in self.alarms for w in alarm.windows]
        self.calm = (
            channel.last_ms is not None
            and channel.quality == 0
            and channel.value is not None
            and not channel.fault
            and channel.gap_since is None
            and not any(w.active or w.since is not None for w in windows)
            and not any(step.stage_now().has_contacts for step in self.tools)
        )
        self.high = min((w.at for w in windows if w.high), default=inf)
        self.low = max((w.at for w in windows if not w.high), default=-inf)


def rebuild(state: State) -> None:
    """Build every watch anew from steps and warnings."""
    state.watches = {name: Watch(channel) for name, channel in state.channels.items()}
    for alarm in state.alarms.values():
        watch = state.watches.get(alarm.channel)
        if watch is not None:
            watch.alarms.append(alarm)
    for step in state.steps.values():
        if step.places is not None:
            for name in tool_channels(step):
                if name in state.watches:
                    state.watches[name].tools.append(step)
    for watch in state.watches.values():
        watch.settle()


def tool_channels(step: Step) -> list[str]:
    """List the channels that give the tool's temperature of a step."""
    return [c for b in step.bindings for c in b.channels if c.endswith(".tool_temperature")]
