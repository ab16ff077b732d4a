"""A world that stands still until it is told otherwise."""

from __future__ import annotations

from dataclasses import dataclass, field

from monitor.probes.sensed import Fault


@dataclass
class StillWorld:
    """The same air and the same tool at every probe.

    Attributes:
        air_c: air temperature in degC.
        rh_pct: relative humidity in %RH.
        tool_c: temperature of a thermocouple's junction in degC, where `junctions_c` has none of that probe.
        cold_c: temperature of every cold junction in degC.
        sick: faults by probe.
        junctions_c: temperature of a thermocouple's junction in degC, by probe.
    """

    air_c: float = 20.5
    rh_pct: float = 48.0
    tool_c: float = 65.0
    cold_c: float = 24.0
    sick: dict[str, frozenset[Fault]] = field(default_factory=dict)
    junctions_c: dict[str, float] = field(default_factory=dict)

    def air(self, probe: str) -> tuple[float, float]:  # noqa: ARG002
        """Give air temperature in degC and relative humidity in %RH."""
        return self.air_c, self.rh_pct

    def junction_c(self, probe: str) -> float:
        """Give the measuring junction's temperature in degC."""
        return self.junctions_c.get(probe, self.tool_c)

    def cold_junction_c(self, probe: str) -> float:  # noqa: ARG002
        """Give the cold junction's temperature in degC."""
        return self.cold_c

    def faults(self, probe: str) -> frozenset[Fault]:
        """Give the faults set for a probe."""
        return self.sick.get(probe, frozenset())
