"""The places along the strip: a fresh stack for each, the old ones cooling."""

from __future__ import annotations

import numpy as np

from monitor.probes.studio.layers import Field, Held, Mesh, Stepper
from monitor.probes.studio.noise import gauss, uniform
from monitor.probes.studio.stack import BASES, BOND_LINE, FACE, SOLE, WORK, Footprint

FINE_MS = 100
COARSE_MS = 1000
COLD_K = 0.02  # a place this near to the air is as good as fresh

# how a hand sets the tool down (grade: proposal): conductance at the middle of the sole in W/(m2 K),
# its spread from contact to contact, and how much more one end is pressed than the other
PRESSED_W_M2K = 410.0
PRESSED_SPREAD = 0.10
TILT = (0.15, 0.55)
SHARE = np.array(SOLE.covered_m) / sum(SOLE.covered_m)


class Place:
    """One place: its field of temperatures and the instant it stands at, ms."""

    def __init__(self, field: Field, at_ms: int) -> None:
        self.field, self.at_ms = field, at_ms


class Places:
    """All places that were ever touched; the one under the tool is moved by the world.

    Args:
        seed: of how each contact is made.
        base: key of `stack.BASES`.
    """

    def __init__(self, seed: int, base: str) -> None:
        self._seed = seed
        self.mesh = Mesh((*WORK, *BASES[base]))
        nothing = np.zeros(len(SOLE.lengths_m))
        self._bare = {ms: Stepper(self.mesh, SOLE, nothing, ms / 1000) for ms in (FINE_MS, COARSE_MS)}
        self._places: dict[int, Place] = {}
        self._warm: set[int] = set()
        self._contacts = 0

    def press(self, number: int, at_ms: int, air_c: float) -> tuple[Place, Stepper]:
        """Set the tool down on a place: give it, brought up to `at_ms`, and the contact's stepper."""
        self.cool(at_ms, air_c)
        if number not in self._places:
            self._places[number] = Place(np.full((len(SOLE.lengths_m), len(self.mesh.capacity)), air_c), at_ms)
        place = self._places[number]
        place.at_ms = at_ms
        self._warm.discard(number)
        self._contacts += 1
        return place, Stepper(self.mesh, SOLE, self._contact(self._contacts), FINE_MS / 1000)

    def release(self, number: int) -> None:
        """Leave a place to cool."""
        self._warm.add(number)

    def cool(self, to_ms: int, air_c: float) -> None:
        """Let every warm place cool to `to_ms`: all together by the whole second, odd parts each for itself."""
        whole_ms = to_ms - to_ms % COARSE_MS
        for number in sorted(self._warm):
            place = self._places[number]
            while place.at_ms < to_ms and (place.at_ms % COARSE_MS or place.at_ms == whole_ms):
                self._cool_by(FINE_MS, [place], air_c)
        together = [self._places[n] for n in sorted(self._warm) if self._places[n].at_ms < whole_ms]
        if together:
            self._cool_by(COARSE_MS, together, air_c)
            self._forget_cold(air_c)

    def _cool_by(self, step_ms: int, places: list[Place], air_c: float) -> None:
        """Let places that stand at one instant cool for one step."""
        fields = np.stack([p.field for p in places], axis=2)
        fields = self._bare[step_ms].step(fields, air_c, Held(air_c))
        for index, place in enumerate(places):
            place.field = np.ascontiguousarray(fields[:, :, index])
            place.at_ms += step_ms

    def _forget_cold(self, air_c: float) -> None:
        """Let a place that is as cold as the air be a fresh one again."""
        for number in sorted(self._warm):
            if float(np.abs(self._places[number].field - air_c).max()) < COLD_K:
                self._warm.discard(number)
                del self._places[number]

    def _contact(self, number: int) -> Field:
        """Give the contact conductance along the sole of the `number`th contact, W/(m2 K)."""
        middle = PRESSED_W_M2K * (1.0 + PRESSED_SPREAD * gauss(self._seed, "press", number))
        low, high = TILT
        tilt = low + (high - low) * uniform(self._seed, "tilt", number)
        contact = np.zeros(len(SOLE.lengths_m))
        contact[SOLE.under] = middle * (1.0 + tilt * along_sole(SOLE))
        return contact

    def join_c(self, number: int, air_c: float) -> float:
        """Give the bond line's temperature under the middle of the sole, degC; the air's where all is cold."""
        place = self._places.get(number)
        return air_c if place is None else _middle(self._under(place, BOND_LINE))

    def truth(self) -> dict[int, dict[str, float]]:
        """Give, for each place not yet cold, bond line and face under the sole, degC."""
        return {n: self._truth_of(p) for n, p in sorted(self._places.items())}

    def _truth_of(self, place: Place) -> dict[str, float]:
        found: dict[str, float] = {}
        for depth, layer in (("bond_line", BOND_LINE), ("face", FACE)):
            here = self._under(place, layer)
            found[f"{depth}_mean_c"] = float(here @ SHARE)
            found[f"{depth}_middle_c"] = _middle(here)
            found[f"{depth}_min_c"] = float(here.min())
            found[f"{depth}_max_c"] = float(here.max())
        return found

    def _under(self, place: Place, layer: int) -> Field:
        """Give a layer's lower face in the columns under the sole, degC."""
        return self.mesh.lower_face(place.field, layer)[SOLE.under]


def _middle(under: Field) -> float:
    """Give the value under the middle of the sole."""
    half = len(under) // 2
    return float(under[half - 1] + under[half]) / 2.0


def along_sole(sole: Footprint) -> Field:
    """Give where the middle of each covered column lies along the sole, from -1 to 1."""
    lengths = np.array(sole.covered_m)
    middles: Field = (np.cumsum(lengths) - lengths / 2.0) / lengths.sum() * 2.0 - 1.0
    return middles
