"""What a step's limits judge: the channels bound to their roles, and what is computed from those."""

from __future__ import annotations

from monitor.bench.alarms import AlarmState
from monitor.bench.derived import Source, sources
from monitor.bench.limits import BY_STAGE
from monitor.bench.quantities import QUANTITIES
from monitor.bench.sheets import Limit
from monitor.bench.state import Alarm, Step
from monitor.bench.windows import Window


def alarms_of(step: Step) -> list[Alarm]:
    """Make a step's warnings: every limit on every channel bound to its role, or computed from those.

    In the order of their keys, because a sheet read from the day-book has lost any other.
    """
    made = []
    for _, limit in sorted(step.sheet.limits.items()):
        for source in judged(step, limit):
            windows = [
                Window(level.at, limit.side == "high", limit.deadband, limit.on_delay_ms, limit.off_delay_ms)
                for level in limit.levels
            ]
            alarm = Alarm(step.id, limit, source.channel, windows, inputs=source.inputs)
            if limit.key not in step.stage_now().limits:
                alarm.state, alarm.off_by = AlarmState.SUPPRESSED, BY_STAGE
            made.append(alarm)
    return made


def judged(step: Step, limit: Limit) -> list[Source]:
    """List the channels of a step that a limit judges; a measured one is computed from nothing."""
    if QUANTITIES[limit.quantity].derived:
        return sources(limit, step.sheet, step.bindings)
    return [Source(channel) for channel in step.channels(limit.role, limit.quantity)]
