"""What simulated chips feel: the seam between the simulated world and the simulated wire."""

from __future__ import annotations

from enum import StrEnum
from typing import Protocol


class Fault(StrEnum):
    """The faults a simulated sensor can have."""

    ABSENT = "absent"
    BAD_CHECKSUM = "bad checksum"
    BUS_ERROR = "bus error"
    ALL_ONES = "bus all ones"
    ALL_ZEROS = "bus all zeros"
    OPEN_THERMOCOUPLE = "open thermocouple"
    CHIP_RESET = "chip reset"
    HUMIDITY_CLIPPED = "humidity clipped"


class SensedWorld(Protocol):
    """The simulated surroundings of each probe, at the instant the world was last moved to."""

    def air(self, probe: str) -> tuple[float, float]:
        """Give air temperature in degC and relative humidity in %RH at a probe; may exceed 100 %."""
        ...

    def junction_c(self, probe: str) -> float:
        """Give the temperature of a thermocouple's measuring junction in degC, probe lag included."""
        ...

    def cold_junction_c(self, probe: str) -> float:
        """Give the temperature of its cold junction in degC."""
        ...

    def faults(self, probe: str) -> frozenset[Fault]:
        """Give the faults a probe has now."""
        ...
