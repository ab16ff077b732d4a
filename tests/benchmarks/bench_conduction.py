"""Speed of `temperatures` against general solvers of stiff equations, on the same cells and at equal error.

The stack is a painting under a heated spatula on a board, 8 layers. The solvers get what can
be given them: the equations as arrays, and their banded or sparse Jacobian. Each may take the
loosest tolerance at which it is as exact as `temperatures` is, or within 1e-8 K where that is
more exact still; the fastest of them is what is compared with. Printed beside it, and no
condition: how it stands where 1e-3 K would do, to which `temperatures` cannot be loosened.
"""

from __future__ import annotations

import math
import os
import platform
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # both sides on one core, whatever else runs
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import diags

from monitor.science.conduction import Convective, Fixed, Layer, OfTime, grid, temperatures
from monitor.science.conduction.mesh import conductances

LEAST_TIMES = 10.0
REACHED_K, ROUGH_K = 1e-8, 1e-3
PET, STRIP = Layer(37e-6, 0.155, 1390.0, 1172.0), Layer(0.4e-3, 0.07, 600.0, 1350.0)
FILM, CANVAS = Layer(65e-6, 0.30, 950.0, 2300.0), Layer(0.5e-3, 0.08, 700.0, 1350.0)
PAINT, BLOTTER = Layer(0.2e-3, 0.6, 2000.0, 900.0), Layer(0.5e-3, 0.08, 500.0, 1400.0)
STACK = [PET, STRIP, FILM, CANVAS, PAINT, PET, BLOTTER, Layer(0.018, 0.13, 725.0, 1700.0)]
CELLS = [1, 6, 2, 7, 2, 1, 6, 15]
CONTACT_W_M2K, START_C, AIR_W_M2K = 500.0, 21.0, 8.0
TIMES_S = np.linspace(0.0, 300.0, 61)
TOLERANCES = [10.0 ** (-n / 2) for n in range(6, 26)]
METHODS = ("LSODA", "BDF", "Radau")


def say(line: str) -> None:
    """Write a line."""
    sys.stdout.write(f"{line}\n")


@dataclass(frozen=True)
class Equations:
    """The stack's cells as a general solver takes them."""

    capacity: np.ndarray
    faces: np.ndarray
    middles: np.ndarray
    tool: Callable[[float], float]

    @classmethod
    def of(cls, cells: list[int], tool: OfTime) -> Equations:
        """Write down the cells of the stack under a tool."""
        mesh = grid(STACK, cells)
        ends = [1 / (1 / CONTACT_W_M2K + mesh.half[0])], [1 / (1 / AIR_W_M2K + mesh.half[-1])]
        inner = conductances(mesh, [CONTACT_W_M2K] * (len(STACK) - 1))
        at = tool if callable(tool) else lambda _: tool
        return cls(
            mesh.capacity, np.concatenate([ends[0], inner, ends[1]]), np.cumsum(mesh.width) - mesh.width / 2, at
        )

    def change(self, seconds: float, temp: np.ndarray) -> np.ndarray:
        """Give the rates of change, K/s."""
        flow = np.empty(len(temp) + 1)
        flow[1:-1] = temp[:-1] - temp[1:]
        flow[0], flow[-1] = self.tool(seconds) - temp[0], temp[-1] - START_C
        flow *= self.faces
        return (flow[:-1] - flow[1:]) / self.capacity

    def jacobian(self) -> Any:
        """Give the matrix of the equations, sparse."""
        inner, faces = self.faces[1:-1], self.faces
        bands = [inner / self.capacity[1:], -(faces[:-1] + faces[1:]) / self.capacity, inner / self.capacity[:-1]]
        return diags(bands, [-1, 0, 1]).tocsc()

    def solve(self, method: str, relative: float) -> np.ndarray:
        """Integrate; temperatures at the times asked for, shape (times, cells)."""
        given: dict[str, Any] = {"lband": 1, "uband": 1} if method == "LSODA" else {"jac": self.jacobian()}
        start = np.full(len(self.capacity), START_C)
        span = (0.0, float(TIMES_S[-1]))
        done = solve_ivp(
            self.change, span, start, method=method, t_eval=TIMES_S, rtol=relative, atol=50.0 * relative, **given
        )
        return np.asarray(done.y.T)


