"""Where a printed figure comes from: sources by number and title, our own by what they are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from monitor.catalogue.model import Source

Numbers = Mapping[str, str]
"""Key of a source -> the number it has in this report's list of sources, for instance `[3]`."""

OWN: Mapping[str, Mapping[str, str]] = {
    "project": {"proposal": "proposal of this project"}, "memory": {"recalled": "recalled from memory"},
    "own-test": {}, "command": {},
}  # fmt: skip
"""Sources that are no text, with what their grades are called; a command is a limit typed in by whoever asked."""


def origin_words(numbers: Numbers, source: str, locator: str, grade: str, note: str = "") -> str:
    """Say where a figure comes from and what goes with it, for inside a pair of brackets."""
    told = OWN[source].get(grade, grade) if source in OWN else grade
    number = "" if source in OWN else numbers.get(source, source)
    origin = ", ".join(part for part in (number, locator, told) if part)
    return f"{origin}; {note}" if note else origin


def numbered(keys: Iterable[str]) -> dict[str, str]:
    """Number the sources that are texts, in the order of their keys."""
    return {key: f"[{n}]" for n, key in enumerate(sorted(set(keys) - OWN.keys()), start=1)}


def source_sentences(keys: Iterable[str], sources: Mapping[str, Source], numbers: Numbers) -> list[str]:
    """Name each source by its number and title and say what of it was read; then what is no text."""
    known = sorted((key for key in set(keys) if key in sources), key=lambda key: (key in OWN, key))
    told = {
        key: f"{sources[key].title}. {sources[key].read}"
        if key in OWN
        else f"{numbers[key]} {sources[key].title}. Read of it: {sources[key].read}"
        for key in known
    }
    unknown = {
        key: f"{number} A source that this catalogue does not list, kept as {key}."
        for key, number in numbers.items()
        if key not in sources
    }
    return [told.get(key) or unknown[key] for key in [*numbers, *(key for key in known if key in OWN)]]
