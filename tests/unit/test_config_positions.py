"""The line of every key of a TOML text is found, whatever form the text has."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.positions import line_of, positions

ROOT = Path(__file__).parents[2]

SAMPLE = '''# a comment with [brackets] = and "quotes
name = "one # not a comment"
"odd key" . 'b.c' = 1

[studio]   # after a header
text = """
[not.a.table]
key = 1 \\""" still inside"""
literal = \'\'\'
]]]
\'\'\'
after = true

[[benches]]
name = "a"
[[benches.drawers]]
size = 1
[[benches.drawers]]
size = 2

[[benches]]
name = "b"
[[benches.drawers]]
size = 3

[sheet."x y".limits]
levels = [
  { at = 1, note = "}]" },   # [
  # { at = 9 }

  { at = 2, inner = { deep = [ [1, 2],
      [3] ] } },
]
last = 1979-05-27T07:32:00Z
'''  # fmt: skip

EXPECTED: list[tuple[tuple[str | int, ...], int]] = [
    (("name",), 2), (("odd key", "b.c"), 3), (("studio",), 5), (("studio", "text"), 6), (("studio", "literal"), 9),
    (("studio", "after"), 12), (("benches", 0), 14), (("benches", 0, "name"), 15),
    (("benches", 0, "drawers", 0, "size"), 17), (("benches", 0, "drawers", 1, "size"), 19), (("benches", 1), 21),
    (("benches", 1, "name"), 22), (("benches", 1, "drawers", 0, "size"), 24), (("sheet", "x y", "limits"), 26),
    (("sheet", "x y", "limits", "levels"), 27), (("sheet", "x y", "limits", "levels", 0, "at"), 28),
    (("sheet", "x y", "limits", "levels", 1, "at"), 31),
    (("sheet", "x y", "limits", "levels", 1, "inner", "deep", 1), 32),
    (("sheet", "x y", "limits", "last"), 34),
]  # fmt: skip


@pytest.mark.parametrize(("path", "line"), EXPECTED)
def test_each_form_of_key_has_its_line(path: tuple[str | int, ...], line: int) -> None:
    assert positions(SAMPLE)[path] == line


def test_a_missing_key_is_told_at_its_table_and_a_missing_table_at_the_top() -> None:
    lines = positions(SAMPLE)
    assert line_of(lines, ("benches", 1, "colour")) == 21
    assert line_of(lines, ("nothing", "here")) == 1


def leaves(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    if isinstance(value, dict):
        return [p for k, v in value.items() for p in leaves(v, (*path, k))] or [path]
    if isinstance(value, list):
        return [p for i, v in enumerate(value) for p in leaves(v, (*path, i))] or [path]
    return [path]


@pytest.mark.parametrize("file", sorted((ROOT / "monitor/catalogue").rglob("*.toml")), ids=lambda p: p.name)
def test_every_leaf_of_the_catalogue_has_a_line_that_shows_its_key(file: Path) -> None:
    text = file.read_text()
    lines, rows = positions(text), text.splitlines()
    for path in leaves(tomllib.loads(text)):
        key = next(part for part in reversed(path) if isinstance(part, str))
        start = lines[path[: len(path) - path[::-1].index(key)]]
        assert key in rows[start - 1], path


keys = st.text("abcXYZ019-_", min_size=1, max_size=4)
texts = st.text("ab \"'#[]{}=,.\\\n", max_size=6)


def written(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {written(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[\n" + "".join(f"  {written(v)}, # ] }}\n" for v in value) + "]"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'
    return str(value).lower() if isinstance(value, bool) else str(value)


inner = st.recursive(
    st.integers(-9, 9) | texts | st.booleans(),
    # a list that spans lines may not stand inside an inline table, so lists stay outermost
    lambda children: st.dictionaries(keys, children.filter(lambda c: not isinstance(c, list)), max_size=3),
    max_leaves=4,
)


@given(st.lists(st.dictionaries(keys, inner | st.lists(inner, max_size=3), max_size=4), max_size=4))
def test_lines_are_right_for_any_generated_document(tables: list[dict[str, Any]]) -> None:
    text, expected = "", {}
    for index, table in enumerate(tables):
        text += "\n# between\n[[t]]\n"
        expected[("t", index)] = text.count("\n")
        for key, value in table.items():
            expected[("t", index, key)] = text.count("\n") + 1
            text += f"{key} = {written(value)}\n"
    assert tomllib.loads(text).get("t", []) == tables
    found = positions(text)
    assert {path: found.get(path) for path in expected} == expected
    assert all(path in found for path in leaves(tomllib.loads(text)) if path)
