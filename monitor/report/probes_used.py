"""The probes whose readings a report shows: where they touched and where their readings come from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.report.record import Row, StepRecord
from monitor.report.selection import Selection

if TYPE_CHECKING:
    from monitor.store.store import Store


@dataclass(frozen=True)
class Used:
    """A probe in a report; `sources` tell part, serial number and bus in words, one for each change."""

    probe: str
    quantities: tuple[str, ...]
    touches: str
    sources: tuple[str, ...]

    @property
    def simulated(self) -> bool:
        """Tell whether its readings were simulated."""
        return any(source.startswith("simulated") for source in self.sources)

    def sentence(self) -> str:
        """Say it as a sentence."""
        quantities = " and ".join(QUANTITIES[q].words for q in self.quantities)
        source = ", then ".join(self.sources) or "a source that was not recorded"
        touches = f", {self.touches}" if self.touches else ", about the bench"
        return f"{self.probe}{touches}: {quantities}, from {source}."


def probes_used(store: Store, record: StepRecord, selection: Selection, rows: list[Row]) -> list[Used]:
    """List the probes of a selection by name.

    Sources are those told at the starts under which the rows were written: a probe may have
    been simulated then and be real now.
    """
    touches = {binding.probe: binding.touches for binding in record.bindings}
    told = _told_sources(store, {row["boot"] for row in rows})
    quantities: dict[str, list[str]] = {}
    for channel in selection.channels:
        probe, quantity = split_channel(channel)
        quantities.setdefault(probe, []).append(quantity)
    return [
        Used(probe, tuple(some), touches.get(probe, ""), tuple(told.get(probe, ())))
        for probe, some in sorted(quantities.items())
    ]


def _told_sources(store: Store, boots: set[int]) -> dict[str, list[str]]:
    told: dict[str, list[str]] = {}
    for row in store.daybook(kinds=["station_started"]):
        for one in row["body"]["sources"] if row["boot"] in boots else ():
            known = told.setdefault(one["probe"], [])
            if one["source"] not in known:
                known.append(one["source"])
    return told
