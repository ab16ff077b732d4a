"""A TOML file that is read to its end, so that all its mistakes are told at once.

Each mistake names file, line, key, what was found, what was expected and what to do.
"""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any

from monitor.errors import BadInput, ManyProblems
from monitor.positions import Path, line_of, positions

Problems = list[tuple[str, int, str]]


@dataclass
class Document:
    """A parsed file and the mistakes met in it so far.

    Attributes:
        name: the file as messages name it.
        data: its content.
        text: the text it was parsed from.
        problems: (file, line, sentence) of each mistake; may be shared by several files.
        broken: the file is not UTF-8 or not TOML, so its content is not known.
    """

    name: str
    data: dict[str, Any]
    text: str = ""
    problems: Problems = field(default_factory=list)
    broken: bool = False

    @cached_property
    def lines(self) -> dict[Path, int]:
        """Give the line of each path; looked for when first asked, which a file in order rarely is."""
        return positions(self.text)

    @property
    def root(self) -> Table:
        """Give the whole file as a table."""
        return Table(self, (), self.data)

    def fault(self, path: Path, found: str, expected: str, do: str) -> None:
        """Add a mistake at a path."""
        line = line_of(self.lines, path)
        thing = f"{self.name}, line {line}" + (f", {dotted(path)}" if path else "")
        self.problems.append((self.name, line, str(BadInput(thing, found, expected, do))))


def dotted(path: Path) -> str:
    """Write a path as messages do, list items counted from 1: `probes[2].bench`."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f"{'.' if text else ''}{part}"
    return text


def parse(name: str, text: str, problems: Problems) -> Document:
    """Parse a TOML text; a mistake of form leaves an empty document and one problem."""
    try:
        return Document(name, tomllib.loads(text), text, problems)
    except tomllib.TOMLDecodeError as error:
        empty = Document(name, {}, "", problems, broken=True)
        found, _, where = str(error).partition(" (at line ")
        line = int(where.split(",")[0]) if where else text.count("\n") + 1
        found = found[:1].lower() + found[1:]
        thing = f"{name}, line {line}"
        said = str(BadInput(thing, f"is not TOML: {found}", "the form key = value", "Mend this line first."))
        problems.append((name, line, said))
        return empty


def open_toml(path: FilePath, problems: Problems) -> Document:
    """Read and parse a file; one that is not UTF-8 or not TOML leaves an empty document and one problem.

    Raises:
        BadInput: the file is missing or may not be read.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        line = error.object.count(b"\n", 0, error.start) + 1
        found = f"byte 0x{error.object[error.start]:02X} is not UTF-8"
        said = str(BadInput(f"{path}, line {line}", found, "text in UTF-8", "Save the file as UTF-8."))
        problems.append((str(path), line, said))
        return Document(str(path), {}, "", problems, broken=True)
    except OSError as error:
        why = (error.strerror or "cannot be read").lower()
        raise BadInput(str(path), why, "a readable TOML file", "Check the path and its permissions.") from error
    return parse(str(path), text, problems)


def raise_problems(thing: str, problems: Problems) -> None:
    """Raise ManyProblems if there are any, in the order of files and lines."""
    if problems:
        raise ManyProblems(thing, [sentence for _, _, sentence in sorted(problems, key=lambda p: p[:2])])


