"""The whole simulated world, moved on one fixed internal grid.

Nothing depends on who looks when: the grid is 100 ms while the tool is hot or heated and a whole
second while it rests cold, chosen from the world's own state alone; an action takes effect at
the last 100 ms instant that has passed.
"""

from __future__ import annotations

from collections.abc import Mapping

from monitor.probes.sensed import Fault
from monitor.probes.studio import junction as j
from monitor.probes.studio.actions import perform
from monitor.probes.studio.config import WorldConfig
from monitor.probes.studio.faults import Faults
from monitor.probes.studio.layers import Stepper
from monitor.probes.studio.noise import gauss
from monitor.probes.studio.places import COARSE_MS, FINE_MS, Place, Places
from monitor.probes.studio.room import Room
from monitor.probes.studio.tool import Tool

LUKEWARM_K = 0.5
"""A tool that is off, touches nothing and is this near to the air moves in whole seconds."""


class World:
    """One simulated studio: room, spatula, work and probes. It is a `SensedWorld`.

    Args:
        config: its fixed circumstances; the same config and actions give the same bits.
    """

    def __init__(self, config: WorldConfig | None = None) -> None:
        self.config = config or WorldConfig()
        c = self.config
        self.room = Room(c.seed, c.start_wall_ms // 1000)
        self.tool = Tool(self.room.temperature_c if c.tool_start_c is None else float(c.tool_start_c))
        self.places = Places(c.seed, c.base)
        self.sick = Faults(c.probes)
        self.place: int | None = None
        self._under: tuple[Place, Stepper] | None = None
        self._at_ms = 0
        self._now_ms = 0
        self._set_up_probes()

    def _set_up_probes(self) -> None:
        """Put every probe where it belongs, as warm as the air or the tool there."""
        c, air, rh = self.config, self.room.temperature_c, self.room.rh_pct
        self._tip = j.Junction(c.seed, f"{c.tool_probe}.tip", j.ON_TIP, self.tool.tip_c)
        self._join = j.Junction(c.seed, f"{c.join_probe}.join", j.IN_JOIN, air)
        self._bare = j.Junction(c.seed, "bare", j.IN_AIR, air)
        self._cold = j.Junction(c.seed, "board", j.COLD_JUNCTION, air)
        self._air_t = j.Junction(c.seed, "air.temperature", j.AIR_TEMPERATURE, air)
        self._air_h = j.Junction(c.seed, "air.humidity", j.AIR_HUMIDITY, rh)

    # -- moving ---------------------------------------------------------------------------------

    def advance_to(self, mono_ms: int) -> None:
        """Move to a monotonic instant in ms; ValueError if that lies in the past."""
        if mono_ms < self._now_ms:
            raise ValueError(f"the world at {self._now_ms} ms cannot go back to {mono_ms} ms")
        self._now_ms = mono_ms
        while (step_ms := self._next_step_ms()) and self._at_ms + step_ms <= mono_ms:
            self._move(step_ms)

    def apply(self, action: Mapping[str, object]) -> None:
        """Do one action of a story at the instant last moved to.

        Errors:
            BadInput: the action is unknown or malformed, or cannot be done as things stand; nothing was changed.
        """
        while self._at_ms + FINE_MS <= self._now_ms:
            self._move(FINE_MS)
        perform(self, action)

    def _next_step_ms(self) -> int:
        """Choose the next step by the world's own state."""
        idle = (
            self._at_ms % COARSE_MS == 0
            and self._under is None
            and self.tool.set_c is None
            and abs(self.tool.body_c - self.room.temperature_c) < LUKEWARM_K
        )
        return COARSE_MS if idle else FINE_MS

    def _move(self, step_ms: int) -> None:
        """Make one step of the grid."""
        step_s, air_c = step_ms / 1000, self.room.temperature_c
        if self._under is None:
            self.tool.alone(step_s, air_c)
        else:
            place, stepper = self._under
            self.tool.begin(step_s, air_c)
            place.field = stepper.step(place.field, air_c, self.tool)
            place.at_ms += step_ms
        self._at_ms += step_ms
        self._tip.follow(self.tool.tip_c, step_s)
        if self.config.join_probe is not None:
            self._join.follow(self.places.join_c(self.config.join_place, air_c), step_s)
        if self._at_ms % COARSE_MS == 0:
            self._whole_second()

    def _whole_second(self) -> None:
        """Move what is slow: the places left alone, the air and what hangs in it."""
        self.places.cool(self._at_ms, self.room.temperature_c)
        self.room.step()
        second = COARSE_MS / 1000
        for probe in (self._bare, self._cold, self._air_t):
            probe.follow(self.room.temperature_c, second)
        self._air_h.follow(self.room.rh_pct, second)

    # -- what actions do ------------------------------------------------------------------------

    def set_down(self, place: int) -> None:
        """Set the tool on a place."""
        self._under = self.places.press(place, self._at_ms, self.room.temperature_c)
        self.place, self.tool.on_stand = place, False

    def lift(self) -> None:
        """Take the tool from its place; it is in the hand then."""
        if self.place is not None:
            self.places.release(self.place)
        self.place, self._under = None, None

    # -- what probes feel -----------------------------------------------------------------------

    def air(self, probe: str) -> tuple[float, float]:
        """Give air temperature in degC and relative humidity in %RH at a probe; BadInput if unknown."""
        self.sick.of(probe)
        index = self._now_ms // FINE_MS
        off_c, off_rh = self._hung(probe)
        return self._air_t.shows(index) + off_c, self._air_h.shows(index) + off_rh

    def junction_c(self, probe: str) -> float:
        """Give the temperature of a probe's measuring junction in degC, its lag included; BadInput if unknown."""
        self.sick.of(probe)
        index = self._now_ms // FINE_MS
        if probe == self.config.tool_probe:
            return self._tip.shows(index)
        if probe == self.config.join_probe:
            return self._join.shows(index)
        return self._bare.shows(index) + self._hung(probe)[0]

    def cold_junction_c(self, probe: str) -> float:
        """Give the temperature of a probe's cold junction in degC; BadInput if unknown."""
        self.sick.of(probe)
        return self._cold.shows(self._now_ms // FINE_MS)

    def faults(self, probe: str) -> frozenset[Fault]:
        """Give the faults a probe has now; BadInput if unknown."""
        return self.sick.of(probe)

    def _hung(self, probe: str) -> tuple[float, float]:
        """Tell how a place in the room differs from the middle: degC and %RH, fixed for each probe."""
        if probe == self.config.room_probe:
            return 0.0, 0.0
        seed = self.config.seed
        return 0.3 * gauss(seed, f"{probe}.hung", 0), 0.8 * gauss(seed, f"{probe}.hung", 1)

    # -- for judging estimates ------------------------------------------------------------------

    def truth(self) -> dict[str, object]:
        """Give what no probe knows, at the last instant of the grid; for judging estimates only.

        Keys: `mono_ms`; `air_c`, `rh_pct`; `tip_c`, `body_c`, `heating`; `place` under the tool or None;
        `places`: for each place not yet cold, of bond line and face, the mean, lowest and highest
        temperature under the sole and that under its middle (`bond_line_mean_c`, `face_min_c`, ...), degC.
        """
        return {
            "mono_ms": self._at_ms,
            "air_c": self.room.temperature_c,
            "rh_pct": self.room.rh_pct,
            "tip_c": self.tool.tip_c,
            "body_c": self.tool.body_c,
            "heating": self.tool.heating,
            "place": self.place,
            "places": self.places.truth(),
        }
