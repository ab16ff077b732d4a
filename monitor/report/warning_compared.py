"""The figures of a period beside those of the guide, and all of it as JSON."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from monitor.bench import warning_guide as guide
from monitor.clock import iso
from monitor.figures import Figure
from monitor.report.warning_figures import WarningFigures
from monitor.report.warning_history import Key
from monitor.report.warning_lists import Often
from monitor.report.warning_rates import Peak

PLACES = 3


@dataclass(frozen=True)
class Compared:
    """A figure of the period with those of the guide it is held against.

    Attributes:
        value: None where there is nothing to hold against them.
        guide: their ids in `warning_guide.FIGURES`.
        inside: inside what the guide calls manageable; None where it gives only a rough share.
    """

    measure: str
    value: float | None
    guide: tuple[str, ...]
    inside: bool | None


def compared(figures: WarningFigures) -> list[Compared]:
    """Hold the figures against the guide: up to its figure is inside, and where it says `under`, below it."""
    rates = figures.rates
    share, flood = figures.frequent_share, rates.flood_share
    average = ("warnings.average.about", "warnings.average.most")
    return [
        Compared("average.per_10_min", rates.per_10_min, average, _up_to(rates.per_10_min, guide.AVERAGE_MOST)),
        _most("peak.minute", rates.minute, guide.PEAK_MINUTE),
        _most("peak.hour", rates.hour, guide.PEAK_HOUR),
        Compared("flood.share_pct", flood, ("warnings.flood.share",), _under(flood, guide.FLOOD_SHARE)),
        Compared("frequent.share_pct", share, ("warnings.frequent.share",), _up_to(share, guide.FREQUENT_SHARE)),
        Compared("standing.at_once", figures.stale_at_once, ("warnings.standing.most",),
                 _under(figures.stale_at_once, guide.STANDING_MOST)),
        *(Compared(f"priority.{p}_pct", 100 * n / figures.given if figures.given else None,
                   (f"warnings.priority.{p}",), None) for p, n in figures.priorities.items()),
    ]  # fmt: skip


def _most(measure: str, found: Peak, figure: Figure) -> Compared:
    return Compared(measure, found.most, (f"warnings.{measure}",), _up_to(found.most, figure))


def _up_to(found: float | None, figure: Figure) -> bool | None:
    return None if found is None else found <= guide.value(figure)


def _under(found: float | None, figure: Figure) -> bool | None:
    return None if found is None else found < guide.value(figure)


def as_json(figures: WarningFigures) -> dict[str, Any]:
    """Give the stable form of `alarms --json`; times are ISO 8601 in UTC, lengths are seconds."""
    rates, looked = figures.rates, figures.looked
    return {
        "from": iso(figures.from_ms), "to": iso(figures.to_ms), "record_reaches": _iso(figures.record_ms),
        "station_ran_s": figures.ran_ms / 1000, "clock_set": figures.clock_set,
        "warnings": figures.given, "after_a_silence": figures.anew, "still_standing": figures.again,
        "beside_another": figures.beside,
        "at_unknown_time": figures.undated, "stood_before": figures.stood_before, "stand_after": figures.stand_after,
        "average": {"per_10_min": _rounded(rates.per_10_min), "per_day": _rounded(rates.per_day)},
        "peak": {"minute": _peak(rates.minute), "ten_minutes": _peak(rates.ten_minutes), "hour": _peak(rates.hour)},
        "flood": {
            "s": rates.flood_ms / 1000, "share_pct": _rounded(rates.flood_share),
            "spells": [{"from": iso(a), "to": iso(b)} for a, b in rates.floods],
        },
        "frequent": {
            "kinds": figures.kinds, "share_pct": _rounded(figures.frequent_share),
            "most": [_often(one, figures.given) for one in figures.frequent],
        },
        "chattering": [
            {**_key(one.key), "at": one.level, "in_a_minute": one.most, "first": iso(one.from_ms)}
            for one in figures.chattering
        ],
        "fleeting": figures.fleeting,
        "standing": {
            "at_once": figures.stale_at_once,
            "over_24_h": [
                {**_key(one.key), "from": iso(one.from_ms), "to": _iso(one.to_ms)}
                for one in figures.stale
            ],
        },
        "time_to_seen": {
            "seen": looked.seen, "silenced": looked.silenced, "never": looked.never, "waiting": looked.waiting,
            "median_s": _seconds(looked.median_ms), "nine_tenths_s": _seconds(looked.most_ms),
            "not_known": looked.unknown,
        },
        "priorities": {
            p: {"warnings": n, "share_pct": _rounded(100 * n / figures.given if figures.given else None)}
            for p, n in figures.priorities.items()
        },
        "hushed": {
            key: {"stretches": one.count, "s": one.total_ms / 1000, "longest_s": one.longest_ms / 1000,
                  "lasting": one.lasting}
            for key, one in zip(("silent", "off", "out_of_use", "no_reading"), figures.hushed, strict=True)
        },
        "compared": [
            {**asdict(one), "value": _rounded(one.value), "guide": list(one.guide)} for one in compared(figures)
        ],
        "guide": {key: {**asdict(figure), "grade": str(figure.grade)} for key, figure in guide.FIGURES.items()},
    }  # fmt: skip


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, PLACES)


def _iso(at_ms: int | None) -> str | None:
    return None if at_ms is None else iso(at_ms)


def _seconds(ms: int | None) -> float | None:
    return None if ms is None else ms / 1000


def _peak(found: Peak) -> dict[str, Any]:
    return {"warnings": found.most, "from": _iso(found.from_ms)}


def _often(one: Often, given: int) -> dict[str, Any]:
    share = _rounded(100 * one.count / given)
    return {"sheet": one.sheet, "limit": one.limit, "channel": one.channel, "warnings": one.count, "share_pct": share}


def _key(key: Key) -> dict[str, str]:
    return dict(zip(("step", "limit", "channel"), key, strict=True))
