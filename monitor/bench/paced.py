"""The quantities judged at ticks, and the seam for those that later code works out."""

from __future__ import annotations

from monitor.bench.derived import Source
from monitor.bench.pace import MINUTE_MS, SECOND_MS, Paced, Served, Sources, Value
from monitor.bench.quantities import channel_name
from monitor.bench.sheets import Limit
from monitor.bench.state import Alarm, State
from monitor.bench.windowed import WINDOWED

PROVIDERS: dict[str, Value] = {}
"""Of a foretold quantity: how it is worked out. Without an entry nothing is known of it, and no step takes it."""


def _of_step(limit: Limit, at: Served) -> list[Source]:
    """One channel for each step, named by the step."""
    return [Source(channel_name(at.step, limit.quantity))] if limit.quantity in PROVIDERS else []


def _foretold(every_ms: int, quantity: str, sources: Sources = _of_step) -> Paced:
    def value(state: State, alarm: Alarm, mono_ms: int) -> float | None:
        provider = PROVIDERS.get(quantity)
        return None if provider is None else provider(state, alarm, mono_ms)

    return Paced(every_ms, value, sources)


PACED: dict[str, Paced] = {
    **WINDOWED,
    "forecast_crossing": _foretold(MINUTE_MS, "forecast_crossing"),
    "countdown": _foretold(SECOND_MS, "countdown"),
    "hold_condition": _foretold(SECOND_MS, "hold_condition"),
}
