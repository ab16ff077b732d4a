"""Temperatures of stacks against printed examples, closed forms and what another program computed."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from monitor.science.conduction import Convective, Fixed, Insulated, Layer, SemiInfinite, temperatures
from tests.support.reference import rows

DAY_S = 86_400.0
WALL = Layer(0.040, 63.9, 7832.0, 434.0)


def of_diffusivity(conductivity: float, diffusivity: float, thickness_m: float = 1.0) -> Layer:
    return Layer(thickness_m, conductivity, conductivity / diffusivity, 1.0)


def root(values: np.ndarray, places: np.ndarray, wanted: float) -> float:
    """Give the place where values, falling or rising, pass what is wanted."""
    up = values if values[0] < values[-1] else values[::-1]
    along = places if values[0] < values[-1] else places[::-1]
    return float(np.interp(wanted, up, along))


def sphere(times_s: np.ndarray, diameter_m: float = 7.059e-4) -> np.ndarray:
    """A small sphere as a plate of the same volume to surface: one third of the diameter, both faces in the gas.

    The answer takes the inside for uniform, so the plate conducts a thousand times better than the sphere.
    """
    plate = Layer(diameter_m / 3, 20e3, 8500.0, 400.0)
    gas = Convective(200.0, 400.0)
    return temperatures([plate], initial_c=25.0, top=gas, bottom=gas, times_s=times_s, depths_m=[diameter_m / 6])[
        :, 0
    ]


def diameter_of_one_second() -> float:
    diameters = np.linspace(6e-4, 8e-4, 41)
    after = np.array([sphere(np.array([1.0]), float(d))[0] for d in diameters])
    return root(after, diameters, 200.0 - 175.0 / math.e)


def wall(depths_m: list[float] | np.ndarray) -> np.ndarray:
    fluid = Convective(60.0, 500.0)
    return temperatures([WALL], initial_c=-20.0, top=fluid, bottom=Insulated(), times_s=[480.0], depths_m=depths_m)[0]


def heat_of_pipe() -> float:
    depths = np.linspace(0.0, 0.040, 401)
    mean = np.trapezoid(wall(depths), depths) / 0.040
    return float(math.pi * 7832.0 * 434.0 * 0.040 * (mean + 20.0))


def frost(soil: Layer, start_c: float, top: Fixed | Convective, days: float) -> float:
    depths = np.linspace(0.0, 2.0 * math.sqrt(soil.diffusivity_m2_s * days * DAY_S), 400)
    found = temperatures(
        [], initial_c=start_c, top=top, bottom=SemiInfinite(soil), times_s=[days * DAY_S], depths_m=depths
    )
    return root(found[0], depths, 0.0)


WINDY, WIND = of_diffusivity(0.865, 4.65e-7), Convective(-17.8, 11.36)


def windy_surface_k() -> float:
    found = temperatures(
        [], initial_c=15.6, top=WIND, bottom=SemiInfinite(WINDY), times_s=[5 * 3600.0], depths_m=[0.0]
    )
    return float(found[0, 0]) + 273.15


def plate() -> float:
    fluid = Convective(30.0, 500.0)
    thick = of_diffusivity(200.0, 8e-5, 0.2)
    found = temperatures([thick], initial_c=530.0, top=fluid, bottom=fluid, times_s=[225.0], depths_m=[0.020])
    return float(found[0, 0])


def touch() -> float:
    # effusivity sqrt(k rho c) in W s^0.5/(m2 K); how it is split between k and rho c is free
    skin, metal = Layer(1.0, 1.1e3 * 6e-4, 1.1e3 / 6e-4, 1.0), Layer(1.0, 24e3 * 9.8e-3, 24e3 / 9.8e-3, 1.0)
    found = temperatures(
        [],
        initial_c=[35.0, 15.0],
        top=SemiInfinite(skin),
        bottom=SemiInfinite(metal),
        times_s=[1.0, 60.0],
        depths_m=0.0,
    )
    assert found[0, 0] == pytest.approx(found[1, 0], abs=1e-4), "the touching faces keep one temperature"
    return float(found[1, 0])


def swinging() -> float:
    hot = Fixed(lambda t: 100.0 * math.sin(math.pi * t / 40.0))
    slab = Layer(0.1, 35.0, 7200.0, 440.5)
    found = temperatures([slab], initial_c=0.0, top=hot, bottom=Fixed(0.0), times_s=[32.0], depths_m=[0.020])
    return float(found[0, 0])


def time_to_199() -> float:
    times = np.linspace(4.0, 6.0, 201)
    return root(sphere(times), times, 199.0)


ANSWERS: dict[tuple[str, str], Callable[[], float]] = {
    ("1", "diameter whose time constant is 1 s"): diameter_of_one_second,
    ("1", "time to 199 degC"): time_to_199,
    ("4", "outer face after 480 s"): lambda: float(wall([0.040])[0]),
    ("4", "wetted face after 480 s"): lambda: float(wall([0.0])[0]),
    ("4", "heat flux into the wetted face after 480 s"): lambda: 500.0 * (60.0 - float(wall([0.0])[0])),
    ("4", "heat taken up in 480 s by 1 m of a pipe of 1 m diameter"): heat_of_pipe,
    ("6", "depth of 0 degC after 60 days"): lambda: frost(Layer(1.0, 0.52, 2050.0, 1840.0), 20.0, Fixed(-15.0), 60.0),
    ("7", "surface after 5 h"): windy_surface_k,
    ("7", "depth of 0 degC after 5 h"): lambda: frost(WINDY, 15.6, WIND, 5.0 / 24.0),
    ("10", "20 mm below a face after 225 s"): plate,
    ("11a", "touching faces of skin and aluminium"): touch,
    ("13", "depth of 0 degC after 90 days"): lambda: frost(of_diffusivity(0.4, 0.15e-6), 15.0, Fixed(-10.0), 90.0),
    ("15", "20 mm below the hot face at 32 s"): swinging,
}
CASES = rows("heat_cases")


@pytest.mark.parametrize("row", CASES, ids=[f"{row['case']}: {row['what']}" for row in CASES])
def test_printed_examples(row: dict[str, str]) -> None:
    found = ANSWERS[row["case"], row["what"]]()
    assert found == pytest.approx(float(row["computed"]), abs=float(row["within"]), rel=0)
    if row["printed"]:
        assert found == pytest.approx(float(row["printed"]), abs=float(row["printed_within"]), rel=0)


def test_every_row_is_tried() -> None:
    assert {(row["case"], row["what"]) for row in CASES} == set(ANSWERS)


ONE_TERM = rows("heat_plane_wall_one_term")


@pytest.mark.parametrize("row", ONE_TERM, ids=[f"Bi {row['Bi_hL/k']}" for row in ONE_TERM])
def test_middle_of_a_plane_wall_follows_the_first_term(row: dict[str, str]) -> None:
    """Incropera et al., table 5.1 (from memory); zeta and C1 computed, good to 0.0010 in C1."""
    biot, zeta, c1 = float(row["Bi_hL/k"]), float(row["zeta1_rad"]), float(row["C1"])
    half = of_diffusivity(1.0, 1.0)
    fourier = np.array([0.25, 0.5, 1.0, 3.0])
    found = temperatures(
        [half], initial_c=1.0, top=Convective(0.0, biot), bottom=Insulated(), times_s=fourier, depths_m=[1.0]
    )
    expected = c1 * np.exp(-(zeta**2) * fourier)
    assert found[1:, 0] == pytest.approx(expected[1:], abs=1e-3, rel=0)
    assert found[0, 0] == pytest.approx(expected[0], abs=0.01, rel=0), "the next term still counts at Fo = 0.25"


def test_the_table_of_first_terms_fits_its_own_equation() -> None:
    for row in ONE_TERM:
        biot, zeta, c1 = float(row["Bi_hL/k"]), float(row["zeta1_rad"]), float(row["C1"])
        low, high = zeta - 6e-5, zeta + 6e-5
        assert low * math.tan(low) < biot < high * math.tan(high)
        assert c1 == pytest.approx(4 * math.sin(zeta) / (2 * zeta + math.sin(2 * zeta)), abs=1e-4)


SANDWICHES = rows("heat_sandwich_cases")


@pytest.mark.parametrize("case", sorted({row["case"] for row in SANDWICHES}))
def test_film_and_face_as_another_program_computed_them(case: str) -> None:
    """No measurement and no published figure: two programs, one set of figures, 1.5 K."""
    mine = [row for row in SANDWICHES if row["case"] == case]
    pet, blotter = Layer(37e-6, 0.155, 1390.0, 1172.0), Layer(0.5e-3, 0.08, 500.0, 1400.0)
    strip, film = Layer(0.4e-3, 0.07, 600.0, 1350.0), Layer(65e-6, 0.30, 950.0, 2300.0)
    canvas, paint = Layer(0.5e-3, 0.08, 700.0, 1350.0), Layer(0.2e-3, 0.6, 2000.0, 900.0)
    names = ("thickness_m", "conductivity_w_mk", "density_kg_m3", "heat_capacity_j_kgk")
    base, contact = Layer(*(float(mine[0][name]) for name in names)), float(mine[0]["contact_w_m2k"])
    layers = [pet, strip, film, canvas, paint, pet, blotter, base]
    above_film, above_pet = pet.thickness_m + strip.thickness_m, sum(layer.thickness_m for layer in layers[:5])
    found = temperatures(
        layers,
        initial_c=21.0,
        top=Convective(70.0, contact),
        bottom=Convective(21.0, 8.0),
        times_s=[float(row["seconds"]) for row in mine],
        depths_m=[above_film + film.thickness_m / 2, above_pet],
        contact_w_m2k=[contact] * 7,
    )
    for column, key in enumerate(("film_c", "face_c")):
        assert found[:, column] == pytest.approx([float(row[key]) for row in mine], abs=1.5, rel=0)