@dataclass(frozen=True)
class Table:
    """A table of a document, with getters that note a mistake and go on with a stand-in."""

    doc: Document
    path: Path
    data: dict[str, Any]

    def fault(self, key: str, found: str, expected: str, do: str) -> None:
        """Add a mistake at a key of this table, or at the table itself for ""."""
        self.doc.fault((*self.path, key) if key else self.path, found, expected, do)

    def only(self, known: Iterable[str]) -> None:
        """Note every key that is not known."""
        names = list(known)
        for key in self.data:
            if key not in names:
                near = difflib.get_close_matches(key, names, 1)
                do = f"Did you mean {near[0]}?" if near else "Take it out."
                self.fault(key, "is not a key of this table", "one of " + ", ".join(names), do)

    def table(self, key: str) -> Table:
        """Give an inner table; empty when it is missing or of another type."""
        value = self.data.get(key, {})
        if not isinstance(value, dict):
            self.fault(key, f"is {shown(value)}", "a table", f"Write it as [{dotted((*self.path, key))}].")
            value = {}
        return Table(self.doc, (*self.path, key), value)

    def tables(self, key: str) -> Iterator[Table]:
        """Give each table of a list of tables."""
        value = self.data.get(key, [])
        if not isinstance(value, list):
            do = f"Write each one as [[{dotted((*self.path, key))}]]."
            self.fault(key, f"is {shown(value)}", "a list of tables", do)
            return
        for index, item in enumerate(value):
            inner: Path = (*self.path, key, index)
            if isinstance(item, dict):
                yield Table(self.doc, inner, item)
            else:
                self.doc.fault(inner, f"is {shown(item)}", "a table", "Write { key = value, ... }.")

    def text(self, key: str, default: str | None = None) -> str:
        """Give a text that is not blank; without default it must be there."""
        if key not in self.data and default is not None:
            return default
        value = self._required(key, "a text in quotes")
        if value is None:
            return ""
        if not isinstance(value, str) or not value.strip():
            self.fault(key, f"is {shown(value)}", "a text in quotes, not empty", "Write it in double quotes.")
            return ""
        return value

    def choice(self, key: str, allowed: Iterable[str], default: str | None = None) -> str:
        """Give a text that must be one of several; "" after a mistake."""
        value, names = self.text(key, default), list(allowed)
        if value and value not in names:
            near = difflib.get_close_matches(value, names, 1)
            do = f"Did you mean {near[0]!r}?" if near else "Choose one of them."
            self.fault(key, f"is {value!r}", "one of " + ", ".join(names), do)
            return ""
        return value

    def number(self, key: str, unit: str, low: float = -math.inf, high: float = math.inf) -> float | None:
        """Give a required finite number from low to high; None after a mistake."""
        span = f"a number of {unit}" + (f" from {low:g} to {high:g}" if math.isfinite(high) else "")
        value = self._required(key, span)
        if value is None:
            return None
        right = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
        if not right or not low <= value <= high:
            if math.isfinite(low) and not math.isfinite(high):
                span += f", {low:g} or more"
            self.fault(key, f"is {shown(value)}", span, "Write a number without quotes.")
            return None
        return float(value)

    def flag(self, key: str, default: bool) -> bool:
        """Give true or false."""
        value = self.data.get(key, default)
        if not isinstance(value, bool):
            self.fault(key, f"is {shown(value)}", "true or false", "Write it without quotes.")
            return default
        return value

    def texts(self, key: str, *, required: bool = False) -> tuple[str, ...]:
        """Give a list of texts; where required it may be neither missing nor empty."""
        if key not in self.data and not required:
            return ()
        value = self._required(key, "a list of texts")
        if value is None:
            return ()
        if not isinstance(value, list) or (required and not value):
            self.fault(key, f"is {shown(value)}", "a list of texts", 'Write it as ["...", "..."].')
            return ()
        for index, item in enumerate(value):
            if not isinstance(item, str) or not item.strip():
                where: Path = (*self.path, key, index)
                expected = "a text in quotes, not empty"
                self.doc.fault(where, f"is {shown(item)}", expected, "Write it in double quotes.")
        return tuple(item for item in value if isinstance(item, str) and item.strip())

    def _required(self, key: str, expected: str) -> Any:  # noqa: ANN401
        if key not in self.data:
            self.fault(key, "is missing", expected, f"Add {key} = ... to this table.")
            return None
        return self.data[key]


def shown(value: object) -> str:
    """Write a TOML value as a message shows it: short, in TOML's own words."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "an empty list" if not value else f"a list of {len(value)}"
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
