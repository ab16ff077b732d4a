"""How the error falls, what is conserved, and what other ways of computing the same say."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import erfc

from monitor.science.conduction import Convective, Fixed, Insulated, Layer, Modes, SemiInfinite, grid, temperatures

FILM, CANVAS = Layer(0.2e-3, 0.30, 950.0, 2300.0), Layer(0.8e-3, 0.08, 700.0, 1350.0)
BOARD, SLAB = Layer(0.008, 0.13, 725.0, 1700.0), Layer(0.1, 35.0, 7200.0, 440.5)
STACK, CONTACT = [FILM, CANVAS, BOARD], [400.0, 250.0]
SANDWICH: dict[str, Any] = dict(
    initial_c=[21.0, 25.0, 19.0], top=Convective(70.0, 300.0), bottom=Convective(21.0, 8.0), contact_w_m2k=CONTACT
)


def falling(coarse: np.ndarray, middle: np.ndarray, fine: np.ndarray) -> np.ndarray:
    """Give by how much a change falls when the mesh is halved once more."""
    return (coarse - middle) / (middle - fine)


@pytest.mark.parametrize(
    ("layers", "case", "times", "depths"),
    [
        # depths at the faces of the coarsest cells, or the place within a cell would be compared
        (STACK, SANDWICH, [20.0, 90.0], [0.0, 0.2e-3, 0.6e-3, 3e-3, 9e-3]),
        ([SLAB], dict(initial_c=0.0, top=Fixed(lambda t: 100 * math.sin(math.pi * t / 40)), bottom=Fixed(0.0)),
         [32.0], [0.025, 0.05]),
        ([SLAB, SLAB], dict(initial_c=lambda z: 20 + 30 * math.cos(math.pi * z / 0.2), top=Insulated(),
                            bottom=Insulated()), [100.0], [0.0, 0.05, 0.15, 0.2]),
    ],
    ids=["sandwich", "swinging face", "insulated"],
)  # fmt: skip
def test_half_the_width_of_cells_is_a_quarter_of_the_error(
    layers: list[Layer], case: dict[str, Any], times: list[float], depths: list[float]
) -> None:
    runs = [
        temperatures(layers, times_s=times, depths_m=depths, cells=[n] * len(layers), **case) for n in (16, 32, 64)
    ]
    ratios = falling(*runs)
    assert ((ratios > 3.5) & (ratios < 4.5)).all(), ratios


def test_half_the_width_of_graded_cells_is_a_quarter_of_the_error() -> None:
    coarse, depth, time = 20, 1.0, 1.0
    body = Layer(1.0, 1.0, 1.0, 1.0)
    reach = depth + 10 * math.sqrt(time)  # the fourth face of the coarsest mesh is asked for
    stretch = math.log1p(0.03 * reach / 0.05)
    face = reach * math.expm1(stretch * 4 / coarse) / math.expm1(stretch)
    errors = []
    for count in (coarse, 2 * coarse, 4 * coarse):
        found = temperatures([], initial_c=0.0, top=Fixed(1.0), bottom=SemiInfinite(body), times_s=[time],
                             depths_m=[face, depth], cells=[count])  # fmt: skip
        errors.append(found[0, 0] - erfc(face / 2))
    assert 3.5 < errors[0] / errors[1] < 4.5, errors
    assert 3.5 < errors[1] / errors[2] < 4.5, errors


def test_half_the_length_of_pieces_is_at_most_a_quarter_of_the_error() -> None:
    """Second order is asked for; pieces of the sixth degree do better."""
    case = dict(initial_c=0.0, top=Fixed(lambda t: math.sin(3 * t) + math.exp(-t)), bottom=Fixed(0.0), cells=[20])
    body = Layer(1.0, 1.0, 1.0, 1.0)
    exact, *runs = [
        temperatures([body], times_s=[4.0], depths_m=[0.2, 0.5], steps=steps, **case)[0] for steps in (400, 4, 8, 16)
    ]
    errors = [np.abs(run - exact).max() for run in runs]
    assert errors[0] > 1e-5, "too small an error to show anything"
    assert errors[0] / errors[1] > 3.5
    assert errors[1] / errors[2] > 3.5


@pytest.mark.parametrize("time", [1e-6, 1e-3, 1.0, 1e3, 1e9])
def test_no_time_is_too_long_or_too_short_and_nothing_rings(time: float) -> None:
    depths = np.linspace(0.0, 0.009, 40)
    found = temperatures(STACK, initial_c=20.0, top=Fixed(70.0), bottom=Insulated(), times_s=[time], depths_m=depths,
                         contact_w_m2k=CONTACT, cells=[5, 10, 20])[0]  # fmt: skip
    assert found.min() >= 20.0 - 1e-9
    assert found.max() <= 70.0 + 1e-9
    assert (np.diff(found) <= 1e-9).all(), "it only falls away from the hot face"


def test_heat_that_enters_is_heat_that_is_stored() -> None:
    cells, fluid, h = [6, 12, 24], 70.0, 300.0
    mesh = grid(STACK, cells)
    middles = np.cumsum(mesh.width) - mesh.width / 2
    # Gauss points in intervals that double, from well below the fastest mode's time on
    edges = np.concatenate([[0.0], 1e-5 * 2.0 ** np.arange(24)])
    points, weights = np.polynomial.legendre.leggauss(16)
    times = (edges[:-1, None] + np.diff(edges)[:, None] * (points + 1) / 2).ravel()
    case = dict(initial_c=20.0, top=Convective(fluid, h), bottom=Insulated(), contact_w_m2k=CONTACT, cells=cells)
    surface = temperatures(STACK, times_s=times, depths_m=[0.0], **case)[:, 0]
    entered = float((np.diff(edges)[:, None] * weights / 2).ravel() @ (h * (fluid - surface)))
    stored = float(temperatures(STACK, times_s=edges[-1:], depths_m=middles, **case)[0] @ mesh.capacity)
    assert stored - 20.0 * mesh.capacity.sum() == pytest.approx(entered, rel=1e-9)


def test_an_insulated_stack_keeps_its_heat() -> None:
    cells = [6, 12, 24]
    mesh = grid(STACK, cells)
    middles = np.cumsum(mesh.width) - mesh.width / 2
    found = temperatures(STACK, initial_c=[80.0, 30.0, 10.0], top=Insulated(), bottom=Insulated(), depths_m=middles,
                         times_s=[0.0, 1.0, 1e3, 1e6], contact_w_m2k=CONTACT, cells=cells)  # fmt: skip
    heat = found @ mesh.capacity
    assert heat == pytest.approx(heat[0], rel=1e-10)
    assert np.ptp(found[-1]) < 1e-7, "after long it is even"


def test_a_foil_among_thick_layers_stays_exact_for_months() -> None:
    """Cells of 3 micrometres of aluminium beside felt: rates ten decades apart."""
    foil, felt, slow = Layer(20e-6, 160.0, 2700.0, 880.0), Layer(0.018, 0.05, 150.0, 1400.0), Convective(20.0, 0.05)
    case = dict(initial_c=[50.0, 20.0, 80.0], top=slow, bottom=Insulated(), depths_m=[0.010], cells=[20, 6, 20])
    found = temperatures([felt, foil, felt], times_s=[1e5, 3e5, 5e5, 7e5], **case)[:, 0] - 20.0
    # only the slowest mode is left, so equal times take equal shares
    assert found[2] / found[1] == pytest.approx(found[1] / found[0], rel=2e-7)
    assert found[3] / found[2] == pytest.approx(found[1] / found[0], rel=2e-7)
    heat = sum(x.thickness_m * x.density_kg_m3 * x.heat_capacity_j_kgk for x in (felt, foil, felt))
    lumped = 2e5 * 1 / (1 / 0.05 + 0.018 / 0.05) / heat
    assert -math.log(found[1] / found[0]) == pytest.approx(lumped, rel=0.01)


def independent(times: np.ndarray, tool: Any) -> np.ndarray:
    """The sandwich again, on a mesh written down cell by cell and integrated by a general solver."""
    cells = [(layer, layer.thickness_m / n) for layer, n in zip(STACK, (5, 10, 20), strict=True) for _ in range(n)]
    capacity = np.array([layer.density_kg_m3 * layer.heat_capacity_j_kgk * width for layer, width in cells])
    resistance = []
    for (upper, a), (lower, b) in pairwise(cells):
        at_join = 0.0 if upper is lower else 1 / CONTACT[STACK.index(upper)]
        resistance.append(a / 2 / upper.conductivity_w_mk + at_join + b / 2 / lower.conductivity_w_mk)
    over = 1 / 300.0 + cells[0][1] / 2 / FILM.conductivity_w_mk
    under = 1 / 8.0 + cells[-1][1] / 2 / BOARD.conductivity_w_mk

    def change(time: float, temp: np.ndarray) -> np.ndarray:
        flow = -np.diff(temp) / np.array(resistance)
        flow = np.concatenate([[(tool(time) - temp[0]) / over], flow, [(temp[-1] - 21.0) / under]])
        return (flow[:-1] - flow[1:]) / capacity

    start = np.repeat([21.0, 25.0, 19.0], (5, 10, 20))
    done = solve_ivp(
        change, (0.0, times[-1]), start, method="LSODA", t_eval=times, rtol=1e-9, atol=1e-9, lband=1, uband=1
    )
    return done.y.T


@pytest.mark.parametrize("swing_k", [0.0, 8.0], ids=["steady tool", "swinging tool"])
def test_a_general_solver_agrees(swing_k: float) -> None:
    def tool(time: float) -> float:
        return 70.0 + swing_k * math.sin(time / 7.0)

    times, mesh = np.array([0.5, 5.0, 33.0, 200.0]), grid(STACK, [5, 10, 20])
    found = temperatures(STACK, times_s=times, depths_m=np.cumsum(mesh.width) - mesh.width / 2, cells=[5, 10, 20],
                         **SANDWICH | {"top": Convective(tool, 300.0)})  # fmt: skip
    assert found == pytest.approx(independent(times, tool), abs=2e-4 if swing_k else 2e-6)


def test_live_stepping_agrees() -> None:
    """Readings joined by straight lines, as `Modes` takes them; here as a function of time."""
    rng, cells = np.random.default_rng(8), [3, 4, 6]
    readings, every = 20.0 + 50.0 * rng.random(31), 0.4
    times = np.arange(31) * every
    mesh = grid(STACK, cells)
    modes = Modes(mesh, CONTACT, tool_w_m2k=300.0, air_w_m2k=8.0)
    modal = modes.rest(1)
    for before, after in pairwise(readings):
        modal = modes.step(modal, np.array([before - 21.0]), np.array([after - 21.0]), every)
    stepped = [21.0 + modes.departures(modal, cell)[0] for cell in range(len(mesh.width))]
    found = temperatures(
        STACK, initial_c=21.0, top=Convective(lambda t: float(np.interp(t, times, readings)), 300.0),
        bottom=Convective(21.0, 8.0), times_s=times[-1:], depths_m=np.cumsum(mesh.width) - mesh.width / 2,
        contact_w_m2k=CONTACT, cells=cells, steps=30,
    )  # fmt: skip
    assert found[0] == pytest.approx(stepped, abs=1e-9)
