"""The line on which each key of a TOML text stands; `tomllib` tells values only.

Reads valid TOML: call `tomllib.loads` first, which refuses everything else with its line.
"""

from __future__ import annotations

import re
import tomllib

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_KEY = re.compile(r"""\s*("(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[A-Za-z0-9_-]+)[ \t]*""")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")' r"|'''.*?'{3,5}(?!')" r'|"(?:[^"\\\n]|\\.)*"' r"|'[^'\n]*'",
    re.DOTALL,
)
_SCALAR = re.compile(r"[^,\]}\n#]+")


def positions(text: str) -> dict[Path, int]:
    """Map each table, key and list item of a valid TOML text to its line, counted from 1.

    An item of a list, `[[...]]` tables included, has its index in the path, from 0.
    """
    return _Scan(text).run()


def line_of(lines: dict[Path, int], path: Path) -> int:
    """Give the line of a path, of its nearest ancestor where it is missing, or 1."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


class _Scan:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.counted, self.line = 0, 1
        self.lines: dict[Path, int] = {}
        self.lists: dict[Path, int] = {}

    def run(self) -> dict[Path, int]:
        table: Path = ()
        self.blank()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)
            self.blank()
        return self.lines

    def blank(self) -> None:
        match = _BLANK.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def note(self, path: Path) -> None:
        self.line += self.text.count("\n", self.counted, self.at)
        self.counted = self.at
        self.lines.setdefault(path, self.line)

    def keys(self) -> list[str]:
        """Read `a.'b c'."d"`; the key's quotes are undone by tomllib itself."""
        names: list[str] = []
        while match := _KEY.match(self.text, self.at):
            name = match.group(1)
            names.append(next(iter(tomllib.loads(f"{name} = 0"))))
            self.at = match.end()
            if not self.text.startswith(".", self.at):
                break
            self.at += 1
        return names

    def header(self) -> Path:
        start = self.at
        double = self.text.startswith("[[", start)
        self.at += 2 if double else 1
        path: Path = ()
        names = self.keys()
        for name in names[:-1]:
            path = self.latest((*path, name))
        path = (*path, names[-1])
        end = self.text.index("]", self.at) + (2 if double else 1)
        self.at = start
        self.note(path)
        if double:
            self.lists[path] = self.lists.get(path, -1) + 1
        path = self.latest(path)
        self.note(path)
        self.at = end
        return path

    def latest(self, path: Path) -> Path:
        return (*path, self.lists[path]) if path in self.lists else path

    def pair(self, table: Path) -> None:
        start = self.at
        names = self.keys()
        end, path = self.at, table
        self.at = start
        for name in names:
            path = (*path, name)
            self.note(path)
        self.at = self.text.index("=", end) + 1
        self.value(path)

    def value(self, path: Path) -> None:
        self.blank()
        mark = self.text[self.at]
        if mark == "[":
            self.series(path)
        elif mark == "{":
            self.inline(path)
        else:
            match = (_STRING if mark in "\"'" else _SCALAR).match(self.text, self.at)
            self.at = match.end() if match else self.at + 1

    def series(self, path: Path) -> None:
        self.at += 1
        index = 0
        self.blank()
        while self.text[self.at] != "]":
            self.note((*path, index))
            self.value((*path, index))
            index += 1
            self.comma()
        self.at += 1

    def inline(self, path: Path) -> None:
        self.at += 1
        self.blank()
        while self.text[self.at] != "}":
            self.pair(path)
            self.comma()
        self.at += 1

    def comma(self) -> None:
        self.blank()
        if self.text[self.at] == ",":
            self.at += 1
            self.blank()
