"""What the levels of a sheet rest on, and the sentence of a sheet for which nothing published was found."""

from __future__ import annotations

from dataclasses import replace

from monitor.bench.sheets import Sheet
from monitor.catalogue.stacks import WEAKEST_FIRST
from monitor.figures import NEEDS_LOCATOR, Grade

WORDS: dict[Grade, str] = {
    Grade.PROPOSAL: "a proposal of this project",
    Grade.RECALLED: "recalled",
    Grade.COMMON_PRACTICE: "common practice",
    Grade.COMPUTED: "computed",
    Grade.OWN_TEST: "an own test",
}


def resting_on(sheet: Sheet) -> dict[Grade, int]:
    """Count the levels of a sheet's limits by grade, the weakest first."""
    grades = [Grade(level.grade) for limit in sheet.limits.values() for level in limit.levels]
    return {grade: grades.count(grade) for grade in WEAKEST_FIRST if grade in grades}


def caution_of(sheet: Sheet) -> str:
    """Give the sentence of a sheet none of whose levels is published or cited, or ""."""
    grades = resting_on(sheet)
    if not grades or any(grade in NEEDS_LOCATOR for grade in grades):
        return ""
    return f"Every limit of this sheet is {' or '.join(WORDS[grade] for grade in grades)}; none was found published."


def with_caution(sheet: Sheet) -> Sheet:
    """Put that sentence among the cautions, behind the foremost, which warns of harm."""
    said = caution_of(sheet)
    return replace(sheet, cautions=(*sheet.cautions[:1], said, *sheet.cautions[1:])) if said else sheet
