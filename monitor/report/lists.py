"""The lists of a report: what was not measured, notes, probes, limits, layers and sources."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from monitor.report.layers import adhesive_rows, contact_sentence, layer_rows, sandwich_sources
from monitor.report.limits import InForce, limit_rows
from monitor.report.origins import Numbers, numbered, source_sentences
from monitor.report.probes_used import Used
from monitor.report.record import Row, StepRecord, TakenBack
from monitor.report.unmeasured import unmeasured_sentences
from monitor.report.words import When

if TYPE_CHECKING:
    from monitor.catalogue.model import Source

CLAIMS = (
    "The monitor is no safety device. It replaces no cut-out and no supervision, and measures no vapour.",
    "It is not a substitute for a qualified conservator. Local codes come first.",
)
MEASURED = "Only the tool and the room were measured. The tool's dial is not the adhesive."


def missing_lists(record: StepRecord, rows: list[Row], when: When) -> list[list[dict[str, Any]]]:
    """Give what belongs beside the table: what was not measured, and marks taken back; by columns."""
    gaps = [_titled("Not measured", unmeasured_sentences(rows, when), "No gap was recorded.")]
    taken_back = [_taken_back(one, when) for one in record.voided]
    return [gaps, [_titled("Marks taken back", taken_back, "None.")] if record.places else []]


def _taken_back(one: TakenBack, when: When) -> str:
    by = f" by {one.by}" if one.by else ""
    return f"Place {one.place}, pass {one.pass_no}: {one.reason} {when.time(one.at_ms)}{by}."


def noted_lists(
    record: StepRecord, used: list[Used], limits: list[InForce], sources: Mapping[str, Source], when: When
) -> list[list[dict[str, Any]]]:  # fmt: skip
    """Give notes, and what is claimed, by which probes and after which sources; by columns."""
    notes = [f"{when.time(at)}{f' {by}' if by else ''}: {text}" for at, by, text in record.notes]
    measured = [MEASURED] if record.places else []
    probes = _titled("Probes", [one.sentence() for one in used], "No probe was bound.")
    claimed = _titled("What is claimed, and what is not", [*measured, *CLAIMS])
    return [[_titled("Notes", notes, "None."), probes], [claimed, *_sources(record, limits, sources)]]


def limits_of(record: StepRecord, limits: list[InForce], numbers: Numbers) -> dict[str, Any]:
    """Give what was set as the template prints it."""
    rows = [*limit_rows(limits, numbers), *adhesive_rows(record, numbers)]
    return {"title": "Limits", "rows": rows, "empty": "No limit was in force."}


def _sources(record: StepRecord, limits: list[InForce], sources: Mapping[str, Source]) -> list[dict[str, Any]]:
    keys = _keys(record, limits)
    said = source_sentences(keys, sources, numbered(keys))
    return [_titled("Sources", said)] if said else []


def numbers_of(record: StepRecord, limits: list[InForce]) -> Numbers:
    """Give the number of each source the report rests on."""
    return numbered(_keys(record, limits))


def _keys(record: StepRecord, limits: list[InForce]) -> set[str]:
    return {one.limit.levels[one.level].source for one in limits} | sandwich_sources(record)


def layers_of(record: StepRecord, numbers: Numbers) -> dict[str, Any]:
    """Give the layers under the tool as the template prints them; no rows where none were given."""
    return {
        "title": f"Under the tool: {(record.sandwich or {}).get('words', '')}",
        "rows": layer_rows(record, numbers),
        "contact": contact_sentence(record, numbers),
    }


def _titled(title: str, lines: list[str], empty: str = "") -> dict[str, Any]:
    return {"title": title, "lines": lines, "empty": empty}
