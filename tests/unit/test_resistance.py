"""Pt100 formulas: shapes, ranges, NaN, round trips, and no numpy for a single number."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.science.resistance import resistance_ohm, temperature_c, tolerance_c

TEMPS_C = st.floats(-200, 850)


@given(TEMPS_C)
def test_a_temperature_comes_back(temp_c: float) -> None:
    assert temperature_c(resistance_ohm(temp_c)) == pytest.approx(temp_c, abs=1e-6)


@given(st.lists(TEMPS_C, min_size=1, max_size=20))
def test_an_array_gives_what_its_numbers_give(temps: list[float]) -> None:
    ohms = resistance_ohm(np.array(temps))
    assert ohms == pytest.approx([resistance_ohm(temp) for temp in temps], abs=1e-10)
    assert temperature_c(ohms) == pytest.approx([temperature_c(float(ohm)) for ohm in ohms], abs=1e-9)


def test_the_resistance_rises_with_the_temperature_and_has_no_step_at_nought() -> None:
    temps = np.arange(-200, 850.01, 0.25)
    ohms = resistance_ohm(temps)
    assert (np.diff(ohms) > 0).all()
    assert resistance_ohm(1e-9) - resistance_ohm(-1e-9) < 1e-8


def test_shapes_are_kept() -> None:
    assert resistance_ohm(np.zeros((2, 3))).shape == (2, 3)
    assert temperature_c(np.full((3, 1), 110.0)).shape == (3, 1)
    assert tolerance_c("A", np.zeros(4)).shape == (4,)


def test_resistances_rounded_to_a_tables_digits_are_answered_at_both_ends() -> None:
    for temp_c in (-200.0, 850.0):
        assert temperature_c(round(resistance_ohm(temp_c), 2)) == pytest.approx(temp_c, abs=0.02)


def test_what_is_not_a_number_stays_so() -> None:
    assert math.isnan(resistance_ohm(math.nan))
    assert math.isnan(temperature_c(math.nan))
    assert math.isnan(tolerance_c("B", math.nan))
    assert np.isnan(temperature_c([math.nan, 100.0])).tolist() == [True, False]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: resistance_ohm(851.0), r"temperature of the Pt100 is 851 degC; it must lie from -200 to 850 degC"),
        (lambda: resistance_ohm([20.0, -201.0]), r"-201 degC"),
        (lambda: temperature_c(18.0), r"the Pt100 is 18 ohm; it must lie from 18\.5151 to 390\.486 ohm"),
        (lambda: temperature_c(391.0), r"391 ohm"),
        (lambda: tolerance_c("C", 20.0), r"class 'C' is not known; known are AA, A, B"),
        (lambda: tolerance_c("A", 900.0), r"class A is 900 degC; it must lie from -200 to 850 degC"),
    ],
)  # fmt: skip
def test_what_lies_outside_is_refused_by_name_value_and_range(call, words: str) -> None:  # noqa: ANN001
    with pytest.raises(ValueError, match=words):
        call()


def test_single_numbers_need_no_numpy() -> None:
    code = (
        "import sys\n"
        "from monitor.science.resistance import resistance_ohm, temperature_c, tolerance_c\n"
        "temperature_c(resistance_ohm(-40)), tolerance_c('A', 65)\n"
        "print('numpy' in sys.modules)"
    )
    done = subprocess.run((sys.executable, "-c", code), capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
