"""What pages take from the catalogue: layers to choose from, titles of sources, and where each figure stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from dashboard.figure_words import anchor_of
from dashboard.figures_told import Section, sections
from dashboard.limit_starts import Start, of_sheets
from dashboard.words import grade, set_value

if TYPE_CHECKING:
    from monitor.catalogue.listing import FigureRow
    from monitor.link.view import LevelView

Place = tuple[str, str, int]
"""Key of a sheet, key of a limit, index of one of its levels."""

_OF_LAYERS = {"min_c": "bond_line_min_c", "max_c": "bond_line_max_c", "ceiling_c": "face_ceiling_c"}


@dataclass(frozen=True)
class Layers:
    """Layers a step may be started with.

    Attributes:
        key: name in a request.
        title: what lies between tool and base.
        film: the film by its name, formula included.
        asks: what is asked at the adhesive and at the face, each figure with its grade.
    """

    key: str
    title: str
    film: str
    asks: str


@dataclass(frozen=True)
class Known:
    """What the catalogue gives to pages.

    Attributes:
        layers: what a step may be started with.
        sources: each source's title by its key.
        sections: every figure, in the order of the page of sources.
        rows: every figure by its place.
        starts: limits of the working sheets, to begin with when a limit is asked about.
    """

    layers: tuple[Layers, ...] = ()
    sources: Mapping[str, str] = field(default_factory=dict)
    sections: tuple[Section, ...] = ()
    rows: Mapping[str, FigureRow] = field(default_factory=dict)
    starts: tuple[Start, ...] = ()

    @property
    def entries(self) -> frozenset[str]:
        """Give the anchors of sections and of entries on the page of sources."""
        return frozenset(
            a for section in self.sections for a in (section.anchor, *(g.anchor for g in section.groups))
        )

    def entry_of(self, place: Place, level: LevelView) -> str:
        """Give the anchor of the figure a level of a limit was taken from.

        "" where the catalogue has none that says the same: the level was set by someone, or the
        catalogue was changed since the step was started.
        """
        sheet, limit, index = place
        found = self.rows.get(f"sheet.{sheet}.{limit}.levels[{index + 1}]")
        if limit in _OF_LAYERS:
            named = (row for where, row in self.rows.items() if where.endswith(f".{_OF_LAYERS[limit]}"))
            found = next((row for row in named if _same(row, level)), None)
        return anchor_of(found.where) if found and _same(found, level) else ""


def _same(row: FigureRow, level: LevelView) -> bool:
    told = (level["source"], level["grade"], level["locator"], level["note"])
    return row.value == set_value(level["at"]) and (row.source_key, row.grade, row.locator, row.note) == told


def from_catalogue() -> Known:
    """Read the built-in catalogue; ManyProblems when it has faults."""
    from monitor.catalogue import figure_rows, load

    catalogue = load()
    rows = figure_rows(catalogue)
    return Known(
        layers=tuple(_layers(catalogue.sandwich(key)) for key in sorted(catalogue.sandwiches)),
        sources={key: source.title for key, source in catalogue.sources.items()},
        sections=sections(catalogue, rows),
        rows={row.where: row for row in rows},
        starts=of_sheets(catalogue.sheets.values()),
    )


def _layers(told: Mapping[str, Any]) -> Layers:
    return Layers(told["name"], told["words"], told["film_words"], asks(told))


def asks(told: Mapping[str, Any]) -> str:
    """Write what a sandwich asks, for instance `at the adhesive 70 °C at least (cited)`."""
    parts = [
        f"{where} {told[key]} °C {bound} ({grade(told['figures'][key]['grade'])})"
        for key, where, bound in (
            ("min_c", "at the adhesive", "at least"),
            ("max_c", "there", "at most"),
            ("ceiling_c", "at the face", "at most"),
        )
        if told[key] is not None
    ]
    if told["min_c"] is None:
        parts.insert(0, "at the adhesive: only a mock-up tells")
    return "; ".join(parts)
