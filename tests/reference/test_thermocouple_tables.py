"""Voltages against NIST's printed tables, whole, and against an independent library; tolerances against the standard.

Where each file is from stands in `README-formulas-salts-size-thermocouples.md`.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import thermocouple_its90

from monitor.figures import Grade
from monitor.science.its90 import REFERENCES
from monitor.science.thermocouple import FIGURES, TOLERANCES, emf_mv, temperature_c, tolerance_c

HERE = Path(__file__).parent
TABLES = Path(__file__).parents[1] / ".data"
POINTS = {"K": 1643, "T": 671}
LAST_DIGIT_MV = 0.0005


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(newline="") as file:
        return list(csv.DictReader(file))


def text(kind: str) -> str:
    path = TABLES / f"nist_type_{kind.lower()}.tab"
    if not path.exists():
        pytest.skip(f"tests/.data/{path.name} is not there; deploy/check fetches it")
    return path.read_text("latin-1")


def table(kind: str) -> dict[int, float]:
    """Read the printed voltages: a line starts with tens of degrees, its columns are units of them."""
    found, sign = {}, 1
    for line in text(kind).splitlines():
        if re.search(r"C\s+0\s+-1\s", line):
            sign = -1
        elif re.search(r"C\s+0\s+1\s", line):
            sign = 1
        elif re.fullmatch(r"\s*-?\d+(\s+-?\d+\.\d{3})+\s*", line):
            tens, *values = line.split()
            found |= {int(tens) + sign * unit: float(value) for unit, value in enumerate(values)}
    return found


def coefficients(kind: str) -> tuple[list[list[float]], list[float]]:
    """Read the reference function's coefficients, piece by piece, and those of the exponential term."""
    after = text(kind).split("name: reference function", 1)[1].split("*****", 1)[0]
    main, _, bell = after.partition("exponential:")
    pieces = [re.findall(r"-?\d\.\d+E[+-]\d+", piece) for piece in main.split("range:")[1:]]
    return [[float(one) for one in piece] for piece in pieces], [float(one) for one in re.findall(r"=\s*(\S+)", bell)]


@pytest.mark.parametrize("kind", ["K", "T"])
def test_every_printed_point_is_met_to_its_last_digit(kind: str) -> None:
    printed = table(kind)
    assert len(printed) == POINTS[kind]
    temps = np.array(list(printed), dtype=float)
    off = np.abs(emf_mv(kind, temps) - np.array(list(printed.values())))
    assert off.max() <= LAST_DIGIT_MV + 1e-9, f"{off.max():.7f} mV at {temps[off.argmax()]:g} degC"
    singly = max(abs(emf_mv(kind, float(temp)) - value) for temp, value in printed.items())
    assert singly <= LAST_DIGIT_MV + 1e-9


@pytest.mark.parametrize("kind", ["K", "T"])
def test_every_coefficient_is_that_of_the_tables_file(kind: str) -> None:
    (below, above), bell = coefficients(kind)
    ours = REFERENCES[kind]
    assert (list(ours.below), list(ours.above)) == (below, above)
    assert list(ours.bell) == (bell or [0.0, 0.0, 0.0])


@pytest.mark.parametrize("kind", ["K", "T"])
def test_every_inverse_coefficient_and_seam_is_that_of_the_tables(kind: str) -> None:
    printed: dict[float, list[float]] = {}
    for row in rows("tc_inverse_coefficients.csv"):
        if row["type"] == kind:
            printed.setdefault(float(row["E_from_mV"]), []).append(float(row["value"]))
    for inverse in REFERENCES[kind].inverses:
        expected = printed.pop(inverse.from_mv)
        assert list(inverse.coefficients) == expected[: len(inverse.coefficients)]
        assert not any(expected[len(inverse.coefficients) :])
    assert printed == {}


@pytest.mark.parametrize("kind", ["K", "T"])
def test_an_independent_library_gives_the_same_voltages_and_temperatures(kind: str) -> None:
    library: Any = thermocouple_its90.get(kind)
    low, high = REFERENCES[kind].inverse_low_c, REFERENCES[kind].high_c
    temps = np.linspace(low, high, 1500)
    theirs = np.array([library.emf(float(temp)) for temp in temps])
    assert np.abs(emf_mv(kind, temps) - theirs).max() < 1e-9
    back = temperature_c(kind, theirs - emf_mv(kind, 23.4), cold_junction_c=23.4)
    assert np.abs(back - temps).max() < 1e-6
    inverted = np.array([library.temperature(float(emf)) for emf in theirs])
    assert np.abs(back - inverted).max() < 0.001


def test_the_kept_check_values_are_met() -> None:
    for row in rows("tc_emf_check.csv"):
        kind, temp = row["type"], float(row["t90_C"])
        assert emf_mv(kind, temp) == pytest.approx(float(row["emf_lib1_mV"]), abs=1e-6)
        assert emf_mv(kind, temp) == pytest.approx(float(row["emf_NIST_table_mV"]), abs=LAST_DIGIT_MV + 1e-9)
        slope_uv = (emf_mv(kind, temp + 0.01) - emf_mv(kind, temp - 0.01)) / 0.02 * 1000
        assert slope_uv == pytest.approx(float(row["seebeck_uV_per_C"]), abs=0.002)


def test_the_worked_example_adds_voltages_and_not_degrees() -> None:
    """Type K, 4.096 mV, cold junction at 25 degC: 124.3 degC, as printed; adding degrees would give 125.0."""
    found = temperature_c("K", 4.096, cold_junction_c=25.0)
    assert round(found, 1) == 124.3


def test_tolerances_are_those_of_the_quoted_standard() -> None:
    compared = 0
    for row in rows("tc_tolerance_iec60584.csv"):
        for class_ in (1, 2):
            printed = row[f"class{class_}_tol_C"]
            kind, temp = row["type"], float(row["t_C"])
            if printed:
                assert tolerance_c(kind, class_, temp) == pytest.approx(float(printed), abs=0.0006)
                compared += 1
            else:
                with pytest.raises(ValueError, match=rf"type T class {class_} is {temp:g}"):
                    tolerance_c(kind, class_, temp)
    assert compared == 64


def test_tolerances_change_over_where_the_quoting_texts_say() -> None:
    """Changes at 375 and 333 (K), 125 and 133 degC (T); at 65 to 70 degC 1.5 and 2.5, 0.5 and 1.0 K."""
    for key, seam, at_work in (
        (("K", 1), 375, 1.5), (("K", 2), 333, 2.5), (("T", 1), 125, 0.5), (("T", 2), 133, 1.0),
    ):  # fmt: skip
        row = TOLERANCES[key]
        assert int(row.fixed_c / row.share_pct * 100) == seam
        assert tolerance_c(*key, np.array([65.0, 70.0])).tolist() == [at_work, at_work]


def test_the_classes_figures_are_called_cited_and_no_more() -> None:
    assert len(FIGURES) == 8
    assert {figure.grade for figure in FIGURES.values()} == {Grade.CITED}
