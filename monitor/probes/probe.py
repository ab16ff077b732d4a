"""What the sampler sees of any probe, real, simulated or far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from monitor.bench.readings import Quality


@dataclass(frozen=True, slots=True)
class Sample:
    """What one read gave for one quantity.

    Attributes:
        quantity: a key of `monitor.bench.quantities.QUANTITIES`.
        value: in the quantity's unit, rounded to its grid; None in a gap.
        quality: what the driver knew.
        raw: the words on the wire, in hexadecimal, for the log; "" when nothing came.
    """

    quantity: str
    value: float | None
    quality: Quality
    raw: str = ""


class Probe(Protocol):
    """A named probe. `read` runs in its bus's worker thread and never raises for a sick sensor."""

    @property
    def name(self) -> str:
        """Give the probe's name in the configuration."""
        ...

    @property
    def quantities(self) -> tuple[str, ...]:
        """List what it measures, in the order `read` gives it."""
        ...

    @property
    def source(self) -> str:
        """Tell part, serial number and bus in words; starts with "simulated " when it is."""
        ...

    @property
    def serial(self) -> str:
        """Give the instrument's serial number, or "" where the part has none."""
        ...

    def read(self) -> list[Sample]:
        """Read every quantity once."""
        ...
