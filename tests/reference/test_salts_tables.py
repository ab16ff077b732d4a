"""Fixed points of saturated salts against tables and a handbook's other equation.

Where each file is from, and which of them is only recalled, stands in
`README-formulas-salts-size-thermocouples.md`.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from monitor.figures import Grade
from monitor.science.salts import FIGURES, SALTS, fixed_point_rh_pct, uncertainty_pct

HERE = Path(__file__).parent
LADDER_20 = {
    "LiCl": (11.31, 0.31), "MgCl2": (33.07, 0.18), "K2CO3": (43.16, 0.33), "Mg(NO3)2": (54.38, 0.23),
    "NaBr": (59.14, 0.44), "NaCl": (75.47, 0.14), "KCl": (85.11, 0.29),
}  # fmt: skip
"""At 20 degC, %RH and +-: the paper's table as recalled."""
MISPRINTED = ("NaCl", 20.0)
"""The read table has 75.7 there, between 75.6 and 75.3; the curve goes through 75.5."""


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(newline="") as file:
        return list(csv.DictReader(file))


def cut(value: float) -> float:
    """Cut off after two decimals, as the paper's table seems to."""
    return int(value * 100 + 1e-6) / 100


def test_the_read_table_agrees_to_its_last_digit() -> None:
    """Published: a conservation scientist's table of seven salts, 0.1 %RH (half a digit, and what cutting takes)."""
    compared = 0
    for row in rows("salts_conservation_table.csv"):
        for temp in (5.0, 10.0, 15.0, 20.0, 25.0):
            if (row["salt"], temp) != MISPRINTED:
                assert fixed_point_rh_pct(row["salt"], temp) == pytest.approx(float(row[f"{temp:g}"]), abs=0.061)
                compared += 1
    assert compared == 34


@pytest.mark.parametrize("row", rows("salts_handbook.csv"), ids=lambda row: row["salt"])
def test_a_handbooks_equation_agrees_within_its_own_two_percent(row: dict[str, str]) -> None:
    """Published: RH = A exp(B/T), good to +-2 %RH; at the ends of its range it bends away, by up to 3.1."""
    temps = np.arange(max(15.0, float(row["from_C"])), min(30.0, float(row["to_C"])) + 0.1, 0.5)
    theirs = float(row["A"]) * np.exp(float(row["B"]) / (temps + 273.15))
    assert len(temps) >= 20
    assert np.abs(fixed_point_rh_pct(row["salt"], temps) - theirs).max() < 2.0


def test_the_coefficients_are_those_quoted() -> None:
    """Cited, signs of LiCl and K2CO3 put right. Mg(NO3)2 stands there as a mere straight line and is held loosely."""
    for row in rows("salts_greenspan_coefficients.csv"):
        quoted = [float(row[f"A{power}"] or 0) for power in range(4)]
        ours = [*SALTS[row["salt"]].coefficients, 0.0, 0.0, 0.0][:4]
        assert ours == pytest.approx(quoted, abs=6e-5 if row["salt"] == "Mg(NO3)2" else 0)
        assert SALTS[row["salt"]].grade is Grade.CITED


def test_the_recalled_table_is_the_polynomials_cut_off() -> None:
    """Recalled: no proof by itself, but 42 values that were not used to make the cited polynomials."""
    compared = 0
    for row in rows("salts_greenspan.csv"):
        found = fixed_point_rh_pct(row["salt"], float(row["t_C"]))
        if SALTS[row["salt"]].grade is Grade.CITED:
            assert cut(found) == pytest.approx(float(row["RH_table_pct_MEMORY"]), abs=0.001)
            compared += 1
        if row["RH_polynomial_pct"]:
            assert found == pytest.approx(float(row["RH_polynomial_pct"]), abs=0.00051)
        assert uncertainty_pct(row["salt"], float(row["t_C"])) == pytest.approx(float(row["unc_pct_MEMORY"]))
    assert compared == 42


def test_sodium_bromide_is_one_cubic_through_ten_recalled_rows() -> None:
    table = rows("salts_sodium_bromide_recalled.csv")
    temps = np.array([float(row["t_C"]) for row in table])
    recalled = np.array([float(row["RH_pct_recalled"]) for row in table])
    assert np.abs(fixed_point_rh_pct("NaBr", temps) - recalled).max() < 0.004
    fitted = np.polynomial.Polynomial.fit(temps, recalled, 3).convert().coef
    assert SALTS["NaBr"].coefficients == pytest.approx(fitted, rel=1e-6)
    assert uncertainty_pct("NaBr", temps) == pytest.approx([float(row["unc_pct_recalled"]) for row in table])


def test_the_ladder_at_twenty_degrees() -> None:
    for salt, (rh_pct, plus_minus) in LADDER_20.items():
        assert fixed_point_rh_pct(salt, 20.0) == pytest.approx(rh_pct, abs=0.0101)
        assert uncertainty_pct(salt, 20.0) == pytest.approx(plus_minus)


def test_what_is_recalled_is_called_so() -> None:
    recalled = {name for name, figure in FIGURES.items() if figure.grade is Grade.RECALLED}
    expected = {f"salts.{salt}.plus-minus" for salt in SALTS} | {f"salts.NaBr.a{power}" for power in range(4)}
    assert recalled == expected
    assert all(figure.grade is Grade.CITED for name, figure in FIGURES.items() if name not in recalled)
