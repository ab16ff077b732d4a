"""What the catalogue holds: sources, materials, supports, sandwiches, sensors' responses, sheets, formulas."""

from __future__ import annotations

from dataclasses import dataclass, field

from monitor.bench.sheets import Sheet
from monitor.catalogue.stacks import stack_json
from monitor.errors import BadInput
from monitor.figures import Figure, Grade


@dataclass(frozen=True)
class Source:
    """Where figures come from.

    Attributes:
        title: author, title, year, place as far as known.
        read: what of it was read: the text, its abstract, a text that cites it, nothing.
    """

    key: str
    title: str
    read: str


@dataclass(frozen=True)
class Entry:
    """A named thing with figures; the figures' keys end in their unit (`_c`, `_s`, `_um` ...)."""

    key: str
    name: str
    figures: dict[str, Figure]

    def value(self, key: str) -> float | None:
        """Give a figure's value, or None where only an own test can give it or it is missing."""
        figure = self.figures.get(key)
        return figure.value if figure else None


@dataclass(frozen=True)
class Sandwich(Entry):
    """What lies between tool and base, tool side first.

    Attributes:
        film: key of the adhesive.
        layers: keys of the layers.
        bond_line: index of the adhesive's layer; the bond line is its far side.
        face: index of the layer whose far side is the face.
    """

    film: str = ""
    layers: tuple[str, ...] = ()
    bond_line: int = 0
    face: int = 0


@dataclass(frozen=True)
class Statement:
    """A sentence that rests on a source as a figure does."""

    text: str
    source: str
    grade: Grade
    locator: str = ""
    note: str = ""


@dataclass(frozen=True)
class Support(Entry):
    """What a painting stands on, with what to beware of."""

    beware: tuple[Statement, ...] = ()


@dataclass(frozen=True)
class Solvent(Entry):
    """A solvent; `stands_for` says of what mixture it is the stand-in, where it is one."""

    cas: str = ""
    stands_for: str = ""


@dataclass(frozen=True)
class Formula:
    """A formula of `monitor.science`.

    Attributes:
        name: what it gives, in words.
        function: the function's path, for instance `monitor.science.humidity.dew_point_c`.
        source, grade, locator: where the equation stands.
        valid: its range, in words.
        test: the test that holds it against the outside, `path::name`.
    """

    key: str
    name: str
    function: str
    source: str
    grade: Grade
    locator: str
    valid: str
    test: str


@dataclass(frozen=True)
class Catalogue:
    """Everything loaded: what ships, and over it a folder of one's own.

    A place is written `kind.key.figure`, or `sheet.key.limit.levels[1]`.

    Attributes:
        responses: quantity -> its sensor's time constant.
        parts: what a part of a probe may be off by.
        defaults: quantity -> deadband and delays of a limit whose sheet leaves them out.
        fronts: what may lie in front of a strip, with the ceilings that follow.
        replaced: place of a figure of one's own -> the one that ships, or None where there was none.
        own: `kind.key` of each entry that only one's own folder has.
        tests: place of a computed figure -> the test that computes it.
        differs: place of a figure -> place of another of its entry that says otherwise.
        defaulted: place of a limit's setting that its sheet leaves out -> place of the default.
    """

    sources: dict[str, Source] = field(default_factory=dict)
    layers: dict[str, Entry] = field(default_factory=dict)
    adhesives: dict[str, Entry] = field(default_factory=dict)
    supports: dict[str, Support] = field(default_factory=dict)
    fronts: dict[str, Entry] = field(default_factory=dict)
    solvents: dict[str, Solvent] = field(default_factory=dict)
    formulas: dict[str, Formula] = field(default_factory=dict)
    sandwiches: dict[str, Sandwich] = field(default_factory=dict)
    responses: dict[str, Figure] = field(default_factory=dict)
    parts: dict[str, Entry] = field(default_factory=dict)
    defaults: dict[str, Entry] = field(default_factory=dict)
    sheets: dict[str, Sheet] = field(default_factory=dict)
    replaced: dict[str, Figure | None] = field(default_factory=dict)
    own: frozenset[str] = frozenset()
    tests: dict[str, str] = field(default_factory=dict)
    differs: dict[str, str] = field(default_factory=dict)
    defaulted: dict[str, str] = field(default_factory=dict)

    def sheet(self, name: str) -> Sheet:
        """Give a working sheet; BadInput names those there are."""
        if name not in self.sheets:
            raise _unknown("working sheet", name, list(self.sheets))
        return self.sheets[name]

    def sandwich(self, name: str) -> dict[str, object]:
        """Give a sandwich as a request that starts a step carries it; BadInput if unknown."""
        if name not in self.sandwiches:
            raise _unknown("sandwich", name, list(self.sandwiches))
        return stack_json(self, self.sandwiches[name])


def _unknown(what: str, name: str, known: list[str]) -> BadInput:
    expected, do = "one of " + ", ".join(sorted(known)), "Mend the name, or add it to your own folder."
    return BadInput(f"{what} {name!r}", "is not in the catalogue", expected, do)
