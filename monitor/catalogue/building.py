"""A catalogue out of the tables of two folders: what ships, and one's own over it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import TypeVar

from monitor.bench.quantities import MEASURED
from monitor.bench.sheets import Sheet
from monitor.catalogue.defaulting import left_out, read_default
from monitor.catalogue.entry_reading import (
    need_range,
    read_adhesive,
    read_formula,
    read_front,
    read_layer,
    read_part,
    read_response,
    read_sandwich,
    read_sentence,
    read_solvent,
    read_source,
    read_support,
)
from monitor.catalogue.forms import FORMS
from monitor.catalogue.marks import Entries, Tables, marks
from monitor.catalogue.model import Catalogue, Entry, Sandwich
from monitor.catalogue.overriding import Replaced, override, override_response, override_sheet, refuse
from monitor.catalogue.resting import with_caution
from monitor.catalogue.sheet_reading import Known, read_sheet
from monitor.figures import Figure
from monitor.tomlfile import Table

Sources = Collection[str]
SENTENCES = ("caution", "ask", "prompt")
Thing = TypeVar("Thing")
SomeEntry = TypeVar("SomeEntry", bound=Entry)


def build(ours: Entries, own: Entries) -> Catalogue:
    """Read every entry of both folders; mistakes are noted in their documents."""
    return _Builder(ours, own).build()


class _Builder:
    """Reads kind after kind, since entries refer to those read before."""

    def __init__(self, ours: Entries, own: Entries) -> None:
        self.ours, self.own = ours, own
        self.replaced: Replaced = {}
        self.sources = self._fixed("source", read_source)

    def build(self) -> Catalogue:
        layers, adhesives = self._entries("layer", read_layer), self._entries("adhesive", read_adhesive)
        responses = self._responses()
        defaults = self._with_own("default", lambda key, table: read_default(key, table, self.sources, responses))
        return Catalogue(
            sources=self.sources,
            layers=layers,
            adhesives=adhesives,
            supports=self._entries("support", read_support),
            fronts=self._entries("front", read_front),
            solvents=self._entries("solvent", read_solvent),
            formulas={key: read_formula(key, table, self.sources) for key, table in self.ours["formula"].items()},
            sandwiches=self._sandwiches(layers, adhesives),
            responses=responses,
            parts=self._entries("part", read_part),
            defaults=defaults,
            sheets=self._sheets(responses, defaults),
            replaced=self.replaced,
            own=frozenset(f"{kind}.{key}" for kind in self.own for key in self._new(kind)),
            tests=marks(self.ours, "test"),
            differs={**marks(self.ours, "differs"), **marks(self.own, "differs")},
            defaulted=left_out({**self.ours["sheet"], **self._new("sheet")}, defaults),
        )

    def _new(self, kind: str) -> Tables:
        """Give the entries that only one's own folder has."""
        return {key: table for key, table in self.own[kind].items() if key not in self.ours[kind]}

    def _over(self, kind: str) -> Tables:
        """Give the entries of one's own folder that stand over one that ships."""
        return {key: table for key, table in self.own[kind].items() if key in self.ours[kind]}

    def _fixed(self, kind: str, read: Callable[[str, Table], Thing]) -> dict[str, Thing]:
        """Read what nobody can measure; nothing may stand over it."""
        for table in self._over(kind).values():
            refuse(table)
        return {key: read(key, table) for key, table in {**self.ours[kind], **self._new(kind)}.items()}

    def _entries(self, kind: str, read: Callable[[str, Table, Sources], SomeEntry]) -> dict[str, SomeEntry]:
        return self._with_own(kind, lambda key, table: read(key, table, self.sources))

    def _with_own(self, kind: str, read: Callable[[str, Table], SomeEntry]) -> dict[str, SomeEntry]:
        """Read the entries of a kind, then put what was measured over them."""
        entries = {key: read(key, table) for key, table in {**self.ours[kind], **self._new(kind)}.items()}
        for key, table in self._over(kind).items():
            entries[key] = override(entries[key], table, FORMS[kind], self.sources, self.replaced)
        return entries

    def _sandwiches(self, layers: Mapping[str, Entry], adhesives: Mapping[str, Entry]) -> dict[str, Sandwich]:
        sandwiches = self._with_own(
            "sandwich", lambda key, table: read_sandwich(key, table, self.sources, layers, adhesives)
        )
        for key, table in self._over("sandwich").items():
            need_range(table, sandwiches[key].figures)
        return sandwiches

    def _responses(self) -> dict[str, Figure]:
        read = {
            key: read_response(key, table, self.sources, MEASURED)
            for key, table in {**self.ours["response"], **self._new("response")}.items()
        }
        for key, table in self._over("response").items():
            read[key] = override_response(read[key], table, self.sources, self.replaced)
        return {key: figure for key, figure in read.items() if figure}

    def _sheets(self, responses: Mapping[str, Figure], defaults: Mapping[str, Entry]) -> dict[str, Sheet]:
        sentences = {kind: self._fixed(kind, read_sentence) for kind in SENTENCES}
        known = Known(self.sources, sentences, responses, defaults)
        tables = {**self.ours["sheet"], **self._new("sheet")}
        sheets = {key: read_sheet(key, table, known) for key, table in tables.items()}
        for key, table in self._over("sheet").items():
            sheets[key] = override_sheet(sheets[key], table, self.sources, self.replaced)
        return {key: with_caution(sheet) for key, sheet in sheets.items()}
