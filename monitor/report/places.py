"""The table of places: what the tool did on each, and what is estimated at the adhesive."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.report.record import Band, Contact, StepRecord


@dataclass(frozen=True)
class PlaceRow:
    """One place of the side.

    Attributes:
        passes, milliseconds: contacts there that count, and their time together.
        tool_low, tool_mean, tool_high: degC over all of them; None when nothing was measured.
        gaps: readings without a value during them.
        band: the estimate at the adhesive where it was highest: low, most likely, high; or None.
        verdict: of the last pass; None while the place has not been judged.
        reason: why, in words.
    """

    place: int
    passes: int
    milliseconds: int
    tool_low: float | None
    tool_mean: float | None
    tool_high: float | None
    gaps: int
    band: Band | None
    verdict: str | None
    reason: str


def place_rows(record: StepRecord) -> list[PlaceRow]:
    """List every place of the side, those not yet touched included."""
    count = max([record.places, *(c.place for c in record.contacts)], default=0)
    return [_row(record, place) for place in range(1, count + 1)]


def _row(record: StepRecord, place: int) -> PlaceRow:
    here = [c for c in record.contacts if c.place == place]
    judged = [v for (where, _), v in sorted(record.verdicts.items()) if where == place]
    return PlaceRow(
        place=place,
        passes=len(here),
        milliseconds=sum(c.milliseconds for c in here),
        tool_low=min((c.tool_low for c in here if c.tool_low is not None), default=None),
        tool_mean=_mean(here),
        tool_high=max((c.tool_high for c in here if c.tool_high is not None), default=None),
        gaps=sum(c.gaps for c in here),
        band=max((v.band for v in judged if v.band is not None), key=lambda band: band[1], default=None),
        verdict=judged[-1].word if judged else None,
        reason=judged[-1].reason if judged else "",
    )


def _mean(contacts: list[Contact]) -> float | None:
    """Weigh each pass's mean by its readings, so that a long pass counts for more."""
    measured = [(c.tool_mean, c.readings) for c in contacts if c.tool_mean is not None]
    weight = sum(n for _, n in measured)
    return sum(mean * n for mean, n in measured) / weight if weight else None
