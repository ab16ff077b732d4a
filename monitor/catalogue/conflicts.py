"""Heat that an adhesive needs and what lies before it does not bear: told, never averaged away."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from monitor.catalogue.model import Catalogue, Entry
from monitor.figures import Figure

LEAST = "bond_line_min_c"
# Kind of what bears the heat -> its ceiling.
CEILINGS: dict[str, str] = {"front": "face_ceiling_c", "support": "paint_ceiling_c", "sandwich": "face_ceiling_c"}
OUTCOME = "both can be kept only while the heat has not gone through, or by another method."


@dataclass(frozen=True)
class Conflict:
    """An adhesive whose least heat lies above a ceiling.

    Attributes:
        adhesive, adhesive_name: its key and its name.
        kind, key, name: what has the ceiling: what lies in front, a support, or a sandwich.
        least, ceiling: the two figures in degC, each with source and grade.
    """

    adhesive: str
    adhesive_name: str
    kind: str
    key: str
    name: str
    least: Figure
    ceiling: Figure

    @property
    def words(self) -> str:
        """Say the conflict in a sentence."""
        whose = "the face's ceiling" if self.kind == "sandwich" else f"the ceiling of {self.name}"
        return f"{self.adhesive_name} needs {_told(self.least)} and {whose} is {_told(self.ceiling)}; {OUTCOME}"

    def as_json(self) -> dict[str, object]:
        """Give the conflict under its names."""
        return {
            "adhesive": self.adhesive, "against": f"{self.kind}.{self.key}", "least_c": self.least.value,
            "ceiling_c": self.ceiling.value, "words": self.words,
        }  # fmt: skip


def conflicts(
    catalogue: Catalogue, adhesive: str | None = None, front: str | None = None, support: str | None = None
) -> list[Conflict]:
    """Hold adhesives against what lies in front, against supports, and in their sandwiches.

    Args:
        catalogue: all figures.
        adhesive: only this one, by its key.
        front: only this in front, by its key or by its name as the start of a step asks it.
        support: only this support, by its key or its name.

    Returns:
        Every pair whose two figures are known and leave no heat between them.
    """
    chosen = {"front": front, "support": support}
    only = {kind for kind, name in chosen.items() if name is not None} or set(CEILINGS)
    return [
        conflict
        for key, film in catalogue.adhesives.items()
        if adhesive in (None, key)
        for kind, entry in _bearing(catalogue, key)
        if kind in only and chosen.get(kind) in (None, entry.key, entry.name)
        for conflict in _of(film, kind, entry)
    ]


def warnings(catalogue: Catalogue) -> list[str]:
    """Say each sandwich's conflict in a sentence, and each adhesive's others in one."""
    found = conflicts(catalogue)
    told = [f"sandwich {one.key}: {one.words}" for one in found if one.kind == "sandwich"]
    for key in catalogue.adhesives:
        some = [one for one in found if one.adhesive == key and one.kind != "sandwich"]
        if some:
            told.append(f"adhesive {key} needs {_told(some[0].least)}: too warm for {_listed(some)}.")
    return told


def _listed(some: list[Conflict]) -> str:
    """List what bears less, the lowest ceiling first, each ceiling once."""
    bearing: dict[str, list[str]] = {}
    for one in sorted(some, key=lambda one: one.ceiling.value or 0):
        bearing.setdefault(_told(one.ceiling), []).append(one.key.replace("-", " "))
    return "; ".join(f"{', '.join(names)}, at most {ceiling}" for ceiling, names in bearing.items())


def _bearing(catalogue: Catalogue, film: str) -> Iterator[tuple[str, Entry]]:
    kinds: Mapping[str, Mapping[str, Entry]] = {"front": catalogue.fronts, "support": catalogue.supports}
    for kind, entries in kinds.items():
        yield from ((kind, entry) for entry in entries.values())
    yield from (("sandwich", sandwich) for sandwich in catalogue.sandwiches.values() if sandwich.film == film)


def _of(film: Entry, kind: str, entry: Entry) -> Iterator[Conflict]:
    least, ceiling = film.figures.get(LEAST), entry.figures.get(CEILINGS[kind])
    if least and ceiling and least.value is not None and ceiling.value is not None and least.value > ceiling.value:
        yield Conflict(film.key, film.name, kind, entry.key, entry.name, least, ceiling)


def _told(figure: Figure) -> str:
    return f"{figure.value:g} degC ({figure.grade})"
