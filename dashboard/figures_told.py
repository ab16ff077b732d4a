"""Every figure of the catalogue in words, in the order of its page: what it is, how it is known, where to read it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from dashboard.figure_words import OWN, anchor_of, as_sentence, origin_of, symbol, title_of, what_of
from dashboard.words import lasting, sentence_case

if TYPE_CHECKING:
    from monitor.bench.sheets import Limit
    from monitor.catalogue.listing import FigureRow
    from monitor.catalogue.model import Catalogue, Formula

KINDS: dict[str, str] = {
    "sheet": "Working sheets", "sandwich": "Layers under the tool", "front": "What lies in front",
    "adhesive": "Adhesives", "layer": "Materials", "support": "Supports", "solvent": "Solvents",
    "response": "How fast probes follow", "formula": "Formulas",
}  # fmt: skip
_UNCHECKED = "no outside check"
_SETTINGS = ("deadband", "on_delay_s", "off_delay_s", "time_to_respond_s")


@dataclass(frozen=True)
class Line:
    """One figure as it is told.

    Attributes:
        anchor: where on the page it stands.
        what, value: its name, and its value with unit.
        origin: grade, title and locator of its source.
        read: what was read of the source, "" for our own.
        note: a condition or a caution.
        instead: the figure that ships, where one of the studio's own stands in for it.
        differs: anchor of a figure that says otherwise, or "".
        test: the test that holds it against what was read, "" where nothing outside can.
    """

    anchor: str
    what: str
    value: str
    origin: str
    read: str
    note: str
    instead: str
    differs: str
    test: str


@dataclass(frozen=True)
class Part:
    """Figures that belong together; `settings` are words with the anchor of the figure each holds."""

    anchor: str
    title: str
    lines: tuple[Line, ...]
    settings: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Group:
    """A sheet, a material or another entry."""

    anchor: str
    title: str
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Section:
    """All entries of one kind."""

    anchor: str
    title: str
    groups: tuple[Group, ...]


def sections(catalogue: Catalogue, rows: list[FigureRow]) -> tuple[Section, ...]:
    """Put every figure under its entry and its kind; what a screen limits comes first."""
    found: dict[str, list[Group]] = {kind: [] for kind in KINDS}
    for (kind, key), some in groupby(rows, lambda row: tuple(row.where.split(".")[:2])):
        found.setdefault(kind, []).append(_group(catalogue, kind, key, list(some)))
    found["formula"] += [_formula(catalogue, formula) for formula in catalogue.formulas.values()]
    named = {kind: KINDS.get(kind, sentence_case(kind)) for kind in found}
    return tuple(Section(kind, named[kind], tuple(groups)) for kind, groups in found.items() if groups)


def _group(catalogue: Catalogue, kind: str, key: str, rows: list[FigureRow]) -> Group:
    anchor = anchor_of(f"{kind}.{key}")
    if kind == "sheet":
        sheet = catalogue.sheets[key]
        of_limit = groupby(rows, lambda row: row.where.split(".")[2])
        parts = [_limit_part(catalogue, anchor, sheet.limits[name], list(some)) for name, some in of_limit]
        return Group(anchor, sheet.title, tuple(parts))
    lines = tuple(_line(catalogue, row, row.where.split(".")[2]) for row in rows)
    return Group(anchor, _title(catalogue, kind, key), (Part(f"{anchor}.figures", "", lines),))


def _title(catalogue: Catalogue, kind: str, key: str) -> str:
    entries: dict[str, Mapping[str, object]] = {
        "layer": catalogue.layers, "adhesive": catalogue.adhesives, "support": catalogue.supports,
        "front": catalogue.fronts, "solvent": catalogue.solvents, "sandwich": catalogue.sandwiches,
    }  # fmt: skip
    entry = entries.get(kind, {}).get(key)
    return title_of(str(getattr(entry, "name", key.replace("_", " ").replace("-", " "))))


def _limit_part(catalogue: Catalogue, anchor: str, limit: Limit, rows: list[FigureRow]) -> Part:
    levels = [row for row in rows if row.where.endswith("]")]
    lines = tuple(_line(catalogue, row, "") for row in levels)
    title = sentence_case(limit.words) + (f" (probe for: {limit.role})" if limit.role != "room" else "")
    return Part(f"{anchor}.{limit.key}", title, lines, tuple(_settings({_last(r.where): r for r in rows})))


def _settings(rows: Mapping[str, FigureRow]) -> Iterator[tuple[str, str]]:
    """Say deadband, delays and time to respond as one sentence, each piece with its figure's anchor."""
    if not set(_SETTINGS) <= set(rows):
        return
    deadband, on, off, respond = (rows[name] for name in _SETTINGS)
    yield f"Warns when passed for {_lasting(on)}; ", anchor_of(on.where)
    yield f"over when {deadband.value} {symbol(deadband.unit)} inside again ", anchor_of(deadband.where)
    yield f"for {_lasting(off)}; ", anchor_of(off.where)
    yield f"{_lasting(respond)} to respond.", anchor_of(respond.where)


def _lasting(row: FigureRow) -> str:
    return lasting(round(float(row.value) * 1000))


def _last(where: str) -> str:
    return where.rpartition(".")[2]


def _line(catalogue: Catalogue, row: FigureRow, name: str) -> Line:
    own = row.source_key in OWN
    source = catalogue.sources.get(row.source_key)
    said = row.note if row.value or row.grade == "own test" else ""
    return Line(
        anchor=anchor_of(row.where),
        what=what_of(name),
        value=_value(row),
        origin=origin_of(row.grade, row.source_key, row.source, row.locator),
        read=source.read if source and not own else "",
        note=as_sentence(said),
        instead=row.in_place_of,
        differs=anchor_of(row.differs),
        test="" if row.test.startswith(_UNCHECKED) else row.test.partition("[")[0],
    )


def _value(row: FigureRow) -> str:
    if row.value:
        return f"{row.value}\N{NO-BREAK SPACE}{symbol(row.unit)}".strip()
    return "only a mock-up of one's own gives it" if row.grade == "own test" else as_sentence(row.note)


def _formula(catalogue: Catalogue, formula: Formula) -> Group:
    anchor = anchor_of(f"formula.{formula.key}")
    source = catalogue.sources.get(formula.source)
    title, read = (source.title, source.read) if source else (formula.source, "")
    line = Line(
        f"{anchor}.equation", "", formula.function, origin_of(formula.grade, formula.source, title, formula.locator),
        "" if formula.source in OWN else read, as_sentence(formula.valid), "", "", formula.test,
    )  # fmt: skip
    return Group(anchor, sentence_case(formula.name), (Part(f"{anchor}.figures", "", (line,)),))
