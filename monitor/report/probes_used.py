"""The probes whose readings a report shows: where they touched and where their readings come from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.report.record import StepRecord
from monitor.report.selection import Selection

if TYPE_CHECKING:
    from monitor.store.store import Store


@dataclass(frozen=True)
class Used:
    """A probe in a report; `source` tells part, serial number and bus in words."""

    probe: str
    quantities: tuple[str, ...]
    touches: str
    source: str

    @property
    def simulated(self) -> bool:
        """Tell whether its readings were simulated."""
        return self.source.startswith("simulated ")

    def sentence(self) -> str:
        """Say it as a sentence."""
        quantities = " and ".join(QUANTITIES[q].words for q in self.quantities)
        touches = f", {self.touches}" if self.touches else ", about the bench"
        return f"{self.probe}{touches}: {quantities}, from {self.source or 'a source that was not recorded'}."


def probes_used(store: Store, record: StepRecord, selection: Selection) -> list[Used]:
    """List the probes of a selection by name."""
    touches = {binding.probe: binding.touches for binding in record.bindings}
    sources = {c.probe: c.source for c in store.channels()}
    quantities: dict[str, list[str]] = {}
    for channel in selection.channels:
        probe, quantity = split_channel(channel)
        quantities.setdefault(probe, []).append(quantity)
    return [Used(p, tuple(q), touches.get(p, ""), sources.get(p, "")) for p, q in sorted(quantities.items())]
