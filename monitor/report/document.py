"""The report as data: plain words and figures for the template, which adds nothing of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from monitor.report.excursions import excursion_sentences, read_excursions
from monitor.report.limits import (
    InForce,
    adhesive_sentences,
    limit_sentences,
    limits_in_force,
    source_sentences,
)
from monitor.report.outside import outside_sentence, read_outside
from monitor.report.pictures import chart_svg, rules_svg, seam_svg
from monitor.report.places import PlaceRow, place_rows
from monitor.report.probes_used import Used, probes_used
from monitor.report.record import Row, StepRecord
from monitor.report.selection import Selection, rows_of, selection_of, step_record
from monitor.report.unmeasured import unmeasured_sentences
from monitor.report.words import When, seconds

if TYPE_CHECKING:
    from monitor.store.store import Store

NOT_TRIED = "Estimates, not tried on a mock-up: no verdict."
CLAIMS = (
    "The monitor is no safety device. It replaces no cut-out and no supervision, and measures no vapour.",
    "It is not a substitute for a qualified conservator. Local codes come first.",
)
BY_HAND = "Whether a bond holds is checked by hand when it is cold; nothing here says that it does."
ESTIMATED = (
    "The tool's dial is not the adhesive: temperatures at the adhesive are computed from the tool's through the "
    "layers, and shown where they were highest."
)
SIMULATED = "Simulated: these readings come from a simulated studio. No painting was treated."


@dataclass(frozen=True)
class Document:
    """Everything a report is made of.

    Attributes:
        data: what the template prints; strings, lists and objects only.
        pictures: file name -> SVG text.
        selection: what the embedded readings are taken by.
        rows: the day-book rows it speaks of.
        made_ms: instant the file is dated with: the newest of its data, UTC ms.
    """

    data: dict[str, Any]
    pictures: dict[str, str]
    selection: Selection
    rows: list[Row]
    made_ms: int


def document_of(
    store: Store, step: str, when: When | None = None, titles: Mapping[str, str] | None = None
) -> Document:
    """Gather a step's report; BadInput when there is no such step or it has no date.

    Args:
        store: whence everything comes.
        step: its id.
        when: zone of the printed times; UTC unless told.
        titles: source key -> title.
    """
    when = when or When()
    record = step_record(store, step)
    selection = selection_of(store, record)
    rows = rows_of(store, selection)
    limits = limits_in_force(store, record, selection)
    outside, places, used = read_outside(rows), place_rows(record), probes_used(store, record, selection, rows)
    pictures, table = _places(record, places)
    pictures["chart.svg"] = chart_svg(store, record, selection, limits, outside, when)
    warned = [outside_sentence(one, when) for one in outside]
    beyond = excursion_sentences(read_excursions(store, selection, limits), when)
    data = {
        "heading": _heading(record, when),
        "simulated": SIMULATED if any(one.simulated for one in used) else "",
        "table": table,
        "chart_note": _chart_note(record, selection, when),
        "not_tried": NOT_TRIED if any(row.band is not None for row in places) else "",
        "lists": _lists(record, rows, [*warned, *beyond], used, limits, titles or {}, when),
    }
    return Document(data, pictures, selection, rows, selection.to_ms - 1)


def _heading(record: StepRecord, when: When) -> dict[str, Any]:
    painting = record.painting
    name = painting.get("name") or (f"Painting {painting['number']}" if painting else record.title)
    number = f"no. {painting['number']}" if painting else ""
    side = f"side {record.side}" if record.side else ""
    title = record.title if painting else "no painting"
    return {
        "name": name,
        "under": [part for part in (number, painting.get("support", "")) if part],
        "beware": list(painting.get("beware", [])),
        "step": ", ".join(part for part in (title, side) if part),
        "when": f"{when.stretch(record.from_ms, record.to_ms)} ({when.zone_words})",
        "who": ", ".join(record.people) or "nobody entered initials",
        "bench": record.bench or "no bench named",
        "id": record.step,
    }


def _places(record: StepRecord, rows: list[PlaceRow]) -> tuple[dict[str, str], dict[str, Any]]:
    if not rows:
        return {}, {"rows": []}
    head, rules = rules_svg(record, rows)
    pictures = {"seam.svg": seam_svg(record, rows)}
    if head:
        pictures["rule-head.svg"] = head
    lines = []
    for row, rule in zip(rows, rules, strict=True):
        name = f"rule-{row.place}.svg" if rule else ""
        if rule:
            pictures[name] = rule
        lines.append(_place_line(row, name))
    return pictures, {"rows": lines, "rule_head": "rule-head.svg" if head else ""}


def _place_line(row: PlaceRow, rule: str) -> dict[str, str]:
    tool = [row.tool_low, row.tool_mean, row.tool_high]
    low, mean, high = ("" if value is None else f"{value:.1f}" for value in tool)
    gaps = f"{row.gaps} gaps" if row.gaps else ""
    verdict = row.verdict or ("not judged" if row.passes else "not touched")
    return {
        "place": str(row.place),
        "passes": str(row.passes or ""),
        "seconds": f"{row.milliseconds / 1000:.1f}" if row.passes else "",
        "low": low, "mean": mean, "high": high,
        "band": "" if row.band is None else f"{row.band[0]:.0f} to {row.band[2]:.0f}",
        "likely": "" if row.band is None else f"{row.band[1]:.0f}",
        "rule": rule,
        "verdict": verdict,
        "reason": "; ".join(part for part in (row.reason, gaps) if part),
    }  # fmt: skip


def _chart_note(record: StepRecord, selection: Selection, when: When) -> str:
    long = seconds(selection.to_ms - selection.from_ms)
    contacts = "Grey stretches are contacts, numbered by place. " if record.contacts else ""
    return (
        f"{contacts}The curve reaches from the lowest to the highest reading at each point; where nothing was read "
        f"it stays open. A heavy bar lies on a limit while a warning stood. {long}; times in {when.zone_words}."
    )


def _lists(
    record: StepRecord, rows: list[Row], outside: list[str], used: list[Used], limits: list[InForce],
    titles: Mapping[str, str], when: When,
) -> list[dict[str, Any]]:  # fmt: skip
    """Give the lists in two rows of two: what happened and what it claims, then the rest."""
    return [
        {"left": _happened(record, rows, outside, when), "right": _claimed(record, used)},
        {"left": _noted(record, when), "right": _rests_on(record, limits, titles)},
    ]


def _happened(record: StepRecord, rows: list[Row], outside: list[str], when: When) -> list[dict[str, Any]]:
    taken_back = [f"Place {place}, pass {n}: {reason}." for place, n, reason in record.voided]
    return [
        _titled("Outside what was set", outside, "Nothing, by what was measured."),
        _titled("Not measured", unmeasured_sentences(rows, when), "No gap was recorded."),
        *([_titled("Marks taken back", taken_back)] if taken_back else []),
    ]


def _claimed(record: StepRecord, used: list[Used]) -> list[dict[str, Any]]:
    estimated = [ESTIMATED] if any(verdict.band is not None for verdict in record.verdicts.values()) else []
    by_hand = [BY_HAND] if record.places else []
    return [
        _titled("What is claimed, and what is not", [*estimated, *CLAIMS, *by_hand]),
        _titled("Probes", [one.sentence() for one in used], "No probe was bound."),
    ]


def _noted(record: StepRecord, when: When) -> list[dict[str, Any]]:
    notes = [f"{when.time(at)}{f' {by}' if by else ''}: {text}" for at, by, text in record.notes]
    return [_titled("Notes", notes)] if notes else []


def _rests_on(record: StepRecord, limits: list[InForce], titles: Mapping[str, str]) -> list[dict[str, Any]]:
    sources = source_sentences(limits, record, titles)
    return [
        _titled("Limits", [*limit_sentences(limits), *adhesive_sentences(record)], "No limit was in force."),
        *([_titled("Sources", sources)] if sources else []),
    ]


def _titled(title: str, lines: list[str], empty: str = "") -> dict[str, Any]:
    return {"title": title, "lines": lines, "empty": empty}
