"""Makes a person's text printable without changing what it says.

The typesetter refuses, rightly, a sign for which it has no letter. Such signs are written by
their number, [U+1F58C], and so are those that turn the direction of writing.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

PROBES_AT_MOST = 400
LONGEST_WORD = 24
_TURNING = frozenset("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_BREAK_HERE = "\u200b"
_LONG = re.compile(rf"\S{{{LONGEST_WORD}}}(?=\S)")


def signs_of(data: Any) -> set[str]:  # noqa: ANN401 - any JSON value
    """Collect every sign of every text in a JSON value."""
    if isinstance(data, str):
        return set(data)
    if isinstance(data, dict):
        return set().union(*map(signs_of, data.values())) if data else set()
    return set().union(*map(signs_of, data)) if isinstance(data, list) and data else set()


def unprintable(signs: set[str], prints: Callable[[str], bool]) -> set[str]:
    """Find the signs that cannot be printed.

    Args:
        signs: all signs that are to be printed.
        prints: tells whether a text can be set; asked for ever smaller groups. After
            `PROBES_AT_MOST` questions what has not been found printable counts as unprintable.
    """
    bad = {s for s in signs if s in _TURNING or "\ud800" <= s <= "\udfff" or (s < " " and s not in "\n\t")}
    groups = [sorted(signs - bad - {"\n", "\t"})]
    asked = 0
    while groups:
        group = groups.pop()
        asked += 1
        if not group or (asked <= PROBES_AT_MOST and prints(" ".join(group))):
            continue
        if len(group) == 1 or asked > PROBES_AT_MOST:
            bad.update(group)
            continue
        middle = len(group) // 2
        groups += [group[:middle], group[middle:]]
    return bad


def by_number(text: str, bad: set[str]) -> str:
    """Write unprintable signs by their number."""
    return "".join(f"[U+{ord(s):04X}]" if s in bad else s for s in text) if bad else text


def printable(data: Any, bad: set[str]) -> Any:  # noqa: ANN401 - any JSON value
    """Give a JSON value whose texts can all be printed and broken into lines."""
    if isinstance(data, str):
        return _LONG.sub(lambda match: match.group() + _BREAK_HERE, by_number(data, bad))
    if isinstance(data, dict):
        return {key: printable(value, bad) for key, value in data.items()}
    return [printable(value, bad) for value in data] if isinstance(data, list) else data
