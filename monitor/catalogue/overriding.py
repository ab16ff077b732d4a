"""A folder of one's own over what ships: figures that were measured take the place of ours, and nothing else does."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import TypeVar

from monitor.bench.quantities import QUANTITIES
from monitor.bench.sheets import Level, Limit, Sheet
from monitor.catalogue.figure_reading import OWN_TEST, read_figure
from monitor.catalogue.forms import Form
from monitor.catalogue.limit_reading import read_level, see_order
from monitor.catalogue.model import Entry
from monitor.figures import Figure, Grade
from monitor.tomlfile import Table

Replaced = dict[str, Figure | None]
SomeEntry = TypeVar("SomeEntry", bound=Entry)
ONLY = "nothing but figures of grade own test in an entry that ships"
DO = "For anything else give the entry a key of its own."


def override(entry: SomeEntry, table: Table, form: Form, sources: Collection[str], replaced: Replaced) -> SomeEntry:
    """Put the figures of a table in the place of an entry's; the rest of it stays.

    Args:
        entry: the entry that ships.
        table: the table of the same key in one's own folder.
        form: the figures there may be.
        sources: keys of the known sources.
        replaced: gathers, by place, what each figure stands in for.
    """
    _only(table, form.figures)
    figures = dict(entry.figures)
    for key, scale in form.figures.items():
        if key not in table.data:
            continue
        figure = own_figure(table, key, sources, scale)
        if figure:
            replaced[".".join((*map(str, table.path), key))] = entry.figures.get(key)
            figures[key] = figure
    return replace(entry, figures=figures)


def override_response(
    ours: Figure | None, table: Table, sources: Collection[str], replaced: Replaced
) -> Figure | None:
    """Put a sensor's response of one's own, from a step test, in the place of ours."""
    _only(table, ("time_constant_s",))
    if "time_constant_s" not in table.data:
        return ours
    figure = own_figure(table, "time_constant_s", sources)
    if figure:
        replaced[f"response.{table.path[-1]}.time_constant_s"] = ours
    return figure or ours


def own_figure(table: Table, key: str, sources: Collection[str], scale: int = 0) -> Figure | None:
    """Read a figure that stands in for one that ships; None after a mistake."""
    if isinstance(table.data[key], dict) and not _own(table.table(key), "value"):
        return None
    return read_figure(table, key, sources, scale=scale)


def override_sheet(sheet: Sheet, table: Table, sources: Collection[str], replaced: Replaced) -> Sheet:
    """Put levels of one's own in the place of a sheet's levels of the same priority."""
    _only(table, ("limits",))
    limits = dict(sheet.limits)
    outer = table.table("limits")
    for key in outer.data:
        inner = outer.table(key)
        if key in limits:
            limits[key] = _override_limit(limits[key], inner, sources, replaced)
        else:
            expected = "a limit of this sheet" + (": " + ", ".join(limits) if limits else "")
            outer.fault(key, "is not a limit of this sheet", expected, DO)
    return replace(sheet, limits=limits)


def _override_limit(limit: Limit, table: Table, sources: Collection[str], replaced: Replaced) -> Limit:
    _only(table, ("levels", "unit"))
    unit = QUANTITIES[limit.quantity].unit
    table.choice("unit", (unit,), unit)
    levels = list(limit.levels)
    sheet, _, key = (str(part) for part in table.path[1:])
    for inner in table.tables("levels"):
        priority = inner.choice("priority", [level.priority for level in limit.levels])
        if not _own(inner, "at") or not priority:
            continue
        index = [level.priority for level in levels].index(priority)
        level = read_level(inner, unit, sources)
        if level:
            replaced[f"sheet.{sheet}.{key}.levels[{index + 1}]"] = level_figure(limit.levels[index], unit)
            levels[index] = level
            for before, after in ((index - 1, index), (index, index + 1)):
                if before >= 0 and after < len(levels):
                    see_order(inner, levels[before], levels[after], limit.side)
    return replace(limit, levels=tuple(levels))


def level_figure(level: Level, unit: str) -> Figure:
    """Give a level as a figure."""
    return Figure(level.at, unit, level.source, Grade(level.grade), level.locator, level.note)


def _own(table: Table, number: str) -> bool:
    """Tell whether a figure may stand in for one that ships; note it where not."""
    before = len(table.doc.problems)
    grade = table.data.get("grade")
    if grade != str(Grade.OWN_TEST):
        found = "is missing" if grade is None else f"is {grade!r}"
        table.fault("grade", found, f"'{Grade.OWN_TEST}': {ONLY}", DO)
    elif number not in table.data:
        table.fault(number, "is missing", "what you measured", "Add it, or take the figure out: ours stays then.")
    elif table.data.get("source", OWN_TEST) != OWN_TEST:
        do = "Say who measured it and when in the note."
        table.fault("source", f"is {table.data['source']!r}", f"{OWN_TEST!r}, or no source", do)
    return len(table.doc.problems) == before


def _only(table: Table, known: Collection[str]) -> None:
    for key in table.data:
        if key not in known:
            table.fault(key, "is of an entry that ships", ONLY, DO)


def refuse(table: Table) -> None:
    """Note a source or a sentence of a key that ships; there is no figure in it to be measured."""
    kind, key = table.path
    table.fault("", f"the {kind} {key!r} ships", f"a {kind} with a key of its own", "Rename yours; ours stays.")
