"""Fixed points: names, ranges, shapes, NaN, the lines between the table's rows, and no numpy for a single number."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.science.elementwise import either
from monitor.science.salts import SALTS, fixed_point_rh_pct, uncertainty_pct
from monitor.science.tables import between

NAMES = ["LiCl", "MgCl2", "K2CO3", "Mg(NO3)2", "NaBr", "NaCl", "KCl", "KNO3", "K2SO4"]
SALT = st.sampled_from(NAMES)


def test_the_nine_salts_are_there_by_name() -> None:
    assert list(SALTS) == NAMES


@pytest.mark.parametrize("ask", [fixed_point_rh_pct, uncertainty_pct])
def test_an_unknown_salt_is_named_with_those_known(ask) -> None:  # noqa: ANN001
    with pytest.raises(ValueError, match=r"salt 'NaOH' is not known; known are LiCl, MgCl2, K2CO3, Mg\(NO3\)2, NaBr"):
        ask("NaOH", 20.0)


@pytest.mark.parametrize("ask", [fixed_point_rh_pct, uncertainty_pct])
@pytest.mark.parametrize(
    ("salt", "temp_c", "words"),
    [
        ("NaCl", 50.5, r"temperature of the NaCl is 50\.5 degC; it must lie from 0 to 50 degC"),
        ("NaBr", 4.0, r"temperature of the NaBr is 4 degC; it must lie from 5 to 50 degC"),
        ("K2CO3", 31.0, r"temperature of the K2CO3 is 31 degC; it must lie from 0 to 30 degC"),
        ("LiCl", [20.0, -1.0], r"temperature of the LiCl is -1 degC"),
    ],
)
def test_a_temperature_outside_is_refused(ask, salt: str, temp_c: object, words: str) -> None:  # noqa: ANN001
    with pytest.raises(ValueError, match=words):
        ask(salt, temp_c)


@given(SALT, st.lists(st.floats(5, 30), min_size=1, max_size=10))
def test_an_array_gives_what_its_numbers_give(salt: str, temps: list[float]) -> None:
    for ask in (fixed_point_rh_pct, uncertainty_pct):
        assert ask(salt, np.array(temps)) == pytest.approx([ask(salt, temp) for temp in temps], abs=1e-12)


@given(st.floats(5, 30))
def test_the_ladder_keeps_its_order_and_stays_above_nought_and_below_saturation(temp_c: float) -> None:
    rungs = [fixed_point_rh_pct(salt, temp_c) for salt in NAMES]
    assert rungs == sorted(rungs)
    assert rungs[0] > 11
    assert rungs[-1] < 99


@given(SALT, st.floats(0, 1))
def test_the_plus_minus_stays_between_the_tables_rows(salt: str, share: float) -> None:
    row = SALTS[salt]
    temp = row.low_c + share * (row.high_c - row.low_c)
    below = min(int((temp - row.low_c) / 5), len(row.plus_minus_pct) - 2)
    ends = sorted(row.plus_minus_pct[below : below + 2])
    assert ends[0] - 1e-9 <= uncertainty_pct(salt, temp) <= ends[1] + 1e-9


def test_each_table_reaches_over_its_salts_range() -> None:
    for row in SALTS.values():
        assert row.low_c + 5 * (len(row.plus_minus_pct) - 1) == row.high_c


def test_shapes_and_what_is_not_a_number_are_kept() -> None:
    for ask in (fixed_point_rh_pct, uncertainty_pct):
        assert ask("KCl", np.full((2, 3), 20.0)).shape == (2, 3)
        assert math.isnan(ask("KCl", math.nan))
        assert np.isnan(ask("KCl", [math.nan, 20.0])).tolist() == [True, False]


@given(st.lists(st.floats(-100, 100), min_size=3, max_size=6), st.floats(0, 1))
def test_lines_between_rows_are_what_numpy_draws(values: list[float], share: float) -> None:
    knots = [float(index**2) for index in range(len(values))]
    x = share * knots[-1]
    maths, (number,) = either(x)
    assert between(maths, number, knots, values) == pytest.approx(np.interp(x, knots, values), abs=1e-9)


def test_single_numbers_need_no_numpy() -> None:
    code = (
        "import sys\n"
        "from monitor.science.salts import fixed_point_rh_pct, uncertainty_pct\n"
        "fixed_point_rh_pct('NaCl', 20), uncertainty_pct('NaCl', 21.5)\n"
        "print('numpy' in sys.modules)"
    )
    done = subprocess.run((sys.executable, "-c", code), capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
