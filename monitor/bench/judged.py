"""What a step's limits judge: the channels bound to their roles, and what is computed from those."""

from __future__ import annotations

from monitor.bench.alarms import AlarmState
from monitor.bench.derived import Source, sources, unserved
from monitor.bench.moves import BY_STAGE
from monitor.bench.pace import Served, served
from monitor.bench.paced import PACED
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.bench.sheets import Limit
from monitor.bench.state import Alarm, State, Step
from monitor.bench.windowed import WINDOWS, of_what
from monitor.bench.windows import Window


def alarms_of(state: State, step: Step) -> list[Alarm]:
    """Make a step's warnings: every limit on every channel bound to its role, or computed from those.

    In the order of their keys, because a sheet read from the day-book has lost any other.
    """
    made = []
    for _, limit in sorted(step.sheet.limits.items()):
        for source in judged(state, step, limit):
            alarm = Alarm(step.id, limit, source.channel, windows_of(limit, source.channel), inputs=source.inputs)
            if limit.key not in step.stage_now().limits:
                alarm.state, alarm.off_by = AlarmState.SUPPRESSED, BY_STAGE
            made.append(alarm)
    return made


def windows_of(limit: Limit, channel: str) -> list[Window]:
    """Make the windows of a limit's levels on a channel."""
    return [
        Window(limit.judged_at(level, channel), limit.side == "high", limit.deadband, limit.on_delay_ms,
               limit.off_delay_ms)
        for level in limit.levels
    ]  # fmt: skip


def judged(state: State, step: Step, limit: Limit) -> list[Source]:
    """List the channels of a step that a limit judges; a measured one is computed from nothing."""
    return judged_at(limit, served(state, step))


def judged_at(limit: Limit, at: Served) -> list[Source]:
    """List the channels a limit judges, or would if its step ran."""
    paced = PACED.get(limit.quantity)
    if paced is not None:
        return paced.sources(limit, at)
    if QUANTITIES[limit.quantity].derived:
        return sources(limit, at.sheet, at.bindings)
    names = [c for b in at.bindings if b.role == limit.role for c in b.channels]
    return [Source(c) for c in names if split_channel(c)[1] == limit.quantity]


def lacking(limit: Limit, at: Served) -> tuple[str, str] | None:
    """Say why a limit cannot be judged, and what was expected; None if it can."""
    unguarded = [s.channel for s in judged_at(limit, at) if s.channel not in {g.channel for g in limit.guards}]
    if limit.margin and unguarded:
        return f"its margin {limit.margin} is not worked out for {unguarded[0]}", "one for each channel it judges"
    if not QUANTITIES[limit.quantity].derived or judged_at(limit, at):
        return None
    if limit.quantity not in PACED:
        return unserved(limit, at.sheet, at.bindings)
    if limit.quantity in WINDOWS:
        return f"no probe of role {limit.role} gives {of_what(limit)}", "one that does"
    return f"nothing here gives {limit.quantity}", "probes and settings that do, in a version that knows it"
