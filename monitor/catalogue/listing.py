"""Every figure of the catalogue in rows, for the list of sources and its page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass

from monitor.bench.quantities import QUANTITIES
from monitor.bench.sheets import Limit, Sheet
from monitor.catalogue.model import Catalogue
from monitor.figures import Figure, Grade


@dataclass(frozen=True)
class FigureRow:
    """One figure: where it stands, what it is and how it is known.

    `value` is a decimal text, "" where only an own test can give it; `source` is the title of
    the source and `source_key` its key.
    """

    where: str
    value: str
    unit: str
    source_key: str
    source: str
    locator: str
    grade: str
    note: str

    def as_json(self) -> dict[str, str]:
        """Give the row under its names."""
        return asdict(self)


def figure_rows(catalogue: Catalogue) -> list[FigureRow]:
    """List every figure of the catalogue: layers, adhesives, sandwiches, sensors, sheets."""
    rows: list[FigureRow] = []
    for kind, entries in (
        ("layer", catalogue.layers), ("adhesive", catalogue.adhesives), ("sandwich", catalogue.sandwiches),
    ):  # fmt: skip
        for key, entry in entries.items():
            rows += [_row(catalogue, f"{kind}.{key}.{name}", f) for name, f in entry.figures.items()]
    for quantity, figure in catalogue.responses.items():
        rows.append(_row(catalogue, f"response.{quantity}.time_constant_s", figure))
    for sheet in catalogue.sheets.values():
        rows += _sheet_rows(catalogue, sheet)
    return rows


def _row(catalogue: Catalogue, where: str, figure: Figure) -> FigureRow:
    value = "" if figure.value is None else f"{figure.value:g}"
    if value and figure.low is not None and figure.high is not None:
        value += f" ({figure.low:g} to {figure.high:g})"
    source = catalogue.sources.get(figure.source)
    title = source.title if source else figure.source
    return FigureRow(
        where, value, figure.unit, figure.source, title, figure.locator, str(figure.grade), figure.note
    )  # fmt: skip


def _sheet_rows(catalogue: Catalogue, sheet: Sheet) -> Iterator[FigureRow]:
    for limit in sheet.limits.values():
        for index, figure in enumerate(_limit_figures(limit)):
            name = f"levels[{index + 1}]" if index < len(limit.levels) else _SETTINGS[index - len(limit.levels)]
            yield _row(catalogue, f"sheet.{sheet.key}.{limit.key}.{name}", figure)


_SETTINGS = ("deadband", "on_delay_s", "off_delay_s", "time_to_respond_s")


def _limit_figures(limit: Limit) -> Iterator[Figure]:
    """Give the levels, then the settings, which are starting values of our own."""
    unit = QUANTITIES[limit.quantity].unit
    for level in limit.levels:
        yield Figure(level.at, unit, level.source, Grade(level.grade), level.locator, level.note)
    yield Figure(limit.deadband, unit, "project", Grade.PROPOSAL)
    for seconds in (limit.on_delay_ms / 1000, limit.off_delay_ms / 1000, float(limit.time_to_respond_s)):
        yield Figure(seconds, "s", "project", Grade.PROPOSAL)
