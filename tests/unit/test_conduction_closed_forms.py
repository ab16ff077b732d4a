"""Temperatures of stacks against solutions that are known exactly."""

from __future__ import annotations

import math
from itertools import accumulate

import numpy as np
import pytest
from scipy.special import erfc, erfcx

from monitor.science.conduction import Convective, Fixed, Insulated, Layer, SemiInfinite, temperatures

SOIL = Layer(1.0, 0.52, 2050.0, 1840.0)
WALL = Layer(0.040, 63.9, 7832.0, 434.0)
CANVAS, BOARD = Layer(0.5e-3, 0.08, 700.0, 1350.0), Layer(0.018, 0.13, 725.0, 1700.0)
TIMES = np.array([60.0, 3600.0, 86_400.0, 5e6])


def lengths(layer: Layer, times: np.ndarray) -> np.ndarray:
    """Give 2 sqrt(alpha t) as a column."""
    return 2 * np.sqrt(layer.diffusivity_m2_s * times)[:, None]


def held(depths: np.ndarray, layer: Layer, times: np.ndarray) -> np.ndarray:
    """Answer of a half-space to a unit step of its surface; Carslaw and Jaeger 1959 sec. 2.4 (recalled)."""
    return erfc(depths / lengths(layer, times))


def blown(depths: np.ndarray, layer: Layer, times: np.ndarray, h: float) -> np.ndarray:
    """Answer to a unit step of a fluid at the surface; Carslaw and Jaeger 1959 sec. 2.7 (recalled).

    The product of exp and erfc is written with erfcx, which does not overflow.
    """
    z = depths / lengths(layer, times)
    return erfc(z) - np.exp(-(z**2)) * erfcx(z + h / layer.conductivity_w_mk * lengths(layer, times) / 2)


@pytest.mark.parametrize("times", [TIMES, TIMES[2:3]], ids=["over five decades", "one time"])
def test_half_space_with_a_held_surface(times: np.ndarray) -> None:
    depths = np.linspace(0.0, 3 * lengths(SOIL, times)[-1, 0], 200)
    found = temperatures(
        [], initial_c=20.0, top=Fixed(-15.0), bottom=SemiInfinite(SOIL), times_s=times, depths_m=depths
    )
    assert found == pytest.approx(20.0 - 35.0 * held(depths, SOIL, times), abs=3e-4 * 35.0)
    assert found[:, 0] == pytest.approx(-15.0, abs=1e-12), "the surface is where it is held"


def test_half_space_in_a_fluid() -> None:
    depths = np.linspace(0.0, 3 * lengths(SOIL, TIMES)[-1, 0], 200)
    found = temperatures(
        [], initial_c=20.0, top=Convective(-15.0, 11.0), bottom=SemiInfinite(SOIL), times_s=TIMES, depths_m=depths
    )
    assert found == pytest.approx(20.0 - 35.0 * blown(depths, SOIL, TIMES, 11.0), abs=3e-4 * 35.0)


def test_a_half_space_below_goes_on_where_a_layer_of_its_own_kind_ends() -> None:
    depths = np.linspace(0.0, 2.0, 50)
    whole = dict(initial_c=20.0, top=Fixed(-15.0), times_s=TIMES, depths_m=depths)
    found = temperatures([Layer(0.3, 0.52, 2050.0, 1840.0)], bottom=SemiInfinite(SOIL), **whole)
    assert found == pytest.approx(20.0 - 35.0 * held(depths, SOIL, TIMES), abs=3e-4 * 35.0)


def test_a_half_space_has_no_bottom() -> None:
    found = temperatures(
        [], initial_c=20.0, top=Fixed(-15.0), bottom=SemiInfinite(SOIL), times_s=[60.0], depths_m=[1.0, 1000.0]
    )
    assert found[0] == pytest.approx([20.0, 20.0], abs=1e-9)


def test_two_bodies_touch_at_the_mean_by_effusivity() -> None:
    """Carslaw and Jaeger 1959 sec. 2.15 (recalled)."""
    skin, metal = Layer(1.0, 0.37, 1000.0, 3300.0), Layer(1.0, 237.0, 2700.0, 900.0)
    e1, e2 = (math.sqrt(x.conductivity_w_mk * x.density_kg_m3 * x.heat_capacity_j_kgk) for x in (skin, metal))
    touch, times = (e1 * 35.0 + e2 * 15.0) / (e1 + e2), np.array([0.1, 1.0, 10.0, 100.0])
    above, below = -np.linspace(0.0, 0.03, 100), np.linspace(1e-6, 0.3, 100)
    found = temperatures(
        [], initial_c=[35.0, 15.0], top=SemiInfinite(skin), bottom=SemiInfinite(metal), times_s=times,
        depths_m=np.concatenate([above, below]),
    )  # fmt: skip
    assert found[:, :100] == pytest.approx(35.0 + (touch - 35.0) * held(-above, skin, times), abs=3e-4 * 20.0)
    assert found[:, 100:] == pytest.approx(15.0 + (touch - 15.0) * held(below, metal, times), abs=3e-4 * 20.0)


