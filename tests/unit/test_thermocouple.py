"""Thermocouple formulas: shapes, ranges, NaN, round trips, and no numpy for a single number."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.science.its90 import REFERENCES
from monitor.science.thermocouple import emf_mv, temperature_c, tolerance_c

KINDS = st.sampled_from(["K", "T"])
AIR_C = st.floats(-20, 60)


@given(KINDS, st.floats(0, 1), AIR_C)
def test_a_temperature_comes_back_through_any_cold_junction(kind: str, share: float, cold_c: float) -> None:
    reference = REFERENCES[kind]
    temp = reference.inverse_low_c + share * (reference.high_c - reference.inverse_low_c)
    measured = emf_mv(kind, temp) - emf_mv(kind, cold_c)
    assert temperature_c(kind, measured, cold_junction_c=cold_c) == pytest.approx(temp, abs=1e-6)


@given(KINDS, AIR_C)
def test_no_voltage_means_the_temperature_of_the_terminals(kind: str, cold_c: float) -> None:
    assert temperature_c(kind, 0.0, cold_junction_c=cold_c) == pytest.approx(cold_c, abs=1e-7)


@given(KINDS, st.lists(st.floats(-270, 400), min_size=1, max_size=20))
def test_an_array_gives_what_its_numbers_give(kind: str, temps: list[float]) -> None:
    singly = [emf_mv(kind, temp) for temp in temps]
    assert emf_mv(kind, np.array(temps)) == pytest.approx(singly, abs=1e-12)
    warm = [temp for temp in temps if temp >= -200]
    back = temperature_c(kind, [emf_mv(kind, temp) for temp in warm], cold_junction_c=0.0)
    assert back == pytest.approx(warm, abs=1e-6)


@pytest.mark.parametrize("kind", ["K", "T"])
def test_the_voltage_rises_with_the_temperature(kind: str) -> None:
    temps = np.arange(-270, REFERENCES[kind].high_c, 0.25)
    assert (np.diff(emf_mv(kind, temps)) > 0).all()


@pytest.mark.parametrize("kind", ["K", "T"])
def test_the_ends_of_the_range_can_be_inverted(kind: str) -> None:
    reference = REFERENCES[kind]
    for end in (reference.inverse_low_c, reference.high_c):
        assert temperature_c(kind, emf_mv(kind, end) - emf_mv(kind, 21.3), cold_junction_c=21.3) == pytest.approx(end)


def test_shapes_are_kept_and_broadcast() -> None:
    assert emf_mv("K", np.zeros((2, 3))).shape == (2, 3)
    assert temperature_c("K", np.zeros((2, 1)), cold_junction_c=np.full(3, 20.0)).shape == (2, 3)
    assert tolerance_c("T", 1, np.zeros((4, 1))).shape == (4, 1)


def test_voltages_as_printed_at_both_ends_of_the_table_are_answered() -> None:
    # NIST ITS-90 tables: rounded to 0.001 mV, two of the four lie a little outside the reference function's range.
    for kind, printed_mv, temp_c in (
        ("T", 20.872, 400),
        ("T", -5.603, -200),
        ("K", 54.886, 1372),
        ("K", -5.891, -200),
    ):
        assert temperature_c(kind, printed_mv, cold_junction_c=0.0) == pytest.approx(temp_c, abs=0.04)


def test_what_is_not_a_number_stays_so() -> None:
    assert math.isnan(emf_mv("K", math.nan))
    assert math.isnan(temperature_c("K", math.nan, cold_junction_c=20.0))
    assert math.isnan(temperature_c("T", 1.0, cold_junction_c=math.nan))
    assert math.isnan(tolerance_c("K", 1, math.nan))
    assert np.isnan(emf_mv("T", [math.nan, 20.0])).tolist() == [True, False]
    assert np.isnan(tolerance_c("T", 2, [20.0, math.nan])).tolist() == [False, True]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: emf_mv("J", 20.0), r"type 'J' is not known; known are K, T"),
        (lambda: emf_mv("K", 1372.1), r"temperature of the type K .* 1372\.1 degC; .* from -270 to 1372 degC"),
        (lambda: emf_mv("T", [20.0, 401.0]), r"temperature of the type T .* 401 degC"),
        (lambda: emf_mv("T", math.inf), r"inf degC"),
        (lambda: temperature_c("K", 1.0, cold_junction_c=-271.0), r"cold junction temperature .* -271 degC"),
        (lambda: temperature_c("K", 54.9, cold_junction_c=0.0), r"voltage of the type K .* 54\.9 mV"),
        (lambda: temperature_c("T", -5.7, cold_junction_c=0.0), r"voltage of the type T .* -5\.7 mV"),
        (lambda: tolerance_c("K", 3, 20.0), r"tolerance class 3 of type K is not known; known are 1 and 2"),
        (lambda: tolerance_c("N", 1, 20.0), r"type 'N' is not known"),
        (lambda: tolerance_c("K", 1, 1001.0), r"class 1 is 1001 degC; it must lie from -40 to 1000 degC"),
        (lambda: tolerance_c("K", 2, -41.0), r"class 2 is -41 degC; it must lie from -40 to 1200 degC"),
    ],
)  # fmt: skip
def test_what_lies_outside_is_refused_by_name_value_and_range(call, words: str) -> None:  # noqa: ANN001
    with pytest.raises(ValueError, match=words):
        call()


@given(KINDS, st.sampled_from([1, 2]), st.floats(-40, 350), st.floats(-40, 350))
def test_a_tolerance_never_falls_with_the_distance_from_nought(kind: str, class_: int, a: float, b: float) -> None:
    near, far = sorted((a, b), key=abs)
    assert tolerance_c(kind, class_, near) <= tolerance_c(kind, class_, far)
    assert tolerance_c(kind, 1, a) < tolerance_c(kind, 2, a)


def test_single_numbers_need_no_numpy() -> None:
    code = (
        "import sys\n"
        "from monitor.science.thermocouple import emf_mv, temperature_c, tolerance_c\n"
        "emf_mv('K', 65), temperature_c('T', 1.5, cold_junction_c=22), tolerance_c('K', 1, 65)\n"
        "print('numpy' in sys.modules)"
    )
    done = subprocess.run((sys.executable, "-c", code), capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
