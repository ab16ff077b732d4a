"""Humidity of 10^6 rows at once against PsychroLib's scalar loop in the same run: at least 20 times as fast.

Of each row the dew point, the wet bulb, the absolute humidity and the humidity ratio are
computed. PsychroLib 2.5.0 has no arrays (without a compiler that it can use if it is installed), so its
functions are called in a loop; the loop runs over 5 000 of the same rows, spread evenly, and is counted by the row.
Processor time, since other work on the machine would be counted too; the best of some rounds.
"""

from __future__ import annotations

import platform
import sys
import time
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from monitor.science.humidity import absolute_humidity_g_m3, dew_point_c, humidity_ratio_g_kg, wet_bulb_c
from tests.support import fetched

if TYPE_CHECKING:
    from monitor.science.elementwise import Array

ROWS, LOOPED = 1_000_000, 5_000
LEAST_TIMES = 20.0
PRESSURE_PA = 101325.0


def say(line: str) -> None:
    """Write a line."""
    sys.stdout.write(f"{line}\n")


def vectorised(temps: Array, rhs: Array) -> tuple[float, tuple[Array, ...]]:
    """Give the processor seconds of the four quantities of all rows, and them."""
    began = time.process_time()
    found = (
        dew_point_c(temps, rhs),
        wet_bulb_c(temps, rhs, pressure_pa=PRESSURE_PA),
        absolute_humidity_g_m3(temps, rhs),
        humidity_ratio_g_kg(temps, rhs, pressure_pa=PRESSURE_PA),
    )
    return time.process_time() - began, found


def looped(library: ModuleType, temps: list[float], rhs: list[float]) -> tuple[float, tuple[Array, ...]]:
    """Give the processor seconds of the same four by PsychroLib, row by row, and them."""
    found = []
    began = time.process_time()
    for temp, rh in zip(temps, rhs, strict=True):
        ratio = library.GetHumRatioFromRelHum(temp, rh / 100, PRESSURE_PA)
        found.append(
            (
                library.GetTDewPointFromRelHum(temp, rh / 100),
                library.GetTWetBulbFromHumRatio(temp, ratio, PRESSURE_PA),
                1000 * ratio / library.GetMoistAirVolume(temp, ratio, PRESSURE_PA),
                1000 * ratio,
            )
        )
    took = time.process_time() - began
    return took, tuple(np.array(found).T)


def main() -> int:
    """Print speeds and the ratio; exit code 1 when it is below its bound, or the two disagree."""
    say(f"on {platform.node()} ({platform.machine()}, Python {platform.python_version()}, numpy {np.__version__})")
    rng = np.random.default_rng(89)
    temps, rhs = rng.uniform(12, 40, ROWS), rng.uniform(35, 95, ROWS)
    some = slice(None, None, ROWS // LOOPED)
    rounds = [vectorised(temps, rhs) for _ in range(3)]
    yards = [looped(fetched.psychrolib(), temps[some].tolist(), rhs[some].tolist()) for _ in range(3)]
    ours, theirs = min(took for took, _ in rounds) / ROWS, min(took for took, _ in yards) / LOOPED
    over_water = yards[0][1][0] > 0.02  # below, PsychroLib's dew points are frost points
    pairs = list(zip(rounds[0][1], yards[0][1], strict=True))
    apart = max(float(np.max(np.abs(a[some] - b)[over_water])) for a, b in pairs)
    say(f"vectorised: {1 / ours:,.0f} rows/s; scalar loop: {1 / theirs:,.0f} rows/s, by {LOOPED:,} of the rows")
    say(f"times the yardstick: {theirs / ours:.0f} (at least {LEAST_TIMES:.0f}); furthest apart {apart:.4f}")
    return 0 if theirs / ours >= LEAST_TIMES and apart < 0.02 else 1


if __name__ == "__main__":
    sys.exit(main())