def test_a_poor_contact_between_like_bodies_is_a_fluid_of_their_mean_and_twice_the_conductance() -> None:
    times, depths = np.array([60.0, 600.0, 6000.0]), np.linspace(0.0, 0.1, 50)
    found = temperatures(
        [], initial_c=[40.0, 20.0], top=SemiInfinite(SOIL), bottom=SemiInfinite(SOIL), times_s=times,
        depths_m=np.concatenate([-depths, depths + 1e-9]), contact_w_m2k=[30.0],
    )  # fmt: skip
    answer = 10.0 * blown(depths, SOIL, times, 60.0)
    assert found[:, :50] == pytest.approx(40.0 - answer, abs=3e-4 * 20.0)
    assert found[:, 50:] == pytest.approx(20.0 + answer, abs=3e-4 * 20.0)


def test_plane_wall_follows_its_whole_series() -> None:
    """Roots of zeta tan zeta = Bi; Carslaw and Jaeger 1959 sec. 3.11 (recalled)."""
    biot, times = 500.0 * 0.040 / 63.9, np.array([5.0, 60.0, 480.0])
    starts = np.arange(60) * math.pi
    low, high = starts.copy(), starts + math.pi / 2 - 1e-12
    for _ in range(60):
        middle = (low + high) / 2
        over = middle * np.tan(middle) > biot
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    share = 4 * np.sin(low) / (2 * low + np.sin(2 * low))
    depths = np.linspace(0.0, 0.040, 9)
    fourier = WALL.diffusivity_m2_s * times / 0.040**2
    series = np.exp(-np.outer(fourier, low**2))[:, None, :] * np.cos(np.outer(1 - depths / 0.040, low)) * share
    found = temperatures(
        [WALL], initial_c=-20.0, top=Convective(60.0, 500.0), bottom=Insulated(), times_s=times, depths_m=depths
    )
    assert found == pytest.approx(60.0 - 80.0 * series.sum(axis=2), abs=3e-4 * 80.0)


def test_steady_state_is_the_chain_of_resistances_with_a_step_at_the_contact() -> None:
    layers, contact = [CANVAS, BOARD, CANVAS], [200.0, 90.0]
    faces = [0.0, *accumulate(layer.thickness_m for layer in layers)]
    parts = [1 / 150.0]
    for layer, h in zip(layers, [*contact, 8.0], strict=True):
        parts += [layer.thickness_m / layer.conductivity_w_mk, 1 / h]
    flux = 50.0 / sum(parts)
    along = 70.0 - flux * np.array(list(accumulate(parts)))
    asked = [faces[0], faces[1], faces[1] + 1e-9, faces[2], faces[2] + 1e-9, faces[3]]
    found = temperatures(
        layers, initial_c=20.0, top=Convective(70.0, 150.0), bottom=Convective(20.0, 8.0), times_s=[1e7],
        depths_m=asked, contact_w_m2k=contact,
    )  # fmt: skip
    assert found[0] == pytest.approx(along[:-1], abs=1e-4)
    assert found[0, 1] - found[0, 2] == pytest.approx(flux / 200.0, abs=1e-4)


def test_a_tool_taken_away_is_a_second_step_later() -> None:
    """What acts adds up, and a step between two times asked for is met where it is."""
    depths, lifted = [0.0, 0.5e-3, 5e-3], 61.7
    times = np.array([30.0, 61.6, 62.0, 70.0, 120.0, 300.0])
    rest = dict(initial_c=20.0, bottom=Convective(20.0, 8.0), depths_m=depths, contact_w_m2k=[500.0])
    tool = Convective(lambda t: 70.0 if t < lifted else 25.0, 500.0)
    found = temperatures([CANVAS, BOARD], top=tool, times_s=times, **rest)
    steady = Convective(70.0, 500.0)
    on = temperatures([CANVAS, BOARD], top=steady, times_s=times, **rest)
    gone = times > lifted
    off = temperatures([CANVAS, BOARD], top=steady, times_s=times[gone] - lifted, **rest)
    on[gone] -= 0.9 * (off - 20.0)
    assert found == pytest.approx(on, abs=0.01)


def test_a_surface_that_swings_for_long() -> None:
    """A half-space under a wave: damped by exp(-z/d), d = sqrt(2 alpha/omega); Carslaw and Jaeger 1959 sec. 2.6."""
    omega, days = 2 * math.pi / 86_400.0, 40
    depths, times = np.linspace(0.0, 0.4, 30), days * 86_400.0 + np.linspace(0.0, 86_400.0, 13)
    damped = depths * math.sqrt(omega / 2 / SOIL.diffusivity_m2_s)
    found = temperatures(
        [], initial_c=10.0, top=Fixed(lambda t: 10.0 + 8.0 * math.sin(omega * t)), bottom=SemiInfinite(SOIL),
        times_s=times, depths_m=depths,
    )  # fmt: skip
    wave = 10.0 + 8.0 * np.exp(-damped) * np.sin(omega * times[:, None] - damped)
    assert found == pytest.approx(wave, abs=0.02)
