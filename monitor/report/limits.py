"""The limits that were in force during a step, each with unit, source and grade."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.bench.sheets import Limit, Sheet
from monitor.report.record import StepRecord
from monitor.report.selection import Selection, watches_of
from monitor.report.words import figure

if TYPE_CHECKING:
    from monitor.store.store import Store

SANDWICH_WORDS = {
    "min_c": "at the adhesive at least",
    "max_c": "at the adhesive at most",
    "ceiling_c": "at the face at most",
}
ORIGIN = ("source", "locator", "grade")
HOT = ("tool_temperature", "bond_line_temperature", "face_temperature", "surface_temperature")


@dataclass(frozen=True)
class InForce:
    """One level of a limit, whose it is, and when it was in force.

    Attributes:
        limit, level: the limit and the index of its level.
        whose: "this step", or "the room" for a watch without a painting.
        spans: stretches in which no stage had it off, UTC ms.
    """

    limit: Limit
    level: int
    whose: str
    spans: tuple[tuple[int, int], ...]

    @property
    def at(self) -> float:
        """Give the level's value in the quantity's unit."""
        return self.limit.levels[self.level].at

    @property
    def words(self) -> str:
        """Say the limit, for instance "85 at most"."""
        return f"{self.at:g} {'at most' if self.limit.side == 'high' else 'at least'}"

    def held_ms(self, from_ms: int, to_ms: int) -> int:
        """Give how much of a stretch it was in force."""
        return sum(max(0, min(to_ms, end) - max(from_ms, begin)) for begin, end in self.spans)


def limits_in_force(store: Store, record: StepRecord, selection: Selection) -> list[InForce]:
    """List the step's limits and those of watches without a painting on the same channels."""
    whole = ((selection.from_ms, selection.to_ms),)
    found: list[InForce] = []
    if record.sheet:
        sheet = Sheet.from_json(record.sheet)
        for key, limit in sheet.limits.items():
            found += _levels(limit, "this step", stage_spans(record, sheet, key, selection))
    watches = watches_of(store)
    for row in store.daybook(kinds=["step_asked"]):
        body = row["body"]
        if body["step"] in watches and body["step"] != record.step and _shares(body["bindings"], selection):
            for limit in Sheet.from_json(body["sheet"]).limits.values():
                found += _levels(limit, "the room", whole)
    return list(dict.fromkeys(found))


def _levels(limit: Limit, whose: str, spans: tuple[tuple[int, int], ...]) -> list[InForce]:
    return [InForce(limit, level, whose, spans) for level in range(len(limit.levels))] if spans else []


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


def limit_sentences(limits: list[InForce]) -> list[str]:
    """Say each limit with unit, source and grade: one sentence for each quantity and side."""
    said: dict[str, dict[str, set[str]]] = {}
    for one in limits:
        quantity, level = QUANTITIES[one.limit.quantity], one.limit.levels[one.level]
        side = "at most" if one.limit.side == "high" else "at least"
        what = f"{figure(level.at, quantity.symbol)} ({_origin(level.source, level.locator, level.grade)})"
        said.setdefault(f"{quantity.words} {side}", {}).setdefault(what, set()).add(one.whose)
    return [
        f"{start} {', '.join(what + _room_alone(whose) for what, whose in levels.items())}."
        for start, levels in said.items()
    ]


def _room_alone(whose: set[str]) -> str:
    return " for the room" if whose == {"the room"} else ""


def _origin(source: str, locator: str, grade: str) -> str:
    return f"{source}{f', {locator}' if locator else ''}, {grade}"


def adhesive_sentences(record: StepRecord) -> list[str]:
    """Say what lies under the tool and what its figures at the adhesive and the face rest on."""
    sandwich = record.sandwich or {}
    said = [f"under the tool: {sandwich['words']}."] if sandwich.get("words") else []
    for key, words in SANDWICH_WORDS.items():
        origin = sandwich.get("figures", {}).get(key)
        if sandwich.get(key) is None or origin is None:
            continue
        said.append(f"{words} {sandwich[key]} °C ({_origin(**{k: origin[k] for k in ORIGIN})}).")
    return said


def source_sentences(limits: list[InForce], record: StepRecord, titles: Mapping[str, str]) -> list[str]:
    """Say what the keys of sources stand for; one without a known title stands by its key alone."""
    figures = (record.sandwich or {}).get("figures", {})
    used = [one.limit.levels[one.level].source for one in limits]
    used += [figures[key]["source"] for key in SANDWICH_WORDS if key in figures and record.sandwich]
    return [f"{key}: {titles[key]}." for key in sorted(set(used)) if key in titles]
