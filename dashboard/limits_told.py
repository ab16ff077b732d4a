"""Limits and where they come from, in words: source, what is said there, grade, why it warns, what to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dashboard.words import grade, sentence_case, set_value
from monitor.link.view import LevelView, LimitView

_SIDES = {"high": "at most", "low": "at least"}
_OWN = ("project", "memory", "own-test", "command")
"""Sources that are no text: their grade says all there is to say."""


@dataclass(frozen=True)
class Told:
    """A limit as it is told.

    Attributes:
        title: what is limited, and on which side.
        off: it is off during the present stage.
        levels: each level and its origin.
        consequence, causes, what_to_do: sentences, "" where nothing is told.
    """

    title: str
    off: bool
    levels: list[tuple[str, str]]
    consequence: str
    causes: str
    what_to_do: str


def tell(limits: list[LimitView], sources: Mapping[str, str]) -> list[Told]:
    """Tell each limit; `sources` gives titles by key."""
    return [_told(limit, sources) for limit in limits]


def _told(limit: LimitView, sources: Mapping[str, str]) -> Told:
    what = sentence_case(limit["words"].rsplit(",", 1)[0])
    return Told(
        title=f"{what}, {_SIDES[limit['side']]}",
        off=limit["off"],
        levels=[(f"{set_value(v['at'])} {limit['symbol']}", origin(v, sources)) for v in limit["levels"]],
        consequence=limit["consequence"],
        causes=sentence_case("; ".join(limit["causes"])) + ("." if limit["causes"] else ""),
        what_to_do=limit["what_to_do"],
    )


def origin(level: LevelView, sources: Mapping[str, str]) -> str:
    """Write where a level comes from: grade, title and locator of its source, and what is noted of it."""
    told = sentence_case(grade(level["grade"]))
    if level["source"] not in _OWN:
        told += f": {sources.get(level['source'], level['source'])}"
        told += f", {level['locator']}" if level["locator"] else ""
    return f"{told.rstrip('.')}. {sentence_case(level['note'])}".strip().rstrip(".") + "."
