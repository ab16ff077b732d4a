"""Which faults the simulated probes have now."""

from __future__ import annotations

from monitor.errors import BadInput
from monitor.probes.sensed import Fault


class Faults:
    """The faults of each probe, until mended."""

    def __init__(self, probes: tuple[str, ...]) -> None:
        self._now: dict[str, frozenset[Fault]] = dict.fromkeys(probes, frozenset())

    def of(self, probe: str) -> frozenset[Fault]:
        """Give a probe's faults; BadInput for a probe that is not in the world."""
        self._known(probe)
        return self._now[probe]

    def strike(self, probe: str, fault: Fault) -> None:
        """Give a probe one more fault."""
        self._known(probe)
        self._now[probe] |= {fault}

    def mend(self, probe: str) -> None:
        """Take all faults from a probe."""
        self._known(probe)
        self._now[probe] = frozenset()

    def _known(self, probe: str) -> None:
        if probe not in self._now:
            known = ", ".join(sorted(self._now))
            raise BadInput("probe in the simulated studio", repr(probe), f"one of {known}", "Name one of these.")
