"""The trackers, in the order in which they see every input."""

from __future__ import annotations

from typing import Protocol

from monitor.bench.contacts import Contacts
from monitor.bench.flood import Flood
from monitor.bench.health import Health
from monitor.bench.hiding import Hiding
from monitor.bench.limits import Limits
from monitor.bench.outputs import Output
from monitor.bench.readings import Reading
from monitor.bench.sampling import Sampling
from monitor.bench.state import State
from monitor.bench.watches import Watch


class Tracker(Protocol):
    """Follows one aspect of the inputs; keeps all it remembers in the State."""

    def reading(self, state: State, watch: Watch, item: Reading, out: list[Output]) -> None:
        """Take a reading; `watch.channel` still holds the one before it."""
        ...

    def tick(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Let pass what elapsed up to and including this whole second."""
        ...

    def due(self, state: State) -> int | None:
        """Give the earliest instant at which a tick could change anything, or None."""
        ...

    def broken(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Take an interruption."""
        ...


TRACKERS: tuple[Tracker, ...] = (Sampling(), Limits(), Contacts(), Health(), Hiding(), Flood())
