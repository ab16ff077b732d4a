"""Figures out of TOML: no number without unit, source and grade."""

from __future__ import annotations

from collections.abc import Collection

from monitor.catalogue.model import Statement
from monitor.figures import NEEDS_LOCATOR, Figure, Grade
from monitor.tomlfile import Table, shown

# Longer endings stand before those they end in.
UNIT_OF_ENDING: dict[str, str] = {
    "_w_m2k": "W/(m2 K)", "_w_mk": "W/(m K)", "_j_kgk": "J/(kg K)", "_kg_m3": "kg/m3", "_g_m2": "g/m2",
    "_mm2_s": "mm2/s", "_g_mol": "g/mol", "_kj_mol": "kJ/mol", "_n_mm": "N/mm", "_rh_pct": "%RH", "_pct": "%",
    "_kpa": "kPa", "_pa": "Pa", "_um": "um", "_s": "s", "_c": "degC",
}  # fmt: skip
OWN_TEST = "own-test"
FIGURE_KEYS = ("value", "unit", "source", "grade", "locator", "note", "low", "high", "test", "differs")
STATEMENT_KEYS = ("text", "source", "grade", "locator", "note")


def unit_of(key: str) -> str:
    """Give the unit that a figure's key ends in, or ""."""
    return next((unit for ending, unit in UNIT_OF_ENDING.items() if key.endswith(ending)), "")


def read_figure(table: Table, key: str, sources: Collection[str], *, scale: int = 0) -> Figure | None:
    """Read the figure at a key; None after a mistake, all of which are noted.

    Args:
        table: the entry that holds it.
        key: its key, which ends in its unit.
        sources: keys of the known sources.
        scale: where not 0, value, low and high times it must be whole, since the record holds whole numbers.
    """
    if key not in table.data:
        table.fault(key, "is missing", "a figure { value, unit, source, grade }", f"Add {key} = {{ ... }}.")
        return None
    inner, before = table.table(key), len(table.doc.problems)
    if not isinstance(table.data[key], dict):
        return None
    inner.only(FIGURE_KEYS)
    grade = read_grade(inner)
    if grade is Grade.OWN_TEST and "value" not in inner.data:
        return Figure(None, unit_of(key), OWN_TEST, grade, note=inner.text("note", ""))
    value, low, high = _range(inner, unit_of(key), scale)
    _unit(inner, unit_of(key))
    source, locator = read_origin(inner, grade, sources)
    note = inner.text("note", "")
    inner.text("test", "")
    if len(table.doc.problems) > before or grade is None or value is None:
        return None
    return Figure(value, unit_of(key), source, grade, locator, note, low, high)


def read_grade(table: Table) -> Grade | None:
    """Read how a figure is known; None after a mistake."""
    word = table.choice("grade", [str(g) for g in Grade])
    return Grade(word) if word else None


def read_origin(table: Table, grade: Grade | None, sources: Collection[str]) -> tuple[str, str]:
    """Read source and locator: the source must be known, and a published or cited figure has a locator."""
    source = table.text("source", OWN_TEST if grade is Grade.OWN_TEST else None)
    locator = table.text("locator", "") if "locator" in table.data else ""
    if source and source not in sources:
        table.fault("source", f"{source!r} is not in the catalogue", "the key of a source", "Add it to sources.toml.")
    if grade in NEEDS_LOCATOR and "locator" not in table.data:
        expected = f"the page, table or passage, because the grade is {grade}"
        table.fault("locator", "is missing", expected, 'Add locator = "...", or take a lower grade.')
    return source, locator


def read_statement(table: Table, sources: Collection[str]) -> Statement | None:
    """Read a sentence with its origin; None after a mistake."""
    table.only(STATEMENT_KEYS)
    text, grade = table.text("text"), read_grade(table)
    source, locator = read_origin(table, grade, sources)
    return Statement(text, source, grade, locator, table.text("note", "")) if grade and text else None


def _unit(table: Table, unit: str) -> None:
    found = table.text("unit")
    if found and found != unit:
        table.fault("unit", f"is {found!r}", f"{unit!r}, as the key ends", "Convert the value, or mend the unit.")


def _range(table: Table, unit: str, scale: int) -> tuple[float | None, float | None, float | None]:
    floor = -100.0 if unit == "degC" else 0.0
    value = table.number("value", unit, floor)
    low, high = (table.number(k, unit, floor) if k in table.data else None for k in ("low", "high"))
    if low is not None and high is not None and low > high:
        table.fault("low", f"is {low:g}, above high = {high:g}", "low at or below high", "Exchange the two.")
    elif value is not None and ((low is not None and value < low) or (high is not None and value > high)):
        table.fault("value", f"is {value:g}", "a value from low to high", "Mend value, low or high.")
    if value == 0 and unit != "degC":
        table.fault("value", "is 0", f"more than 0 {unit}", "Nothing in a stack has this property at 0.")
    for key, number in (("value", value), ("low", low), ("high", high)):
        if scale and number is not None and abs(number * scale - round(number * scale)) > 1e-6:
            do = f"Round it to steps of {1 / scale:g}."
            table.fault(key, f"is {shown(table.data[key])}", f"whole steps of {1 / scale:g} {unit}", do)
    return value, low, high
