"""The table of passes as it is printed, and what is said once above it."""

from __future__ import annotations

from typing import Any

from monitor.bench.adhesive import SPANS
from monitor.report.layers import film_sentence
from monitor.report.passes import UNTRIED, PassRow, common_verdict
from monitor.report.pictures import degrees_of, rules_svg, seam_svg
from monitor.report.record import Band, StepRecord
from monitor.report.words import When, degrees, seconds

NOT_TRIED = "Estimates, not tried on a mock-up: no verdict."
ESTIMATED = (
    "Temperatures at the adhesive and at the face are estimates, computed from the tool's temperature through the "
    "layers, and given where they were highest; bold where they reach above what was set at the face."
)
BY_HAND = "Checked by hand: not recorded in this version, save in notes."


def table_of(record: StepRecord, rows: list[PassRow], when: When) -> tuple[dict[str, str], dict[str, Any]]:
    """Give the pictures of the table, by file name, and its data; both empty without places."""
    if not rows:
        return {}, {"rows": [], "told": [], "bold": ""}
    head, rules = rules_svg(record.sandwich, rows)
    pictures = {"seam.svg": seam_svg(record, rows)}
    if head:
        pictures["rule-head.svg"] = head
    common, ceiling = common_verdict(rows), degrees_of(record.sandwich, "ceiling_c")
    lines = []
    for row, rule in zip(rows, rules, strict=True):
        name = f"rule-{row.place}-{row.pass_no}.svg" if rule else ""
        if rule:
            pictures[name] = rule
        lines.append(_line(row, name, common, ceiling, when))
    return pictures, {
        "rows": lines,
        "rule_head": "rule-head.svg" if head else "",
        "face_head": f"{ceiling:g} at most" if ceiling is not None else "",
        "bold": _bold(rows),
        "told": _told(record, rows, common),
    }


def _bold(rows: list[PassRow]) -> str:
    untried = all(row.verdict in (None, UNTRIED) for row in rows)
    return NOT_TRIED if untried and any(row.band is not None for row in rows) else ""


def _told(record: StepRecord, rows: list[PassRow], common: tuple[str, str] | None) -> list[str]:
    estimated = f"{ESTIMATED} {SPANS}" if any(row.band is not None for row in rows) else ""
    said = ""
    if common:
        reason = f", {common[1]}" if common[1] else ""
        others = any((row.verdict, row.reason) != common for row in rows if row.pass_no)
        said = f"{'Where a row says nothing else' if others else 'Every pass'}: {common[0]}{reason}."
    return [part for part in (estimated, film_sentence(record), f"{said} {BY_HAND}".strip()) if part]


def _line(
    row: PassRow, rule: str, common: tuple[str, str] | None, ceiling: float | None, when: When
) -> dict[str, Any]:  # fmt: skip
    touched = row.pass_no > 0
    return {
        "place": str(row.place),
        "pass": str(row.pass_no) if touched else "",
        "at": when.time(row.at_ms) if touched else "",
        "humidity": degrees(row.humidity) if row.humidity is not None else ("not known" if touched else ""),
        "seconds": seconds(row.milliseconds).removesuffix(" s") if touched else "",
        "low": degrees(row.tool_low), "mean": degrees(row.tool_mean), "high": degrees(row.tool_high),
        "band": _band(row.band),
        "likely": degrees(row.band[1]) if row.band else "",
        "face": _band(row.face),
        "face_above": bool(row.face and ceiling is not None and row.face[2] > ceiling),
        "rule": rule,
        "remark": _remark(row, common),
    }  # fmt: skip


def _band(band: Band | None) -> str:
    return "" if band is None else f"{degrees(band[0])} to {degrees(band[2])}"


def _remark(row: PassRow, common: tuple[str, str] | None) -> str:
    if row.pass_no == 0:
        return "not touched"
    if row.verdict is None:
        return "not judged"
    if (row.verdict, row.reason) == common:
        return ""
    if common is not None and row.verdict == common[0] and row.reason:
        return row.reason.removeprefix(f"{common[1]}; ")
    return ": ".join(part for part in (row.verdict, row.reason) if part)
