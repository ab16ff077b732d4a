"""The air of the simulated room: a daily swing, slow wandering, and a humid hour."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, exp, pi, sqrt
from random import Random

DAY_S = 86_400
STEP_S = 1


@dataclass(frozen=True, slots=True)
class RoomFigures:
    """An invented studio on a quay in early summer, not air-conditioned (grade: proposal)."""

    mean_c: float = 20.6
    swing_c: float = 1.3
    warmest_s: float = 15.5 * 3600  # UTC second of the day
    mean_rh_pct: float = 49.0
    wander_c: float = 0.18  # standard deviation of the slow wandering
    wander_rh_pct: float = 0.7
    wander_s: float = 900.0  # its correlation time
    reach: float = 3.0  # time constants in the time a change is said to take (95 % of the way)


def saturation_pa(temperature_c: float) -> float:
    """Give the saturation pressure of water vapour in Pa.

    The usual exponential form with rounded constants (grade: recalled); the world needs a
    plausible link between warmth and humidity, not a reference.
    """
    return 611.0 * exp(17.6 * temperature_c / (243.0 + temperature_c))


class Room:
    """Air temperature in degC and humidity in %RH, moved in whole seconds.

    Args:
        seed: of the wandering.
        start_s: UTC second at mono 0, for the phase of the day.
        figures: of the room.
    """

    def __init__(self, seed: int, start_s: int, figures: RoomFigures | None = None) -> None:
        self.figures = figures or RoomFigures()
        self._chance = Random(seed)
        self._second = start_s
        self._keep = exp(-STEP_S / self.figures.wander_s)
        self._kick = sqrt(1.0 - self._keep * self._keep)
        self._wander_t = self._chance.gauss(0.0, 1.0)
        self._wander_h = self._chance.gauss(0.0, 1.0)
        self._humid = 0.0  # share of the humid air mixed in, 0 to 1
        self._humid_goal = 0.0
        self._humid_rh_pct = 0.0
        self._humid_lag_s = 1.0
        self._breathe()

    def step(self) -> None:
        """Move on by one second."""
        self._second += STEP_S
        self._wander_t = self._keep * self._wander_t + self._kick * self._chance.gauss(0.0, 1.0)
        self._wander_h = self._keep * self._wander_h + self._kick * self._chance.gauss(0.0, 1.0)
        if self._humid != self._humid_goal:
            self._approach()
        self._breathe()

    def humid(self, rh_pct: float, over_s: float) -> None:
        """Let damp air in: the humidity goes 95 % of its way to `rh_pct` in `over_s`."""
        self._humid_rh_pct, self._humid_goal = rh_pct, 1.0
        self._humid_lag_s = over_s / self.figures.reach

    def air_out(self, over_s: float | None = None) -> None:
        """Let the damp air go, as fast as it came unless told otherwise."""
        self._humid_goal = 0.0
        if over_s is not None:
            self._humid_lag_s = over_s / self.figures.reach

    def _approach(self) -> None:
        """Go a second's share of the way to the humid air or back from it."""
        left = (self._humid - self._humid_goal) * exp(-STEP_S / self._humid_lag_s)
        self._humid = self._humid_goal if abs(left) < 1e-6 else self._humid_goal + left

    def _breathe(self) -> None:
        """Work out temperature and humidity; vapour is kept, so warmth dries the air."""
        f = self.figures
        phase = cos(2.0 * pi * (self._second % DAY_S - f.warmest_s) / DAY_S)
        self.temperature_c = f.mean_c + f.swing_c * phase + f.wander_c * self._wander_t
        usual_pa = saturation_pa(f.mean_c) * (f.mean_rh_pct + f.wander_rh_pct * self._wander_h) / 100.0
        full_pa = saturation_pa(self.temperature_c)
        damp_pa = full_pa * self._humid_rh_pct / 100.0
        vapour_pa = usual_pa + self._humid * (damp_pa - usual_pa)
        self.rh_pct = 100.0 * vapour_pa / full_pa
