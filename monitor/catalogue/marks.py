"""What figures say beside their value: the test that computes one, or the figure it differs from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from monitor.tomlfile import Table

Tables = dict[str, Table]
Entries = dict[str, Tables]


def marks(entries: Entries, name: str) -> dict[str, str]:
    """Gather what figures say under a key beside their value, by the figure's place.

    `differs` names another figure of the same entry and is given as that one's place.
    """
    found: dict[str, str] = {}
    for kind, tables in entries.items():
        for key, table in tables.items():
            for figure, told in _figures_of(kind, table.data):
                said, where = told.get(name), f"{kind}.{key}."
                if isinstance(said, str):
                    found[where + figure] = where + said if name == "differs" else said
    return found


def _figures_of(kind: str, data: Mapping[str, object]) -> Iterator[tuple[str, Mapping[str, object]]]:
    """Give each table of an entry that holds a figure, with its place inside the entry."""
    if kind != "sheet":
        yield from ((key, told) for key, told in data.items() if isinstance(told, dict))
        return
    limits = data.get("limits")
    for key, limit in (limits if isinstance(limits, dict) else {}).items():
        levels = limit.get("levels") if isinstance(limit, dict) else None
        for index, level in enumerate(levels if isinstance(levels, list) else []):
            if isinstance(level, dict):
                yield f"{key}.levels[{index + 1}]", level
