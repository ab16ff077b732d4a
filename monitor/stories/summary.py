"""What a story came to, counted from its day-book alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from monitor.stories.script import Script

Row = dict[str, Any]


@dataclass(frozen=True)
class StoryResult:
    """A story that was played.

    Attributes:
        script: what was played.
        events: the day-book's rows in order.
        summary: what it came to, a line each.
    """

    script: Script
    events: list[Row]
    summary: list[str]


def result_of(script: Script, events: list[Row]) -> StoryResult:
    """Give the result of a story from the day-book it left."""
    return StoryResult(script, events, summary(script, events))


def summary(script: Script, events: Sequence[Row]) -> list[str]:
    """Count places, warnings, gaps and what was not known."""
    of: dict[str, list[Row]] = {}
    for row in events:
        of.setdefault(row["kind"], []).append(row)
    return [
        f"{script.title}: {script.lasts_ms // 60_000} min of studio time, {len(events)} rows in the day-book",
        *_steps(of),
        *_places(of),
        *_warnings(of),
        *_probes(of),
        f"notes: {len(of.get('note_written', []))}",
    ]


def _steps(of: dict[str, list[Row]]) -> list[str]:
    finished = {row["step"] for row in of.get("step_finished", [])}
    return [
        f"step {row['step']}: {row['body']['title']}, {'finished' if row['step'] in finished else 'still running'}"
        for row in of.get("step_started", [])
    ]


def _places(of: dict[str, list[Row]]) -> list[str]:
    asked = sum(row["body"]["places"] or 0 for row in of.get("step_started", []))
    if not asked:
        return []
    ended = of.get("contact_ended", [])
    worked = {(r["step"], r["body"]["side"], r["body"]["place"]) for r in ended}
    taken_back = len(of.get("contact_voided", []))
    last = {(r["step"], r["body"]["side"], r["body"]["place"]): r["body"] for r in of.get("place_judged", [])}
    verdicts = Counter(body["verdict"] for body in last.values())
    reasons = Counter(r["body"]["reason"] for r in of["place_judged"] if r["body"]["verdict"] == "not known")
    lines = [
        f"places: {len(worked)} of {asked} worked in {len(ended)} contacts, {taken_back} marks taken back",
        f"verdicts: {_counted(verdicts)}",
    ]
    if reasons:
        lines.append(f"not known, contact by contact: {_counted(reasons)}")
    return lines


def _warnings(of: dict[str, list[Row]]) -> list[str]:
    raised = Counter(row["body"]["limit"] for row in of.get("alarm_raised", []))
    seen = Counter(row["by"] or "nobody" for row in of.get("alarm_seen", []))
    returned = len(of.get("alarm_returned", []))
    if not raised:
        return ["warnings: none"]
    return [f"warnings: {_counted(raised)}; seen by {_counted(seen) or 'nobody'}; {returned} came back inside"]


def _probes(of: dict[str, list[Row]]) -> list[str]:
    faults = [f"{r['body']['probe']} {r['body']['quality']}" for r in of.get("probe_fault", [])]
    silent = [f"{r['body']['probe']} silent" for r in of.get("probe_stale", [])]
    gap_s = sum(row["body"]["gap_ms"] for row in of.get("probe_restored", [])) / 1000
    gaps = sum(row["body"]["gaps"] for row in of.get("contact_ended", []))
    named = _counted(Counter(faults + silent)) or "none"
    return [f"probe faults: {named}; {gap_s:.0f} s without readings; {gaps} gaps while the tool was down"]


def _counted(counts: Counter[str]) -> str:
    return ", ".join(f"{count} {what}" for what, count in sorted(counts.items(), key=lambda c: (-c[1], c[0])))
