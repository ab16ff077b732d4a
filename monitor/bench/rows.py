"""The day-book rows of warnings."""

from __future__ import annotations

from typing import Any

from monitor.bench.events import decimal
from monitor.bench.outputs import Draft
from monitor.bench.state import Alarm, State

PLACES_OF_VALUES = 2


def value_of(alarm: Alarm) -> str | None:
    """Write what is read or computed now, None where nothing is known."""
    return None if alarm.value is None else decimal(alarm.value, PLACES_OF_VALUES)


def draft_of(
    state: State, alarm: Alarm, kind: str, mono_ms: int, body: dict[str, Any],
    by: str | None = None, via: str = "station",
) -> Draft:  # fmt: skip
    """Give a day-book row of a warning."""
    step, limit, channel = alarm.key
    bench = state.steps[step].bench if step in state.steps else None
    full = {"step": step, "limit": limit, "channel": channel, **body}
    return Draft(kind, mono_ms, full, step=step, bench=bench, by=by, via=via)


def raised_body(alarm: Alarm, why: str) -> dict[str, Any]:
    """Give the body of a row that says that a warning was raised."""
    limit, level = alarm.limit, alarm.limit.levels[alarm.level]
    body: dict[str, Any] = {
        "quantity": limit.quantity, "side": limit.side, "at": f"{level.at:g}", "value": value_of(alarm),
        "priority": level.priority, "source": level.source, "grade": level.grade, "locator": level.locator,
    }  # fmt: skip
    judged_at = limit.judged_at(level, alarm.channel)
    if judged_at != level.at:
        body["judged_at"] = f"{judged_at:g}"
    if limit.of:
        body |= {"of": limit.of, "threshold": f"{limit.threshold:g}"}
    return {**body, "why": why} if why else body
