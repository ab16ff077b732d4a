"""The table of passes: what the tool did on each place, and what is estimated below it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from monitor.bench.quantities import split_channel
from monitor.report.record import Band, Contact, StepRecord
from monitor.report.selection import Selection
from monitor.report.words import numbers, plain_reason

if TYPE_CHECKING:
    from monitor.store.store import Store

STALE_INTERVALS = 3
UNTRIED = "not known"
DAMP = "relative_humidity"


@dataclass(frozen=True)
class PassRow:
    """One pass on a place, or a place nobody touched.

    Attributes:
        pass_no: number of the pass on its place; 0 where the place was not touched.
        at_ms: when the tool was set down, UTC ms.
        humidity: %RH read last before it, None where nothing fresh was read.
        milliseconds: how long it lay there.
        tool_low, tool_mean, tool_high: degC; None when nothing was measured.
        band, face: estimates at the adhesive and at the face where they were highest, or None.
        verdict, reason: what was judged and why; None and "" while it has not been judged.
    """

    place: int
    pass_no: int = 0
    at_ms: int | None = None
    humidity: float | None = None
    milliseconds: int = 0
    tool_low: float | None = None
    tool_mean: float | None = None
    tool_high: float | None = None
    band: Band | None = None
    face: Band | None = None
    verdict: str | None = None
    reason: str = ""


def pass_rows(record: StepRecord, humidity: Mapping[int, float] | None = None) -> list[PassRow]:
    """List every pass that counts, by place and pass; a place without one has one empty row.

    Args:
        record: the step.
        humidity: %RH by the instant a tool was set down, UTC ms.
    """
    count = max([record.places, *(c.place for c in record.contacts)], default=0)
    rows: list[PassRow] = []
    for place in range(1, count + 1):
        here = sorted((c for c in record.contacts if c.place == place), key=lambda c: c.pass_no)
        rows += [_row(record, contact, humidity or {}) for contact in here] or [PassRow(place)]
    return rows


def _row(record: StepRecord, contact: Contact, humidity: Mapping[int, float]) -> PassRow:
    judged = record.verdicts.get((contact.place, contact.pass_no))
    return PassRow(
        place=contact.place,
        pass_no=contact.pass_no,
        at_ms=contact.from_ms,
        humidity=None if contact.from_ms is None else humidity.get(contact.from_ms),
        milliseconds=contact.milliseconds,
        tool_low=contact.tool_low,
        tool_mean=contact.tool_mean,
        tool_high=contact.tool_high,
        band=judged.band if judged else None,
        face=judged.face if judged else None,
        verdict=judged.word if judged else None,
        reason=plain_reason(judged.reason) if judged else "",
    )


def humidity_then(store: Store, record: StepRecord, selection: Selection) -> dict[int, float]:
    """Read the room's %RH for every set-down: the last reading before it that is still fresh."""
    bound = [c for binding in record.bindings for c in binding.channels]
    damp = [c for c in [*bound, *selection.channels] if split_channel(c)[1] == DAMP]
    if not damp:
        return {}
    interval_ms = next(c.interval_ms for c in store.channels() if c.channel == damp[0])
    found: dict[int, float] = {}
    for at_ms in {c.from_ms for c in record.contacts if c.from_ms is not None}:
        since = at_ms - STALE_INTERVALS * interval_ms
        values = [r.value for r in store.readings(damp[0], since, at_ms + 1)]
        if values and values[-1] is not None:
            found[at_ms] = values[-1]
    return found


def last_verdicts(rows: list[PassRow]) -> dict[int, str | None]:
    """Give each place's verdict: that of its last pass."""
    return {row.place: row.verdict for row in rows}


def common_verdict(rows: list[PassRow]) -> tuple[str, str] | None:
    """Give the verdict and reason that most passes share, if at least two do."""
    counted = Counter((row.verdict, row.reason) for row in rows if row.verdict)
    if not counted:
        return None
    (word, reason), count = counted.most_common(1)[0]
    return (word, reason) if word and count > 1 else None


def estimate_sentences(
    rows: list[PassRow], least: float | None, most: float | None, ceiling: float | None
) -> list[str]:
    """Say which estimates lie beyond what the film asks and the face bears; verdicts none of them.

    Args:
        rows: the passes.
        least, most, ceiling: degC at the adhesive, at the adhesive and at the face; None where not set.
    """
    untried = all(row.verdict in (None, UNTRIED) for row in rows)
    end = "; not tried on a mock-up, so this is no verdict." if untried else "."
    said: list[str] = []
    for of_face, limit, where in ((True, ceiling, "the face"), (False, most, "the adhesive")):
        bands = [(row.place, row.face if of_face else row.band) for row in rows]
        above = [place for place, band in bands if limit is not None and band is not None and band[2] > limit]
        if above:
            said.append(f"Estimates at {where} reached above the {limit:g} °C set on {_places(above)}{end}")
    cold = _all_below(rows, least)
    if cold:
        said.append(f"The whole estimated band lay below the {least:g} °C the film asks, on {_places(cold)}{end}")
    return said


def _all_below(rows: list[PassRow], least: float | None) -> list[int]:
    """List the places of which every estimated pass stayed below."""
    best: dict[int, float] = {}
    for row in rows:
        if row.band is not None:
            best[row.place] = max(row.band[2], best.get(row.place, row.band[2]))
    return [place for place, high in best.items() if least is not None and high < least]


def _places(some: list[int]) -> str:
    return f"{'place' if len(set(some)) == 1 else 'places'} {numbers(some)}"
