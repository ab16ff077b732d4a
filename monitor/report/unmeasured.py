"""What was not measured: stretches in which a probe or the whole board gave nothing."""

from __future__ import annotations

from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.report.record import Row
from monitor.report.words import QUALITY_WORDS, When, seconds


def unmeasured_sentences(rows: list[Row], when: When) -> list[str]:
    """Say each stretch without readings as a sentence, in the order they began."""
    running: dict[str, tuple[int, Row]] = {}
    said: list[tuple[int, str]] = []
    for place, row in enumerate(rows):
        channel = row["body"].get("channel")
        if row["kind"] in ("probe_fault", "probe_stale"):
            running.setdefault(channel, (place, row))
        elif row["kind"] == "probe_restored" and channel in running:
            said.append((running[channel][0], _ended(running.pop(channel)[1], row, when)))
        elif row["kind"] == "segment_started" and row["body"]["gap_ms"] != 0 and place > 0:
            said.append((place, _interrupted(row, when)))
    said += [(place, f"{_what(row)} from {when.time(_since(row))} on, to the end: {_cause(row)}.")
             for place, row in running.values()]  # fmt: skip
    return [sentence for _, sentence in sorted(said)]


def _what(row: Row) -> str:
    probe, quantity = split_channel(row["body"]["channel"])
    return f"{QUANTITIES[quantity].words.capitalize()} ({probe})"


def _since(row: Row) -> int | None:
    began = row["body"].get("from_mono_ms", row["body"].get("last_mono_ms"))
    return None if row["at_ms"] is None else int(row["at_ms"] - row["mono_ms"] + began)


def _cause(row: Row) -> str:
    if row["kind"] == "probe_stale":
        return "nothing came from the probe"
    return QUALITY_WORDS.get(row["body"]["quality"], str(row["body"]["quality"]))


def _ended(fault: Row, restored: Row, when: When) -> str:
    lasted = seconds(restored["body"]["gap_ms"])
    stretch = f"{when.time(_since(fault))} to {when.time(restored['at_ms'])}"
    return f"{_what(fault)} from {stretch}, {lasted}: {_cause(fault)}."


def _interrupted(row: Row, when: When) -> str:
    gap_ms = row["body"]["gap_ms"]
    lasted = "for a time not known" if gap_ms is None else f"for {seconds(gap_ms)}"
    return f"Everything, {lasted} before {when.time(row['at_ms'])}: the station did not run."
