"""The limits that were in force during a step, each with unit, source and grade."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from monitor.bench.derived import DERIVED, Bound, sources
from monitor.bench.derived import Source as Judged
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.bench.sheets import Limit, Sheet
from monitor.bench.state import Binding
from monitor.report.origins import Numbers, origin_words
from monitor.report.record import StepRecord
from monitor.report.selection import Selection, watches_of
from monitor.report.words import figure

if TYPE_CHECKING:
    from monitor.store.store import Store

HOT = ("tool_temperature", "bond_line_temperature", "face_temperature", "surface_temperature")


@dataclass(frozen=True)
class InForce:
    """One level of a limit, whose it is, and when it was in force.

    Attributes:
        limit, level: the limit and the index of its level.
        whose: "this step", or "the room" for a watch without a painting.
        spans: stretches in which no stage had it off, UTC ms.
        sources: the channels it judges, and what they are computed from; none given: every one of its quantity.
    """

    limit: Limit
    level: int
    whose: str
    spans: tuple[tuple[int, int], ...]
    sources: tuple[Judged, ...] = ()

    @property
    def at(self) -> float:
        """Give the level's value in the quantity's unit."""
        return self.limit.levels[self.level].at

    @property
    def words(self) -> str:
        """Say the limit, for instance "85 at most"."""
        return f"{self.at:g} {'at most' if self.limit.side == 'high' else 'at least'}"

    def judges(self, channel: str) -> bool:
        """Tell whether it judges a measured channel."""
        named = {source.channel for source in self.sources}
        return split_channel(channel)[1] == self.limit.quantity and (not named or channel in named)

    @property
    def computed(self) -> tuple[Judged, ...]:
        """Give those of its channels that are computed from others."""
        return tuple(source for source in self.sources if source.inputs)

    def held(self, from_ms: int, to_ms: int) -> list[tuple[int, int]]:
        """Give the parts of a stretch in which it was in force."""
        parts = [(max(from_ms, begin), min(to_ms, end)) for begin, end in self.spans]
        return [(begin, end) for begin, end in parts if end > begin]


def limits_in_force(store: Store, record: StepRecord, selection: Selection) -> list[InForce]:
    """List the step's limits and those of watches without a painting on the same channels."""
    whole = ((selection.from_ms, selection.to_ms),)
    found: list[InForce] = []
    if record.sheet:
        sheet = Sheet.from_json(record.sheet)
        for key, limit in sheet.limits.items():
            judged = _judged(limit, sheet, record.bindings)
            found += _levels(limit, "this step", stage_spans(record, sheet, key, selection), judged)
    watches = watches_of(store)
    for row in store.daybook(kinds=["step_asked"]):
        body = row["body"]
        if body["step"] in watches and body["step"] != record.step and _shares(body["bindings"], selection):
            sheet, bound = Sheet.from_json(body["sheet"]), [Binding(**one) for one in body["bindings"]]
            for limit in sheet.limits.values():
                found += _levels(limit, "the room", whole, _judged(limit, sheet, bound))
    return list(dict.fromkeys(found))


def _judged(limit: Limit, sheet: Sheet, bindings: Sequence[Bound]) -> tuple[Judged, ...]:
    """List what a limit judges: in a tent the tent's air alone, in the room the room's."""
    if limit.quantity in DERIVED:
        return tuple(sources(limit, sheet, bindings))
    bound = (c for b in bindings if b.role == limit.role for c in b.channels)
    return tuple(Judged(c) for c in dict.fromkeys(bound) if split_channel(c)[1] == limit.quantity)


def _levels(
    limit: Limit, whose: str, spans: tuple[tuple[int, int], ...], judged: tuple[Judged, ...]
) -> list[InForce]:  # fmt: skip
    return [InForce(limit, level, whose, spans, judged) for level in range(len(limit.levels))] if spans else []


def stage_spans(record: StepRecord, sheet: Sheet, key: str, selection: Selection) -> tuple[tuple[int, int], ...]:
    """Give the stretches whose stage has the limit `key` in force."""
    on = {stage.key for stage in sheet.stages if key in stage.limits}
    starts = [(selection.from_ms if at is None else at, stage) for at, stage in record.stages]
    ends = [*(at for at, _ in starts[1:]), selection.to_ms]
    return tuple((at, end) for (at, stage), end in zip(starts, ends, strict=True) if stage in on and end > at)


def _shares(bindings: list[dict[str, Any]], selection: Selection) -> bool:
    return any(channel in selection.channels for binding in bindings for channel in binding["channels"])


def drawn_quantities(selection: Selection) -> list[str]:
    """Choose what the chart shows: the tool or the surface first, then the room's humidity."""
    present = {split_channel(channel)[1] for channel in selection.channels}
    shown = [quantity for quantity in HOT if quantity in present] or ["air_temperature"]
    return [quantity for quantity in [*shown, "relative_humidity"] if quantity in present]


def limit_rows(limits: list[InForce], numbers: Numbers) -> list[dict[str, str]]:
    """Give each level with unit, whose it is, source and grade; the same one of two steps once."""
    said: dict[tuple[str, float, str], list[InForce]] = {}
    for one in limits:
        level, high = one.limit.levels[one.level], one.limit.side == "high"
        told = "; ".join(source.words for source in one.computed)
        what = f"{QUANTITIES[one.limit.quantity].words} {'at most' if high else 'at least'}"
        what += f" ({told})" if told else ""
        origin = origin_words(numbers, level.source, level.locator, level.grade, level.note)
        said.setdefault((what, one.at if high else -one.at, origin), []).append(one)
    return [
        {
            "what": what,
            "value": figure(some[0].at, QUANTITIES[some[0].limit.quantity].symbol),
            "whose": " and ".join(dict.fromkeys(one.whose for one in some)),
            "from": origin,
        }
        for (what, _, origin), some in sorted(said.items(), key=lambda item: item[0][:2])
    ]
