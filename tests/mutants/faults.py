"""Reads the table of deliberate faults and puts them into a copy of the project."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

TABLE = Path(__file__).with_name("faults.toml")


@dataclass(frozen=True)
class Fault:
    """One line that is wrong on purpose.

    Args:
        name: a few words.
        file: the file that is changed, from the project's folder.
        old: the part of a line that stands there exactly once.
        new: what is put in its place.
        tests: files or folders of tests of which at least one test must fail.
    """

    name: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]

    def apply(self, root: Path) -> str:
        """Change the file under `root`; gives its text as it was.

        Raises:
            ValueError: the old part stands there never or several times, so the table is out of date.
        """
        path = root / self.file
        text = path.read_text()
        if (found := text.count(self.old)) != 1:
            raise ValueError(
                f"fault {self.name!r}: {self.old!r} stands {found} times in {self.file}; expected once. "
                f"Bring tests/mutants/{TABLE.name} up to date."
            )
        path.write_text(text.replace(self.old, self.new))
        return text


def load(table: Path = TABLE) -> list[Fault]:
    """Give the faults in the order of the table."""
    rows = tomllib.loads(table.read_text())["fault"]
    return [Fault(**{**row, "tests": tuple(row["tests"])}) for row in rows]
