"""Limits and where they come from, in words: source, what is said there, grade, why it warns, what to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dashboard.figure_words import OWN, as_sentence, origin_of
from dashboard.known import Known, Place
from dashboard.words import sentence_case, set_value
from monitor.link.view import LevelView, LimitView

_SIDES = {"high": "at most", "low": "at least"}


@dataclass(frozen=True)
class Origin:
    """A level as written, where it comes from in words, and its anchor on the page of sources.

    The anchor is "" where there is nothing more to read: our own proposals, and what is not in the catalogue.
    """

    at: str
    told: str
    entry: str


@dataclass(frozen=True)
class Told:
    """A limit as it is told.

    Attributes:
        title: what is limited, and on which side.
        off: it is off during the present stage.
        levels: each level with its origin.
        consequence, causes, what_to_do: sentences, "" where nothing is told.
    """

    title: str
    off: bool
    levels: list[Origin]
    consequence: str
    causes: str
    what_to_do: str


def tell(limits: list[LimitView], sheet: str, known: Known) -> list[Told]:
    """Tell each limit of a step started from `sheet`."""
    return [_told(limit, sheet, known) for limit in limits]


def _told(limit: LimitView, sheet: str, known: Known) -> Told:
    what = sentence_case(limit["words"].rsplit(",", 1)[0])
    return Told(
        title=f"{what}, {_SIDES[limit['side']]}",
        off=limit["off"],
        levels=[
            level_origin((sheet, limit["key"], index), level, limit["symbol"], known)
            for index, level in enumerate(limit["levels"])
        ],
        consequence=limit["consequence"],
        causes=sentence_case("; ".join(limit["causes"])) + ("." if limit["causes"] else ""),
        what_to_do=limit["what_to_do"],
    )


def origin(level: LevelView, sources: Mapping[str, str]) -> str:
    """Write where a level comes from: grade, title and locator of its source, and what is noted of it."""
    key = level["source"]
    title = sources.get(key, f"a source that this catalogue does not list, kept as {key!r}")
    told = origin_of(level["grade"], key, title, level["locator"])
    return f"{told} {as_sentence(level['note'])}".strip()


def level_origin(place: Place, level: LevelView, symbol: str, known: Known) -> Origin:
    """Tell one level of a limit as it was when its step was started."""
    entry = known.entry_of(place, level)
    told = origin(level, known.sources)
    if known.rows and not entry and level["source"] not in OWN:
        told += " So it stood when the step was started; the catalogue does not hold it like this now."
    return Origin(f"{set_value(level['at'])} {symbol}", told, "" if level["source"] in OWN else entry)
