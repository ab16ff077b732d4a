"""Tracker: more new warnings than can be looked at one by one are told as one.

Counted is what is told, so that one passing that several steps watch counts once. Every row is still written.
"""

from __future__ import annotations

from monitor.bench import warning_guide as guide
from monitor.bench.outputs import Draft, Output
from monitor.bench.readings import Reading
from monitor.bench.state import State
from monitor.bench.watches import Watch

ABOVE = round(guide.FLOOD_ABOVE.value or 0)
BELOW = round(guide.FLOOD_BELOW.value or 0)
WITHIN_MS = guide.TEN_MINUTES_MS
MOST_KEPT = 100
"""So many instants are kept; where there are more, there are at least so many."""


def came(state: State, mono_ms: int, out: list[Output]) -> int:
    """Count a warning that is told now; give how many came within the time where they are told as one, else 0."""
    state.raised_ms = [*within(state, mono_ms), mono_ms][-MOST_KEPT:]
    count = len(state.raised_ms)
    if state.flood_ms is None:
        if count <= ABOVE:
            return 0
        state.flood_ms, state.flood_count = mono_ms, count
        out.append(Draft("flood_began", mono_ms, {"count": count, "within_s": WITHIN_MS // 1000}))
    else:
        state.flood_count += 1
    return count


def within(state: State, mono_ms: int) -> list[int]:
    """Give the instants of the warnings told within the time before an instant."""
    return [ms for ms in state.raised_ms if ms > mono_ms - WITHIN_MS]


class Flood:
    """Ends a flood at the first whole second at which few enough have come."""

    def reading(self, state: State, watch: Watch, item: Reading, out: list[Output]) -> None:
        """Take no notice: only what is told and time count."""

    def tick(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """End a flood that is over."""
        due = self.due(state)
        if state.flood_ms is None or due is None or due > mono_ms:
            return
        seconds = (mono_ms - state.flood_ms) // 1000
        out.append(Draft("flood_ended", mono_ms, {"count": state.flood_count, "seconds": seconds}))
        state.flood_ms, state.flood_count = None, 0

    def due(self, state: State) -> int | None:
        """Give the instant from which on fewer have come than keep a flood going."""
        if state.flood_ms is None:
            return None
        return state.raised_ms[-BELOW] + WITHIN_MS if len(state.raised_ms) >= BELOW else state.mono_ms

    def broken(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Go on counting: what was told before an interruption was told."""
