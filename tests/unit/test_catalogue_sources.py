"""The list of sources: every figure and formula, what each sheet rests on, readable at 100 columns."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from monitor.bench.sheets import Sheet
from monitor.catalogue import Catalogue, figure_rows, load, resting_on
from monitor.catalogue.listing import science_rows
from monitor.catalogue.print_text import sources_lines
from monitor.catalogue.resting import caution_of
from monitor.cli import app
from monitor.figures import Grade
from tests.support.catalogues import SHEET, write


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load()


@pytest.fixture(scope="module")
def lines(catalogue: Catalogue) -> list[str]:
    return list(sources_lines(catalogue))


def of_grades(tmp_path: Path, low: str, high: str) -> Sheet:
    """Load the small sheet with the grades of its two levels changed."""
    text = SHEET.replace('grade = "proposal"', f'locator = "p", grade = "{low}"')
    text = text.replace('"cci-incorrect-rh", locator = "p. 1", grade = "published"', f'"memory", grade = "{high}"')
    return load(write(tmp_path, {"sheets/trial.toml": text})).sheet("trial")


def test_every_figure_stands_in_it_with_grade_and_test(catalogue: Catalogue, lines: list[str]) -> None:
    starts = {line.split(": ")[0]: line for line in lines}
    text = "".join(line.strip() for line in lines)
    rows = [*figure_rows(catalogue), *science_rows(catalogue)]
    assert len({row.where for row in rows}) == len(rows)
    for row in rows:
        assert row.where in starts
        assert row.test.replace(" ", "") in text.replace(" ", ""), row.where
    room = lines.index("sheet.room.humidity-high.levels[1]: 60 %RH [cited]")
    assert " ".join(line.strip() for line in lines[room + 1 : room + 3]) == (
        "IIC and ICOM-CC: Declaration on environmental guidelines, 2014, passage on hygroscopic objects, 40-60 %RH; "
        "for collections at rest"
    )
    assert (
        lines[room + 3].strip()
        == "tests/reference/test_catalogue_figures.py::test_figure[sheet.room.humidity-high.levels[1]]"
    )


def test_no_source_stands_there_unused(catalogue: Catalogue) -> None:
    used = {row.source_key for row in (*figure_rows(catalogue), *science_rows(catalogue))}
    used |= {formula.source for formula in catalogue.formulas.values()}
    held_against = {"ranz-marshall-1952"}  # the drops that the varnish film's formula is held against
    assert set(catalogue.sources) - used == held_against


def test_what_was_read_of_each_source_stands_at_the_end(catalogue: Catalogue, lines: list[str]) -> None:
    """A locator alone would let an abstract or a working file pass for the printed book."""
    end = " ".join(line.strip() for line in lines[lines.index("What of each source was read") :])
    for source in catalogue.sources.values():
        assert source.read, source.key
        assert "".join(f"{source.title}: {source.read}".split()) in "".join(end.split()), source.key


def test_it_is_readable_at_a_hundred_columns(lines: list[str]) -> None:
    assert max(len(line) for line in lines) <= 100


def test_what_no_text_gives_says_that_nothing_checks_it(catalogue: Catalogue) -> None:
    for row in figure_rows(catalogue):
        assert row.test.startswith("no outside check") == (row.grade in ("proposal", "recalled", "own test")), (
            row.where
        )


def test_shares_are_counted_over_the_levels_weakest_first(catalogue: Catalogue, lines: list[str]) -> None:
    assert resting_on(catalogue.sheet("room")) == {Grade.PROPOSAL: 3, Grade.CITED: 4, Grade.PUBLISHED: 2}
    assert list(resting_on(catalogue.sheet("room"))) == [Grade.PROPOSAL, Grade.CITED, Grade.PUBLISHED]
    assert "room: proposal 3 of 9 (33 %), cited 4 of 9 (44 %), published 2 of 9 (22 %)" in lines
    for sheet in catalogue.sheets.values():
        levels = sum(len(limit.levels) for limit in sheet.limits.values())
        assert sum(resting_on(sheet).values()) == levels


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        ("proposal", "proposal",
         "Every limit of this sheet is a proposal of this project; none was found published."),
        ("proposal", "recalled",
         "Every limit of this sheet is a proposal of this project or recalled; none was found published."),
        ("own test", "common practice",
         "Every limit of this sheet is common practice or an own test; none was found published."),
    ],
)  # fmt: skip
def test_a_sheet_without_anything_published_says_so_behind_its_foremost_caution(
    tmp_path: Path, low: str, high: str, said: str
) -> None:
    sheet = of_grades(tmp_path, low, high)
    assert sheet.cautions == ("Never leave a heated tool alone, not even for the telephone.", said)
    printed = list(sources_lines(load(tmp_path)))
    head = next(i for i, line in enumerate(printed) if line.startswith("Trial (trial): "))
    assert said.startswith(printed[head + 1])


@pytest.mark.parametrize("grades", [("proposal", "cited"), ("cited", "proposal"), ("published", "recalled")])
def test_one_published_or_cited_level_is_enough_to_leave_it_out(tmp_path: Path, grades: tuple[str, str]) -> None:
    text = SHEET.replace('grade = "published"', f'grade = "{grades[1]}"')
    text = text.replace('"project", grade = "proposal"', f'"project", locator = "p", grade = "{grades[0]}"')
    sheet = load(write(tmp_path, {"sheets/trial.toml": text})).sheet("trial")
    assert caution_of(sheet) == ""
    assert len(sheet.cautions) == 1


def test_a_sheet_without_limits_claims_nothing_of_them(tmp_path: Path) -> None:
    text = '[sheet.trial]\ntitle = "Trial"\nroles = { room = ["mass"] }\n[[sheet.trial.stages]]\nkey = "all"\n'
    own = load(write(tmp_path, {"sheets/trial.toml": text}))
    assert own.sheet("trial").cautions == ()
    assert "trial: no limits" in list(sources_lines(own))


def test_the_command_gives_it_as_text_and_as_data(catalogue: Catalogue, lines: list[str]) -> None:
    text = CliRunner().invoke(app, ["sources"])
    assert (text.exit_code, text.stdout.splitlines()) == (0, lines)
    data = json.loads(CliRunner().invoke(app, ["sources", "--json"]).stdout)
    assert set(data) == {"figures", "formulas", "shares", "conflicts", "read"}
    figures = {row["where"]: row for row in data["figures"]}
    assert len(figures) == len(figure_rows(catalogue)) + len(science_rows(catalogue))
    assert (
        figures["adhesive.eva-film-original.bond_line_min_c"]["differs"] == "adhesive.eva-film-original.later_min_c"
    )
    assert data["shares"]["room"] == {"proposal": 3, "cited": 4, "published": 2}
    assert {formula["key"] for formula in data["formulas"]} == set(catalogue.formulas)
    assert {"eva-film-2010", "acrylic-303"} <= {conflict["adhesive"] for conflict in data["conflicts"]}


def test_the_command_shows_what_ones_own_figures_stand_in_for(tmp_path: Path) -> None:
    own = '[layer.canvas]\nthickness_um = { value = 620, unit = "um", grade = "own test", note = "margin, MK" }\n'
    told = CliRunner().invoke(app, ["sources", "--catalogue", str(write(tmp_path, {"layers.toml": own}))]).stdout
    part = told[told.index("layer.canvas.thickness_um: 620 um [own test]") :].split("layer.canvas.conductivity")[0]
    assert "margin, MK; in place of 500 (300 to 800) um, proposal, project" in " ".join(part.split())
    assert "no outside check: not published" in part


def test_a_catalogue_with_mistakes_is_told_and_ends_with_1(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["sources", "--catalogue", str(write(tmp_path, {"layers.toml": "[layer.x]\n"}))])
    assert done.exit_code == 1
    assert "layer.x.name: is missing" in done.output
