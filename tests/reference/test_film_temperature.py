"""The film of a solvent against drops whose temperature was measured, and against a worked example of a textbook.

W. E. Ranz and W. R. Marshall hung drops of 1 mm from a fine thermocouple in a stream of dry air
(Chemical Engineering Progress 48 (4), 1952, 173-180, tables 1 and 4; `drops_1952.csv`, see
README-solvents.md). A drop that small takes its heat nearly all from the air, so it comes nearer to
the computed temperature than any film on a painting will.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from chemicals import heat_capacity
from scipy.optimize import brentq

from monitor.science.solvent_data import SolventData
from monitor.science.solvents import AIR_DIFFUSIVITY_MM2_S, AIR_HEAT_J_MOLK, film_temperature_c, vapour_pressure_pa
from tests.support.solvents import BENZENE, catalogue, computed, listed

TORR_PA = 133.322


def drops() -> list[dict[str, str]]:
    with (Path(__file__).parent / "drops_1952.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def film_c(row: dict[str, str]) -> float:
    data = listed("water") if row["liquid"] == "water" else computed(BENZENE)
    return film_temperature_c(data, float(row["air_c"]), pressure_pa=float(row["pressure_mmhg"]) * TORR_PA)


# Run 16 of table 1 reads 6.1 degC in air of 23.6 degC, while run 17 has 7.3 in 23.7: a slip in print or reading.
ODD = ("water", "16")


def is_odd(row: dict[str, str]) -> bool:
    return (row["liquid"], row["run"]) == ODD


@pytest.mark.parametrize("row", drops(), ids=lambda r: f"{r['liquid']}-{r['run']}")
def test_no_measured_drop_was_colder_than_computed(row: dict[str, str]) -> None:
    """At most this cold; the odd one is held to what it is printed as, so that nobody forgets it."""
    warmer = float(row["drop_c"]) - film_c(row)
    assert warmer == pytest.approx(-0.71, abs=0.05) if is_odd(row) else 0.15 < warmer < 3.4


MOVING = [r for r in drops() if float(r["air_cm_s"]) > 50 and not is_odd(r)]


@pytest.mark.parametrize("row", MOVING, ids=lambda r: f"{r['liquid']}-{r['run']}")
def test_in_moving_air_drops_came_near_it(row: dict[str, str]) -> None:
    assert float(row["drop_c"]) == pytest.approx(film_c(row), abs=0.85)


def test_the_slower_the_air_the_warmer_the_drop() -> None:
    """Between the analogy for moving air and pure diffusion, exponents 2/3 and 1, as the model has it."""
    slowest = min((r for r in drops() if r["liquid"] == "benzene"), key=lambda r: float(r["air_cm_s"]))
    pressure_pa = float(slowest["pressure_mmhg"]) * TORR_PA
    still = film_temperature_c(computed(BENZENE), float(slowest["air_c"]), pressure_pa=pressure_pa, exponent=1.0)
    assert still == pytest.approx(float(slowest["drop_c"]), abs=0.5)


def test_a_worked_example_with_toluene() -> None:
    """Toluene in air of 333 K that holds 0.05 kg of it a kilogram, exponent 0.567.

    Benitez, Principles and Modern Applications of Mass Transfer Operations, illustration 8.6 (b), as
    a public solution of the book's examples programs it: mass ratios, Watson's enthalpy,
    Antoine's pressure, a diffusivity of 0.1 cm2/s and the air's properties at 333 K. Its air is warmer than
    the model goes, so the example is put to air of 313 K, and solved here in its own equations.
    """
    gas_k, ratio, total_kpa, masses = 313.15, 0.01, 101.325, 92 / 28.97

    def pressure_kpa(t: float) -> float:
        return math.exp(13.9320 - 3057 / (t - 55.52))

    def surplus(t: float) -> float:
        heat = (1.005 + 1.256 * ratio) * ((19.5e-6 / (1.06 * 0.1e-4)) / 0.7) ** 0.567
        latent = 33.18 * 1000 / 92 * ((1 - t / 591.8) / (1 - 383.8 / 591.8)) ** 0.38
        at_film = pressure_kpa(t) / (total_kpa - pressure_kpa(t)) * masses
        return heat * (gas_k - t) - (at_film - ratio) * latent

    theirs_c = brentq(surplus, 250, gas_k) - 273.15
    vapour_pa = 1000 * total_kpa * ratio / (ratio + masses)
    ours_c = film_temperature_c(listed("toluene"), gas_k - 273.15, vapour_pa=vapour_pa, exponent=0.567)
    assert ours_c == pytest.approx(theirs_c, abs=1.0)


@pytest.mark.parametrize(("key", "most_k"), [("acetone", 0.45), ("toluene", 0.15), ("nonane", 0.05)])
def test_the_heat_of_the_vapour_itself_changes_little(key: str, most_k: float) -> None:
    """Ackermann's correction, which the model leaves out: the film theory's ln(1 + c dT / H) for c dT / H."""
    data: SolventData = listed(key)
    row = heat_capacity.Cp_data_Poling.loc[catalogue().solvents[key].cas]
    t = 293.15
    heat = 8.314462618 * (row.a0 + row.a1 * t + row.a2 * t**2 + row.a3 * t**3 + row.a4 * t**4)
    le = (AIR_DIFFUSIVITY_MM2_S / data.diffusivity_25c_mm2_s) ** (2 / 3)

    def surplus(film: float) -> float:
        warmed = heat * (20.0 - film) / data.vaporisation_j_mol(film)
        lost = -math.log(1 - vapour_pressure_pa(data, film) / 101325)
        return lost - le * AIR_HEAT_J_MOLK / heat * math.log1p(warmed)

    colder = film_temperature_c(data, 20.0) - brentq(surplus, -39.0, 20.0)
    assert 0 < colder < most_k