def best_of(runs: int, act: Callable[[], np.ndarray]) -> tuple[float, np.ndarray]:
    """Give the least seconds an act took, and what it gave."""
    took = []
    for _ in range(runs):
        began = time.perf_counter()
        found = act()
        took.append(time.perf_counter() - began)
    return min(took), found


def rivals(equations: Equations, exact: np.ndarray, allowed_k: float) -> Iterator[tuple[float, str]]:
    """Give, for each solver, the least seconds at the loosest tolerance that is exact enough, and how it did."""
    for method in METHODS:
        for relative in TOLERANCES:
            error = float(np.abs(equations.solve(method, relative) - exact).max())
            if error <= allowed_k:
                took = best_of(9, lambda m=method, r=relative: equations.solve(m, r))[0]
                yield took, f"{method} at a tolerance of {relative:.0e}: {1000 * took:.2f} ms, {error:.1e} K"
                break


def compare(name: str, tool: OfTime, cells: list[int]) -> float:
    """Print one comparison and give by how many times the fastest solver is slower."""
    equations = Equations.of(cells, tool)
    exact = equations.solve("Radau", 1e-12)
    contact = [CONTACT_W_M2K] * (len(STACK) - 1)
    took, found = best_of(30, lambda: temperatures(
        STACK, initial_c=START_C, top=Convective(tool, CONTACT_W_M2K), bottom=Convective(START_C, AIR_W_M2K),
        times_s=TIMES_S, depths_m=equations.middles, contact_w_m2k=contact, cells=cells,
    ))  # fmt: skip
    error = float(np.abs(found - exact).max())
    say(f"{name}, {sum(cells)} cells, {len(TIMES_S)} times: {1000 * took:.2f} ms, {error:.1e} K")
    others = list(rivals(equations, exact, max(error, REACHED_K)))
    for _, line in others:
        say(f"    {line}")
    rough = min(seconds for seconds, _ in rivals(equations, exact, ROUGH_K))
    ratio = min(others)[0] / took
    say(f"    the fastest takes {ratio:.1f} times as long; {rough / took:.1f} times where {ROUGH_K} K would do")
    return ratio


def benchmark_error_k() -> float:
    """Give the departure from the 36.60 degC of NAFEMS T3, at the cells and pieces chosen by themselves."""
    hot = Fixed(lambda t: 100.0 * math.sin(math.pi * t / 40.0))
    slab = Layer(0.1, 35.0, 7200.0, 440.5)
    found = temperatures([slab], initial_c=0.0, top=hot, bottom=Fixed(0.0), times_s=[32.0], depths_m=[0.020])
    return float(found[0, 0]) - 36.60


def main() -> int:
    """Print times and ratios; exit code 1 when a ratio is below what is wanted."""
    say(f"on {platform.node()} ({platform.machine()}, Python {platform.python_version()}, numpy {np.__version__})")
    say(f"NAFEMS T3: {benchmark_error_k():+.4f} K from 36.60 degC")
    double = [2 * count for count in CELLS]
    swinging = lambda t: 70.0 + 5.0 * math.sin(2.0 * math.pi * t / 40.0)  # noqa: E731
    ratios = [
        compare("steady tool", 70.0, CELLS),
        compare("steady tool", 70.0, double),
        compare("swinging tool", swinging, CELLS),
        compare("swinging tool", swinging, double),
    ]
    say(f"least ratio: {min(ratios):.1f}; at least {LEAST_TIMES:.0f} wanted")
    return 0 if min(ratios) >= LEAST_TIMES else 1


if __name__ == "__main__":
    sys.exit(main())
