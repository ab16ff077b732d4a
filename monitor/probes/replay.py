"""Recorded readings through the very fold the station uses: what would this limit have said?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from itertools import groupby, pairwise
from pathlib import Path
from statistics import median
from typing import Any

from monitor.bench.computed_series import computed_series
from monitor.bench.derived import DERIVED, Source, inputs_of, sources, unserved
from monitor.bench.engine import ENGINE_VERSION
from monitor.bench.inputs import Asked, Break
from monitor.bench.outputs import Draft, Output, Refusal
from monitor.bench.quantities import channel_name, split_channel
from monitor.bench.readings import Reading
from monitor.bench.sheets import Limit, Sheet, Stage
from monitor.bench.state import STALE_INTERVALS, Binding
from monitor.bench.ticking import Fold
from monitor.clock import iso
from monitor.errors import BadInput
from monitor.probes import readings_csv

STAGE = Stage("replay", "replayed", ())
BENCH = "replay"


@dataclass
class Replayed:
    """What came of it: transitions, seconds of known time beyond the limits, rows of the file with a value.

    `not_judged` lists the sheet's limits for which the file has not all that is needed.
    """

    transitions: list[dict[str, Any]] = field(default_factory=list)
    outside_s: float = 0.0
    readings: int = 0
    not_judged: list[str] = field(default_factory=list)

    def as_json(self) -> dict[str, Any]:
        """Give the stable form of `replay --json`."""
        seconds = int(self.outside_s) if self.outside_s == int(self.outside_s) else self.outside_s
        return {"transitions": self.transitions, "outside_s": seconds, "readings": self.readings}


def read_series(path: Path) -> dict[str, list[Reading]]:
    """Read a readings file whole, by channel; its UTC serves as the monotonic scale."""
    series: dict[str, list[Reading]] = {}
    for row in readings_csv.read(path):
        name = channel_name(row.probe, row.quantity)
        series.setdefault(name, []).append(Reading(row.at_ms, name, row.value, row.quality))
    return series


def by_limit(path: Path, probe: str, limit: Limit, stale_after_ms: int | None = None) -> Replayed:
    """Replay a file against one limit.

    Raises:
        BadInput: the file cannot be read, or has no such probe and quantity.
    """
    series = read_series(path)
    wanted = channel_name(probe, limit.quantity)
    if wanted not in series:
        raise BadInput(str(path), f"no readings of {wanted}", ", ".join(series) or "readings", "Name one of these.")
    sheet = Sheet(
        "limit", "One limit", {limit.role: (limit.quantity,)}, (replace(STAGE, limits=(limit.key,)),),
        {limit.key: limit}, asks_painting=False,
    )  # fmt: skip
    return _replay({wanted: series[wanted]}, sheet, stale_after_ms, _with_value(series))


def by_sheet(path: Path, sheet: Sheet, stale_after_ms: int | None = None) -> Replayed:
    """Replay a file against every limit of a working sheet; each probe serves every role it can.

    Where several could give the air of something computed, one of its role's own name comes first.

    Raises:
        BadInput: the file cannot be read, or serves no role of the sheet.
    """
    series = read_series(path)
    used = {q for limit in sheet.limits.values() for q in inputs_of(limit.quantity)}
    readings = _with_value(series)
    series = {name: rows for name, rows in series.items() if split_channel(name)[1] in used}
    if not series:
        raise BadInput(
            str(path), f"nothing sheet {sheet.key} has limits for", ", ".join(sorted(used)), "Choose another."
        )
    present = {split_channel(name)[1] for name in series}
    roles = {
        role: tuple(q for q in quantities if q in present)
        for role, quantities in sheet.roles.items()
        if present.intersection(quantities)
    }
    served = replace(sheet, roles=roles, asks_painting=False, asks=())
    limits = {key: limit for key, limit in sheet.limits.items() if _is_served(limit, served, series)}
    if not limits:
        raise BadInput(
            str(path),
            f"not all that one limit of sheet {sheet.key} needs",
            ", ".join(sorted(used)),
            "Choose another.",
        )
    whole = replace(served, stages=(replace(STAGE, limits=tuple(limits)),), limits=limits)
    result = _replay(series, whole, stale_after_ms, readings)
    result.not_judged = [key for key in sheet.limits if key not in limits]
    return result


def _is_served(limit: Limit, sheet: Sheet, series: dict[str, list[Reading]]) -> bool:
    if limit.quantity in DERIVED:
        return unserved(limit, sheet, _bindings(sheet, series)) is None
    return limit.role in sheet.roles and any(split_channel(name)[1] == limit.quantity for name in series)


def _with_value(series: dict[str, list[Reading]]) -> int:
    return sum(r.value is not None for rows in series.values() for r in rows)


def _replay(series: dict[str, list[Reading]], sheet: Sheet, stale_after_ms: int | None, readings: int) -> Replayed:
    stale = {name: stale_after_ms or STALE_INTERVALS * _median_interval(rows) for name, rows in series.items()}
    items = sorted((r for rows in series.values() for r in rows), key=lambda r: (r.mono_ms, r.channel))
    result = Replayed(readings=readings)
    fold = Fold()
    _start(fold, sheet, series, stale, items[0].mono_ms)
    named = len(sheet.limits) > 1
    for item in items:
        result.transitions += _transitions(fold.feed(item), named)
    result.transitions += _transitions(fold.catch_up(items[-1].mono_ms), named, items[-1].mono_ms)
    bindings, total_ms = _bindings(sheet, series), 0
    for limit in sheet.limits.values():
        for name, rows in series.items():
            if split_channel(name)[1] == limit.quantity:
                total_ms += outside_ms(rows, limit, stale[name])
        for source in sources(limit, sheet, bindings):
            total_ms += _computed_outside_ms(source, limit, items, stale)
    result.outside_s = total_ms / 1000
    return result


def _computed_outside_ms(source: Source, limit: Limit, items: list[Reading], stale: dict[str, int]) -> int:
    """Sum the known time beyond a limit's mildest level of what is computed; none after its last value."""
    held = {name: stale[name] for name in source.inputs}
    series = computed_series(limit.quantity, held, (item for item in items if item.channel in held))
    at = limit.levels[0].at
    return sum(b.mono_ms - a.mono_ms for a, b in pairwise(series) if a.beyond(at, limit.side))


