"""Size and canvas against the published table and abstracts; every figure of these modules against its row.

Where each file is from stands in `README-formulas-salts-size-thermocouples.md`.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from monitor.figures import NEEDS_LOCATOR, Figure
from monitor.science import canvas, resistance, size, thermocouple
from monitor.science.size import moisture_content_pct

HERE = Path(__file__).parent
FIGURES = canvas.FIGURES | size.FIGURES | thermocouple.FIGURES | resistance.FIGURES
GRADES_KNOWN = {"READ": "published", "SECONDARY": "cited"}


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(newline="") as file:
        return list(csv.DictReader(file))


def test_the_published_isotherms_are_met_in_every_cell() -> None:
    table = rows("size_gelatin_isotherm.csv")
    assert len(table) == 11
    for row in table:
        for temp, column in ((25.0, "gelatin_25C_g_100g"), (40.0, "gelatin_40C_g_100g")):
            printed = float(row[column])
            assert moisture_content_pct(temp, float(row["rh_pct"])) == pytest.approx(printed, abs=1e-9)
            assert size.FIGURES[f"size.gelatin.{temp:g}.{row['rh_pct']}"].value == printed


def test_between_the_cells_lie_straight_lines() -> None:
    table = rows("size_gelatin_isotherm.csv")
    at = np.array([float(row["rh_pct"]) for row in table])
    cool, warm = (np.array([float(row[key]) for row in table]) for key in list(table[0])[1:])
    rh = np.linspace(5, 95, 181)
    expected = np.interp(rh, at, cool) * 0.6 + np.interp(rh, at, warm) * 0.4
    assert moisture_content_pct(31.0, rh) == pytest.approx(expected, abs=1e-9)


def test_the_softening_band_is_the_published_water_content_on_the_published_isotherm() -> None:
    """22 to 28 g in 100 g: 70.8 to 80.9 %RH if of dry weight; if of wet weight (28.2 to 38.9 dry) 81.1 to 89.0."""
    table = rows("size_gelatin_isotherm.csv")
    at, water = ([float(row[key]) for row in table] for key in list(table[0])[:2])
    row = next(row for row in rows("science_figures.csv") if row["id"] == "size.glass-to-rubber")
    low, high = float(row["low"]), float(row["high"])
    dry = np.interp([low, high], water, at)
    wet = np.interp([100 * low / (100 - low), 100 * high / (100 - high)], water, at)
    assert [*dry.round(), *wet.round()] == [71, 81, 81, 89]
    assert dry[0] < size.SOFTENS_FROM_RH_PCT < dry[1] < wet[0] < size.SOFTENS_TO_RH_PCT < wet[1]


def test_every_published_or_cited_figure_has_a_row_and_every_row_a_figure() -> None:
    known = {name for name, figure in FIGURES.items() if figure.grade in NEEDS_LOCATOR}
    own_table = {name for name in known if name.startswith("size.gelatin.")}
    assert {row["id"] for row in rows("science_figures.csv")} == known - own_table
    assert len(own_table) == 22


@pytest.mark.parametrize("row", rows("science_figures.csv"), ids=lambda row: row["id"])
def test_a_figure_is_what_its_row_says(row: dict[str, str]) -> None:
    figure = FIGURES[row["id"]]
    number = {key: float(row[key]) if row[key] else None for key in ("value", "low", "high")}
    expected = Figure(
        number["value"], row["unit"], row["source"], figure.grade, row["locator"], figure.note,
        number["low"], number["high"],
    )  # fmt: skip
    assert figure == expected
    assert figure.grade == row["grade"] == GRADES_KNOWN[row["how_known"]]
    assert row["stands"]
