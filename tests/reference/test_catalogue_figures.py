"""Every published or cited figure against its row: what was read, where it stands, and how that is known.

The rows of all files `*_figures.csv` beside this one are read; their first lines name the columns.
`how_known` is READ (in the source itself: published, or cited where that text only passes another's
figure on), SECONDARY (in a text that cites it: cited only), or MEMORY, which is no grounds for either.
`stands` says in our own words where in the source it stands. One row's test alone:
`pytest 'tests/reference/test_catalogue_figures.py::test_figure[ID]'`.
"""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import pytest

from monitor.catalogue import load
from monitor.catalogue.listing import FIGURE_TEST, OWN_TABLES, figure_rows, places, science_figures, science_rows
from monitor.catalogue.model import Catalogue, Statement
from monitor.figures import NEEDS_LOCATOR, Figure, Grade

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
COLUMNS = ["id", "value", "low", "high", "unit", "grade", "source", "locator", "how_known", "stands"]
GRADES = {"READ": ("published", "cited"), "SECONDARY": ("cited",)}
Row = dict[str, str]


@cache
def rows() -> dict[str, Row]:
    """Give every row by its id; a second row of one id is told apart so that it is not lost."""
    found: dict[str, Row] = {}
    for path in sorted(HERE.glob("*_figures.csv")):
        with path.open(newline="", encoding="utf-8") as file:
            reader = csv.DictReader(file)
            assert reader.fieldnames == COLUMNS, path.name
            for row in reader:
                found[row["id"] if row["id"] not in found else f"{row['id']} again"] = row
    return found


@cache
def catalogue() -> Catalogue:
    return load()


@cache
def told() -> dict[str, Figure | Statement]:
    """Give every published or cited figure that has no whole table of its own."""
    every = {**places(catalogue()), **science_figures()}
    tables = tuple(OWN_TABLES)
    return {k: f for k, f in every.items() if f.grade in NEEDS_LOCATOR and not k.startswith(tables)}


def parted(row: Row | None, figure: Figure | Statement | None) -> list[str]:
    """Name everything in which a row and a figure part; nothing if they agree."""
    if row is None or figure is None:
        return ["the figure has no row" if row is None else "the row has no figure that is published or cited"]
    ours = {"grade": str(figure.grade), "source": figure.source, "locator": figure.locator}
    numbers = {key: getattr(figure, key, None) for key in ("value", "low", "high")}
    wrong = [
        f"{key}: {row[key]!r}, and {value!r} in the catalogue" for key, value in ours.items() if row[key] != value
    ]
    if row["unit"] != getattr(figure, "unit", ""):
        wrong.append(f"unit: {row['unit']!r}")
    for key, number in numbers.items():
        if (float(row[key]) if row[key] else None) != number:
            wrong.append(f"{key}: {row[key]!r}, and {number!r} in the catalogue")
    if row["grade"] not in GRADES.get(row["how_known"], ()):
        wrong.append(f"how_known: {row['how_known']!r} is no grounds for {row['grade']!r}")
    if not row["stands"].strip():
        wrong.append("stands: nothing is said of where it stands")
    return wrong


@pytest.mark.parametrize("where", sorted(rows().keys() | told().keys()))
def test_figure(where: str) -> None:
    assert parted(rows().get(where), told().get(where)) == []


GOOD = dict(
    zip(COLUMNS, ("a.b.c", "80", "", "", "%RH", "published", "s", "p. 1", "READ", "in the text"), strict=True)
)
FIGURE = Figure(80, "%RH", "s", Grade.PUBLISHED, "p. 1")


def test_a_row_that_agrees_is_in_order() -> None:
    assert parted(GOOD, FIGURE) == []
    cited = Figure(80, "%RH", "s", Grade.CITED, "p. 1")
    assert parted({**GOOD, "grade": "cited"}, cited) == []
    assert parted({**GOOD, "grade": "cited", "how_known": "SECONDARY"}, cited) == []


@pytest.mark.parametrize(
    ("key", "wrong"),
    [
        ("value", "81"), ("value", ""), ("low", "79"), ("high", "81"), ("unit", "degC"), ("source", "t"),
        ("locator", "p. 2"), ("grade", "cited"), ("how_known", "MEMORY"), ("how_known", "CALC"), ("how_known", ""),
        ("how_known", "SECONDARY"), ("stands", " "),
    ],
)  # fmt: skip
def test_a_row_that_says_otherwise_or_rests_on_memory_fails(key: str, wrong: str) -> None:
    (said,) = parted({**GOOD, key: wrong}, FIGURE)
    assert said.startswith(f"{key}: ")


def test_a_row_without_figure_and_a_figure_without_row_fail() -> None:
    assert parted(GOOD, None) == ["the row has no figure that is published or cited"]
    assert parted(None, FIGURE) == ["the figure has no row"]


def test_every_figure_of_the_list_has_source_grade_and_a_test_that_is_there() -> None:
    """A test that checks it, or the words that it has none because nothing is published."""
    for row in (*figure_rows(catalogue()), *science_rows(catalogue())):
        assert row.source_key in catalogue().sources, row.where
        assert Grade(row.grade), row.where
        assert row.test, f"{row.where}: no test; a computed figure names it as test = ..."
        if row.test.startswith("no outside check"):
            assert row.grade not in ("published", "cited", "computed"), row.where
        elif row.test.startswith(FIGURE_TEST):
            assert row.test == f"{FIGURE_TEST}[{row.where}]"
            assert there(FIGURE_TEST)
            assert row.where in rows(), row.where
        else:
            assert there(row.test), row.test


def there(test: str) -> bool:
    """Tell whether a test `path::name` is in its file."""
    path, _, name = test.partition("::")
    return (ROOT / path).is_file() and f"\ndef {name}(" in (ROOT / path).read_text(encoding="utf-8")