def _median_interval(rows: list[Reading]) -> int:
    return round(median([late.mono_ms - early.mono_ms for early, late in pairwise(rows)] or [1000]))


def _start(fold: Fold, sheet: Sheet, series: dict[str, list[Reading]], stale: dict[str, int], mono_ms: int) -> None:
    fold.feed(Break(mono_ms, 1, 1, 0, None))
    channels = [
        {"channel": name, "interval_ms": 1000, "stale_after_ms": stale[name], "bench": BENCH} for name in series
    ]
    fold.feed(_ask(mono_ms, "settings_in_force", {"engine": ENGINE_VERSION, "channels": channels}))
    bindings = [asdict(binding) for binding in _bindings(sheet, series)]
    body = {
        "step": "s1", "sheet": sheet.as_json(), "painting": None, "bench": BENCH, "bindings": bindings,
        "side": None, "places": None, "sandwich": None, "answers": [],
    }  # fmt: skip
    refused = [o for o in fold.feed(_ask(mono_ms, "step_asked", body)) if isinstance(o, Refusal)]
    if refused:
        raise BadInput(refused[0].thing, refused[0].found, refused[0].expected, refused[0].do)


def _bindings(sheet: Sheet, series: dict[str, list[Reading]]) -> list[Binding]:
    found = [
        Binding(role, probe, "replayed", served)
        for role, quantities in sheet.roles.items()
        for probe, names in groupby(sorted(series), key=lambda name: split_channel(name)[0])
        if (served := [name for name in names if split_channel(name)[1] in quantities])
    ]
    return sorted(found, key=lambda binding: binding.probe != binding.role)


def _ask(mono_ms: int, kind: str, body: dict[str, Any]) -> Asked:
    return Asked(mono_ms, kind, None, "command", body)


def _transitions(outputs: Iterable[Output], named: bool, until_ms: int | None = None) -> list[dict[str, Any]]:
    words = {"alarm_raised": "raise", "alarm_returned": "clear"}
    found = []
    for output in outputs:
        if not isinstance(output, Draft) or output.kind not in words:
            continue
        if until_ms is not None and output.mono_ms > until_ms:
            continue
        probe, quantity = split_channel(output.body["channel"])
        row: dict[str, Any] = {
            "time": iso(output.mono_ms), "probe": probe, "quantity": quantity, "event": words[output.kind],
            "value": None if output.body["value"] is None else float(output.body["value"]),
        }  # fmt: skip
        if named:
            row["limit"] = output.body["limit"]
        found.append(row)
    return found


def outside_ms(rows: list[Reading], limit: Limit, stale_after_ms: int) -> int:
    """Sum the known time beyond a limit's mildest level: no deadband, no delay, none after the last row."""
    at, high, total = limit.levels[0].at, limit.side == "high", 0
    for here, after in pairwise(rows):
        clipped = here.quality == 1
        if here.value is None or not (clipped or (here.value > at if high else here.value < at)):
            continue
        if clipped and (here.value > 0) is not high:
            continue
        total += min(after.mono_ms - here.mono_ms, stale_after_ms)
    return total
