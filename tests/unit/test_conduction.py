"""The modal form against closed forms and against its own energy balance."""

from __future__ import annotations

import math

import numpy as np
import pytest

from monitor.science.conduction import Layer, Modes, grid

WALL = Layer(0.040, 63.9, 7832.0, 434.0)


def run(modes: Modes, mesh_cell: int, tool_k: float, seconds: float, steps: int) -> float:
    tool = np.array([tool_k])
    modal = modes.rest(1)
    modal = modes.step(modal, tool, tool, seconds)
    for _ in range(steps):
        modal = modes.step(modal, tool, tool, 0.0001)
    return float(modes.departures(modal, mesh_cell)[0])


def test_plane_wall_heated_by_convection_on_one_side() -> None:
    """Incropera, Fundamentals of Heat and Mass Transfer, Ex. 5.4: outer face 43.02 C, wetted 45.36 C at 480 s.

    The printed answers are 42.9 and 45.2 (one term of the series, read in a public companion);
    43.02 and 45.36 were computed from the whole series.
    """
    mesh = grid([WALL], [200])
    modes = Modes(mesh, [], tool_w_m2k=500.0, air_w_m2k=1e-9)
    assert run(modes, 199, 80.0, 480.0, 0) - 20.0 == pytest.approx(43.02, abs=0.02)
    assert run(modes, 0, 80.0, 480.0, 0) - 20.0 == pytest.approx(45.36, abs=0.05)


def test_steady_state_is_the_chain_of_resistances() -> None:
    layers = [Layer(0.001, 0.1, 500.0, 1400.0), Layer(0.002, 0.2, 900.0, 1500.0)]
    modes = Modes(grid(layers, [4, 4]), [200.0], 150.0, 8.0)
    chain = [1 / 150, 0.001 / 0.1, 1 / 200, 0.002 / 0.2, 1 / 8]
    flux = 50.0 / sum(chain)
    expected = 50.0 - flux * (chain[0] + 0.001 / 0.1 * 7 / 8)
    assert run(modes, 3, 50.0, 1e6, 0) == pytest.approx(expected, abs=1e-6)


def test_semi_infinite_body_with_a_held_surface() -> None:
    layer = Layer(0.5, 0.52, 2050.0, 1840.0)
    mesh = grid([layer], [500])
    modes = Modes(mesh, [], 1e9, 1e-9)
    seconds, depth = 40_000.0, 0.0505
    alpha = 0.52 / 2050.0 / 1840.0
    expected = 30.0 * math.erfc(depth / 2 / math.sqrt(alpha * seconds))
    assert run(modes, 50, 30.0, seconds, 0) == pytest.approx(expected, abs=0.01)


def test_many_small_steps_equal_one_large_step() -> None:
    modes = Modes(grid([WALL], [20]), [], 500.0, 8.0)
    tool = np.array([10.0, 20.0])
    one = modes.step(modes.rest(2), np.zeros(2), tool, 10.0)
    many = modes.rest(2)
    for k in range(100):
        many = modes.step(many, tool * k / 100, tool * (k + 1) / 100, 0.1)
    assert np.allclose(one, many, atol=1e-9)


def test_energy_put_in_is_energy_stored() -> None:
    mesh = grid([WALL], [30])
    modes = Modes(mesh, [], 500.0, 1e-12)
    tool = np.array([40.0])
    modal, entered, dt = modes.rest(1), 0.0, 0.05
    top = 1 / (1 / 500.0 + mesh.half[0])
    for _ in range(2000):
        before = modes.departures(modal, 0)[0]
        modal = modes.step(modal, tool, tool, dt)
        entered += top * (40.0 - (before + modes.departures(modal, 0)[0]) / 2) * dt
    stored = float((mesh.capacity * (modes.out @ modal)[:, 0]).sum())
    assert stored == pytest.approx(entered, rel=1e-3)


@pytest.mark.parametrize("cells", [[], [0], [1, 1]])
def test_cells_that_do_not_fit_are_refused(cells: list[int]) -> None:
    with pytest.raises(ValueError, match="do not fit"):
        grid([WALL], cells)


def test_a_layer_without_thickness_is_refused() -> None:
    with pytest.raises(ValueError, match="thickness_m is 0"):
        Layer(0.0, 1.0, 1.0, 1.0)
