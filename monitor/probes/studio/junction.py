"""What a probe makes of the temperature it sits in: lag, offset and noise."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from monitor.probes.studio.noise import gauss


@dataclass(frozen=True, slots=True)
class ProbeFigures:
    """A probe's own faults of measurement.

    Attributes:
        lag_s: first-order time constant, s.
        offset: constant error, in the unit measured.
        noise: standard deviation of white noise, in the unit measured.
    """

    lag_s: float
    offset: float = 0.0
    noise: float = 0.0


# grade: proposal. Modelled on a film junction taped to a brass tip, a bare 0.1 mm wire pressed in a
# join, the middle of a converter's board, and a capacitive sensor behind a membrane.
ON_TIP = ProbeFigures(lag_s=0.9, offset=-0.6, noise=0.03)
IN_JOIN = ProbeFigures(lag_s=0.25, offset=-0.2, noise=0.03)
IN_AIR = ProbeFigures(lag_s=6.0, offset=0.1, noise=0.03)
COLD_JUNCTION = ProbeFigures(lag_s=240.0, offset=1.7, noise=0.01)
AIR_TEMPERATURE = ProbeFigures(lag_s=4.0, offset=0.06, noise=0.012)
AIR_HUMIDITY = ProbeFigures(lag_s=7.0, offset=0.5, noise=0.03)


class Junction:
    """One lagging quantity of one probe.

    Args:
        seed, name: of its noise.
        figures: of the probe.
        start: what it feels at first, in the unit measured.
    """

    def __init__(self, seed: int, name: str, figures: ProbeFigures, start: float) -> None:
        self._seed, self._name, self._figures = seed, name, figures
        self._felt = start
        self._step_s, self._share = 0.0, 0.0

    def follow(self, true: float, step_s: float) -> None:
        """Go towards what is true now for one step of `step_s` seconds."""
        if step_s != self._step_s:
            self._step_s, self._share = step_s, 1.0 - exp(-step_s / self._figures.lag_s)
        self._felt += (true - self._felt) * self._share

    def shows(self, index: int) -> float:
        """Give what it would measure, the noise being that of grid instant `index`."""
        f = self._figures
        return self._felt + f.offset + f.noise * gauss(self._seed, self._name, index)
