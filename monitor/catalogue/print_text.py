"""The list of sources as text of 100 columns: figures, formulas, what sheets rest on, conflicts, what was read."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

from monitor.catalogue.conflicts import conflicts, warnings
from monitor.catalogue.listing import FigureRow, figure_rows, science_rows
from monitor.catalogue.model import Catalogue, Formula
from monitor.catalogue.resting import caution_of, resting_on

COLUMNS = 100
KINDS: dict[str, str] = {
    "layer": "Layers", "adhesive": "Adhesives", "support": "Supports", "front": "What lies in front of a strip",
    "solvent": "Solvents", "sandwich": "Sandwiches", "response": "How fast probes follow",
    "part": "What probes may be off by", "default": "What limits have where their sheet leaves it out",
    "sheet": "Working sheets",
}  # fmt: skip


def sources_json(catalogue: Catalogue) -> dict[str, Any]:
    """Give all of it as data; `shares` counts the levels of each sheet by grade, the weakest first."""
    rows = (*figure_rows(catalogue), *science_rows(catalogue))
    return {
        "figures": [row.as_json() for row in rows],
        "formulas": [
            {
                "key": formula.key, "name": formula.name, "function": formula.function, "source_key": formula.source,
                "source": _title(catalogue, formula.source), "locator": formula.locator,
                "grade": str(formula.grade), "valid": formula.valid, "test": formula.test,
            }
            for formula in catalogue.formulas.values()
        ],
        "shares": {
            sheet.key: {str(grade): count for grade, count in resting_on(sheet).items()}
            for sheet in catalogue.sheets.values()
        },
        "conflicts": [conflict.as_json() for conflict in conflicts(catalogue)],
        "read": {source.key: source.read for source in catalogue.sources.values()},
    }  # fmt: skip


def sources_lines(catalogue: Catalogue) -> Iterator[str]:
    """Give the lines of the list."""
    kind, sheet = "", ""
    for row in figure_rows(catalogue):
        place = row.where.split(".")
        if place[0] != kind:
            kind = place[0]
            yield from _heading(KINDS.get(kind, kind))
        if kind == "sheet" and place[1] != sheet:
            sheet = place[1]
            yield from _sheet_head(catalogue, sheet)
        yield from _figure(row)
    yield from _heading("Figures inside the formulas")
    for row in science_rows(catalogue):
        yield from _figure(row)
    yield from _heading("Formulas")
    for formula in catalogue.formulas.values():
        yield from _formula(catalogue, formula)
    yield from _heading("What the levels of each sheet rest on, the weakest first")
    for key in catalogue.sheets:
        yield from _wrapped(f"{key}: {share_words(catalogue, key)}", "")
    yield from _heading("Conflicts")
    for warning in warnings(catalogue):
        yield from _wrapped(warning, "")
    yield from _heading("What of each source was read")
    for source in catalogue.sources.values():
        yield from _wrapped(f"{source.title}: {source.read}", "    ", first="")


def share_words(catalogue: Catalogue, key: str) -> str:
    """Say how many levels of a sheet rest on what, for instance `proposal 2 of 4 (50 %), cited 2 of 4 (50 %)`."""
    grades = resting_on(catalogue.sheets[key])
    total = sum(grades.values())
    parts = (f"{grade} {count} of {total} ({round(100 * count / total)} %)" for grade, count in grades.items())
    return ", ".join(parts) or "no limits"


def _heading(text: str) -> Iterator[str]:
    yield from ("", text, "=" * len(text))


def _sheet_head(catalogue: Catalogue, key: str) -> Iterator[str]:
    sheet = catalogue.sheets[key]
    yield ""
    yield from _wrapped(f"{sheet.title} ({key}): {share_words(catalogue, key)}", "")
    if said := caution_of(sheet):
        yield from _wrapped(said, "")


def _figure(row: FigureRow) -> Iterator[str]:
    value = f"{row.value} {row.unit}".strip()
    if not value:
        value = row.note
    elif not row.value:
        value = f"no value in {row.unit}"
    yield from _wrapped(f"{row.where}: {value} [{row.grade}]", "    ", first="")
    origin = row.source + (f", {row.locator}" if row.locator else "")
    parts = [origin, row.note if row.value or row.unit else ""]
    if row.in_place_of:
        parts.append(f"in place of {row.in_place_of}")
    if row.differs:
        parts.append(f"differs from {row.differs}")
    yield from _wrapped("; ".join(part for part in parts if part), "    ")
    yield from _wrapped(row.test, "    ")


def _formula(catalogue: Catalogue, formula: Formula) -> Iterator[str]:
    yield from _wrapped(f"{formula.key}: {formula.name} [{formula.grade}]", "    ", first="")
    origin = _title(catalogue, formula.source) + (f", {formula.locator}" if formula.locator else "")
    for text in (formula.function, origin, f"valid: {formula.valid}", formula.test):
        yield from _wrapped(text, "    ")


def _title(catalogue: Catalogue, key: str) -> str:
    source = catalogue.sources.get(key)
    return source.title if source else key


def _wrapped(text: str, indent: str, first: str | None = None) -> list[str]:
    """Wrap at the columns; what has no blank in it, such as a test's name, is broken only where it must be."""
    start = indent if first is None else first
    return textwrap.wrap(text, COLUMNS, initial_indent=start, subsequent_indent=indent, break_on_hyphens=False)
