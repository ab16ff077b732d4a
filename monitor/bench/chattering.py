"""A warning that comes and goes: from the third time within a minute on it stays standing, told once.

It stays so until its level has been known and not passed for long enough. A graver level warns all the same.
How often counts as chattering is the guide's start criterion; for how long it must be quiet is ours.
"""

from __future__ import annotations

from monitor.bench import warning_guide as guide
from monitor.bench.outputs import Output
from monitor.bench.rows import draft_of
from monitor.bench.state import Alarm, State

TIMES = round(guide.CHATTER_TIMES.value or 0)
WITHIN_MS = round(guide.CHATTER_WITHIN.value or 0) * 1000
QUIET_MS = round(guide.CHATTER_QUIET.value or 0) * 1000


def came(state: State, alarm: Alarm, mono_ms: int, out: list[Output]) -> None:
    """Count that a warning has just come at its level, and note when it comes and goes."""
    if alarm.chatters or state.every_passing:
        return
    alarm.came_ms = [[level, ms] for level, ms in alarm.came_ms if mono_ms - ms <= WITHIN_MS]
    alarm.came_ms = [*alarm.came_ms, [alarm.level, mono_ms]]
    times = sum(level == alarm.level for level, _ in alarm.came_ms)
    if times < TIMES:
        return
    alarm.chatters, alarm.came_ms, alarm.quiet_ms = True, [], None
    body = {"times": times, "within_s": WITHIN_MS // 1000, "quiet_s": QUIET_MS // 1000}
    out.append(draft_of(state, alarm, "alarm_chatters", mono_ms, body))


def hear(alarm: Alarm, mono_ms: int, *, known: bool) -> None:
    """Let the quiet begin, go on or end, with what is known at an instant."""
    if not known or alarm.highest() >= alarm.level:
        alarm.quiet_ms = None
    elif alarm.quiet_ms is None:
        alarm.quiet_ms = mono_ms


def due(alarm: Alarm) -> int | None:
    """Give the instant at which it has been quiet for long enough."""
    return alarm.quiet_ms + QUIET_MS if alarm.chatters and alarm.quiet_ms is not None else None


def over(alarm: Alarm) -> None:
    """Let a warning follow its condition again."""
    alarm.chatters, alarm.came_ms, alarm.quiet_ms = False, [], None
