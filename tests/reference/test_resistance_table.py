"""A Pt100's resistance and tolerance against printed points, and its inverse against a general root finder.

Where each file is from stands in `README-formulas-salts-size-thermocouples.md`.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from monitor.figures import Grade
from monitor.science.resistance import FIGURES, HIGH_C, LOW_C, C, resistance_ohm, temperature_c, tolerance_c

TABLE = Path(__file__).with_name("pt100_iec60751.csv")


def rows() -> list[dict[str, float]]:
    with TABLE.open(newline="") as file:
        return [{key: float(value) for key, value in row.items()} for row in csv.DictReader(file)]


def test_every_printed_resistance_is_met_to_its_last_digit() -> None:
    printed = rows()
    assert len(printed) == 26
    for row in printed:
        assert resistance_ohm(row["t_C"]) == pytest.approx(row["R_printed_ohm"], abs=0.005)
        assert resistance_ohm(row["t_C"]) == pytest.approx(row["R_CVD_ohm"], abs=0.00006)
        assert temperature_c(row["R_printed_ohm"]) == pytest.approx(row["t_C"], abs=0.02)


def test_the_constant_below_nought_is_the_standards_and_not_the_older_curves() -> None:
    """35.54 ohm at -160 degC, a printed list (another prints 35.34 there); -4.2735e-12 gives 35.53."""
    assert pytest.approx(-4.183e-12) == C
    assert round(resistance_ohm(-160.0), 2) == 35.54


def test_the_inverse_is_what_a_bracketing_root_finder_finds() -> None:
    for ohm in np.linspace(18.6, 390.4, 40):
        found = brentq(lambda temp, ohm=ohm: resistance_ohm(float(temp)) - ohm, LOW_C, HIGH_C, xtol=1e-10)
        assert temperature_c(float(ohm)) == pytest.approx(found, abs=1e-8)


@pytest.mark.parametrize("class_", ["AA", "A", "B"])
def test_tolerances_are_those_of_the_quoted_standard(class_: str) -> None:
    for row in rows():
        assert tolerance_c(class_, row["t_C"]) == pytest.approx(row[f"class_{class_}_C"], abs=1e-9)


def test_the_figures_are_called_cited_and_no_more() -> None:
    assert len(FIGURES) == 10
    assert {figure.grade for figure in FIGURES.values()} == {Grade.CITED}
