"""Every figure of the catalogue in rows, for the list of sources and its page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass

from monitor.bench.quantities import QUANTITIES
from monitor.bench.sheets import Limit
from monitor.catalogue.model import Catalogue, Entry, Statement, Support
from monitor.catalogue.overriding import level_figure
from monitor.figures import NEEDS_LOCATOR, Figure, Grade

FIGURE_TEST = "tests/reference/test_catalogue_figures.py::test_figure"
OWN_TABLES: dict[str, str] = {
    "solvent.": "tests/reference/test_solvent_figures.py::test_the_file_is_what_its_script_writes",
    "salts.": "tests/reference/test_salts_tables.py::test_the_coefficients_are_those_quoted",
    "size.gelatin.": "tests/reference/test_size_table.py::test_the_published_isotherms_are_met_in_every_cell",
    "size.softening": "tests/reference/test_size_table.py::"
    "test_the_softening_band_is_the_published_water_content_on_the_published_isotherm",
}
"""Start of a place -> the test that holds these figures against a whole table of theirs."""
NOT_PUBLISHED = "no outside check: not published"
NOT_OURS = "no outside check: from your own folder"


@dataclass(frozen=True)
class FigureRow:
    """One figure: where it stands, what it is and how it is known.

    `value` is a decimal text, "" where only an own test can give it and for a sentence, which
    stands in `note`; `source` is the title of the source and `source_key` its key.

    Attributes:
        test: the test that checks it, or why there is none.
        in_place_of: what ships, where a figure of one's own stands in for it.
        differs: place of the figure that says otherwise.
    """

    where: str
    value: str
    unit: str
    source_key: str
    source: str
    locator: str
    grade: str
    note: str
    test: str = ""
    in_place_of: str = ""
    differs: str = ""

    def as_json(self) -> dict[str, str]:
        """Give the row under its names."""
        return asdict(self)


def figure_rows(catalogue: Catalogue) -> list[FigureRow]:
    """List every figure and every sourced sentence of the catalogue."""
    return [_row(catalogue, where, told) for where, told in places(catalogue).items()]


def science_rows(catalogue: Catalogue) -> list[FigureRow]:
    """List the figures that formulas hold themselves, such as a salt's coefficients."""
    return [_row(catalogue, where, figure) for where, figure in science_figures().items()]


def places(catalogue: Catalogue) -> dict[str, Figure | Statement]:
    """Give every figure and every sourced sentence of the catalogue by its place."""
    found: dict[str, Figure | Statement] = {}
    kinds: tuple[tuple[str, Mapping[str, Entry]], ...] = (
        ("layer", catalogue.layers), ("adhesive", catalogue.adhesives), ("support", catalogue.supports),
        ("front", catalogue.fronts), ("solvent", catalogue.solvents), ("sandwich", catalogue.sandwiches),
        ("part", catalogue.parts), ("default", catalogue.defaults),
    )  # fmt: skip
    for kind, entries in kinds:
        for key, entry in entries.items():
            found |= {f"{kind}.{key}.{name}": figure for name, figure in entry.figures.items()}
            found |= {f"{kind}.{key}.{name}": said for name, said in _statements(entry)}
    found |= {f"response.{quantity}.time_constant_s": figure for quantity, figure in catalogue.responses.items()}
    for sheet in catalogue.sheets.values():
        for limit in sheet.limits.values():
            found |= {f"sheet.{sheet.key}.{limit.key}.{name}": figure for name, figure in _limit_figures(limit)}
    return found | {place: found[default] for place, default in catalogue.defaulted.items()}


def science_figures() -> dict[str, Figure]:
    """Give by their place the figures that formulas hold themselves, and those warnings are counted against."""
    from monitor.bench import warning_guide
    from monitor.catalogue import priorities
    from monitor.science import canvas, resistance, salts, size, thermocouple

    return {**salts.FIGURES, **size.FIGURES, **canvas.FIGURES, **thermocouple.FIGURES, **resistance.FIGURES,
            **warning_guide.FIGURES, **priorities.FIGURES}  # fmt: skip


def in_words(figure: Figure | None) -> str:
    """Write what a figure of one's own stands in for."""
    if figure is None:
        return "nothing: there was no such figure"
    if figure.value is None:
        return "no value: only an own test gives one"
    parts = (f"{_value(figure)} {figure.unit}", str(figure.grade), figure.source, figure.locator)
    return ", ".join(part for part in parts if part)


def _statements(entry: Entry) -> Iterator[tuple[str, Statement]]:
    for index, said in enumerate(entry.beware if isinstance(entry, Support) else ()):
        yield f"beware[{index + 1}]", said


def _row(catalogue: Catalogue, where: str, told: Figure | Statement) -> FigureRow:
    source = catalogue.sources.get(told.source)
    figure = told if isinstance(told, Figure) else None
    return FigureRow(
        where=where,
        value=_value(figure) if figure else "",
        unit=figure.unit if figure else "",
        source_key=told.source,
        source=source.title if source else told.source,
        locator=told.locator,
        grade=str(told.grade),
        note=told.note if isinstance(told, Figure) else " ".join(t for t in (told.text, told.note) if t),
        test=_test(catalogue, where, told.grade),
        in_place_of=in_words(catalogue.replaced[where]) if where in catalogue.replaced else "",
        differs=catalogue.differs.get(where, ""),
    )


def _value(figure: Figure) -> str:
    if figure.value is None:
        return ""
    if figure.low is None or figure.high is None:
        return f"{figure.value:g}"
    return f"{figure.value:g} ({figure.low:g} to {figure.high:g})"


def _test(catalogue: Catalogue, where: str, grade: Grade) -> str:
    """Name the test that checks a figure: by its row for what is published, by its computation otherwise."""
    if ".".join(where.split(".")[:2]) in catalogue.own:
        return NOT_OURS
    if grade is not Grade.COMPUTED and grade not in NEEDS_LOCATOR:
        return NOT_PUBLISHED
    own_table = next((test for start, test in OWN_TABLES.items() if where.startswith(start)), "")
    return own_table or (f"{FIGURE_TEST}[{where}]" if grade in NEEDS_LOCATOR else catalogue.tests.get(where, ""))


def _limit_figures(limit: Limit) -> Iterator[tuple[str, Figure]]:
    """Give the levels, then the settings, which are starting values of our own."""
    unit = QUANTITIES[limit.quantity].unit
    for index, level in enumerate(limit.levels):
        yield f"levels[{index + 1}]", level_figure(level, unit)
    yield "deadband", Figure(limit.deadband, unit, "project", Grade.PROPOSAL)
    for name, seconds in (
        ("on_delay_s", limit.on_delay_ms / 1000), ("off_delay_s", limit.off_delay_ms / 1000),
        ("time_to_respond_s", float(limit.time_to_respond_s)),
    ):  # fmt: skip
        yield name, Figure(seconds, "s", "project", Grade.PROPOSAL)
