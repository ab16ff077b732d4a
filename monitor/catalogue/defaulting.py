"""Deadband and delays of a limit whose sheet leaves them out, by what it judges."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from monitor.bench.derived import inputs_of
from monitor.bench.quantities import QUANTITIES
from monitor.catalogue.entry_reading import named_figures
from monitor.catalogue.figure_reading import UNIT_OF_ENDING
from monitor.catalogue.forms import DEFAULT
from monitor.catalogue.marks import Tables
from monitor.catalogue.model import Entry
from monitor.figures import Figure
from monitor.tomlfile import Table

TIME_CONSTANTS_TO_90 = 2.30  # ln 10: a step is seen to 90 % after so many time constants
SETTINGS = ("deadband", "on_delay_s", "off_delay_s")


def figure_key(quantity: str, setting: str) -> str:
    """Name the figure of a default; a deadband's ends in the quantity's unit. "" where that unit has no ending."""
    if setting != "deadband":
        return setting
    ending = ending_of(quantity)
    return setting + ending if ending else ""


def ending_of(quantity: str) -> str:
    """Give the ending of figures in a quantity's unit, "" where there is none."""
    unit = QUANTITIES[quantity].unit if quantity in QUANTITIES else ""
    return next((ending for ending, known in UNIT_OF_ENDING.items() if known == unit), "")


def slowest_s(quantity: str, responses: Mapping[str, Figure]) -> tuple[float, str]:
    """Give the time constant of the slowest sensor a quantity is had from, and one of which none is known, or ""."""
    known = {name: responses.get(name) for name in inputs_of(quantity)}
    unknown = next((name for name, figure in known.items() if figure is None or figure.value is None), "")
    return max((figure.value or 0.0 for figure in known.values() if figure), default=0.0), unknown


def read_default(key: str, table: Table, sources: Collection[str], responses: Mapping[str, Figure]) -> Entry:
    """Read what holds for limits on a quantity."""
    figures = named_figures(table, sources, DEFAULT)
    wanted = figure_key(key, "deadband")
    if key not in QUANTITIES:
        table.fault("", f"{key!r} is not a quantity", ", ".join(QUANTITIES), "Mend the table's name.")
    elif wanted not in table.data:
        table.fault("deadband", "is missing", f"{wanted} = {{ ... }}, in the quantity's unit", "Add it.")
    for other in table.data:
        if other.startswith("deadband") and key in QUANTITIES and other != wanted:
            table.fault(other, "is in another unit", f"{wanted}, in the unit of {key}", "Convert it.")
    least_s = TIME_CONSTANTS_TO_90 * slowest_s(key, responses)[0] if key in QUANTITIES else 0.0
    delay = figures.get("on_delay_s")
    if delay and (delay.value or 0) < least_s:
        expected = f"{least_s:g} s or more, {TIME_CONSTANTS_TO_90:g} time constants of the sensor"
        table.fault("on_delay_s", f"is {delay.value:g} s", expected, "Make it longer.")
    return Entry(key, QUANTITIES[key].words if key in QUANTITIES else key, figures)


def default_of(defaults: Mapping[str, Entry], quantity: str, setting: str) -> float | None:
    """Give a setting of limits on a quantity; None where the catalogue has none."""
    entry = defaults.get(quantity)
    return entry.value(figure_key(quantity, setting)) if entry else None


def left_out(sheets: Tables, defaults: Mapping[str, Entry]) -> dict[str, str]:
    """Give the place of every setting that a sheet leaves out, with the place of what stands for it."""
    return {place: f"default.{quantity}.{figure}" for place, quantity, figure in _left_out(sheets, defaults)}


def _left_out(sheets: Tables, defaults: Mapping[str, Entry]) -> Iterator[tuple[str, str, str]]:
    for key, table in sheets.items():
        limits = table.data.get("limits")
        for name, limit in (limits if isinstance(limits, dict) else {}).items():
            quantity = limit.get("quantity") if isinstance(limit, dict) else None
            for setting in SETTINGS:
                if isinstance(quantity, str) and setting not in limit and default_of(defaults, quantity, setting):
                    yield f"sheet.{key}.{name}.{setting}", quantity, figure_key(quantity, setting)
