"""A figure: a value that never travels without its unit, source and grade."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Grade(StrEnum):
    """How a figure is known; screens and reports show this word beside it."""

    PUBLISHED = "published"
    CITED = "cited"
    COMMON_PRACTICE = "common practice"
    COMPUTED = "computed"
    RECALLED = "recalled"
    PROPOSAL = "proposal"
    OWN_TEST = "own test"


NEEDS_LOCATOR = frozenset({Grade.PUBLISHED, Grade.CITED})


@dataclass(frozen=True)
class Figure:
    """A sourced value.

    Attributes:
        value: the number, or None where only an own test can give one.
        unit: the unit's symbol as printed in files (degC, %RH, s, W/(m2 K) ...).
        source: key of a catalogue source, "project" for our own proposals.
        grade: how it is known.
        locator: page, table or equation; required for published and cited figures.
        note: a condition or a caution, in a few words.
        low, high: the range in which the value may lie, where one is known.
    """

    value: float | None
    unit: str
    source: str
    grade: Grade
    locator: str = ""
    note: str = ""
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        if self.grade in NEEDS_LOCATOR and not self.locator:
            raise ValueError(f"figure {self.value} {self.unit}: grade {self.grade} needs a locator")
        if self.value is None and self.grade is not Grade.OWN_TEST:
            raise ValueError(f"figure in {self.unit}: only grade {Grade.OWN_TEST} may lack a value")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"figure {self.value} {self.unit}: low {self.low} is above high {self.high}")
