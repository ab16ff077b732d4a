"""What the station gives the fold of the past: the mean of a channel over the last 30 days, out of the store.

It is a trailing mean: it follows the room with half its length behind. It enters as a recorded input, so that
what is judged against it can be judged again from the record.
"""

from __future__ import annotations

from monitor.bench.inputs import Asked
from monitor.bench.outputs import Output, Refusal
from monitor.bench.state import State

KIND = "past_measured"
EVERY_MS = 3_600_000
DAYS = 30


def wanted(state: State, mono_ms: int) -> list[str]:
    """List the channels whose mean a limit in force looks back on and that was not given within the hour."""
    return [
        name
        for (name, inputs), past in state.past.items()
        if past.has_mean and not inputs and (past.mean_ms is None or mono_ms >= past.mean_ms + EVERY_MS)
    ]


def past_measured(state: State, item: Asked, out: list[Output]) -> Refusal | None:
    """Take a mean; without an hour in it, that there is none."""
    del out
    past = state.past.get((item.body["channel"], ()))
    if past is None or not past.has_mean:
        found = "no limit in force looks back on it"
        return Refusal(f"channel {item.body['channel']}", found, "a channel that one does", "Leave it out.")
    mean = item.body["mean"]
    past.mean, past.mean_h, past.mean_ms = None if mean is None else float(mean), item.body["covered_h"], item.mono_ms
    return None
