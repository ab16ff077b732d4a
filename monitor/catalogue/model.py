"""What the catalogue holds: sources, layers, adhesives, sandwiches, sensors' responses, sheets."""

from __future__ import annotations

from dataclasses import dataclass, field

from monitor.bench.sheets import Sheet
from monitor.catalogue.stacks import stack_json
from monitor.errors import BadInput
from monitor.figures import Figure


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
class Catalogue:
    """Everything loaded, later folders over earlier ones.

    `responses` maps a quantity to its sensor's time constant.
    """

    sources: dict[str, Source] = field(default_factory=dict)
    layers: dict[str, Entry] = field(default_factory=dict)
    adhesives: dict[str, Entry] = field(default_factory=dict)
    sandwiches: dict[str, Sandwich] = field(default_factory=dict)
    responses: dict[str, Figure] = field(default_factory=dict)
    sheets: dict[str, Sheet] = field(default_factory=dict)

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
