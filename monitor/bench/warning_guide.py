"""What a guide for control rooms holds to be manageable of warnings, each figure with how it is known.

The guide, EEMUA 191, could not be read: `cited` is what other texts say it says, `recalled` what is
remembered of it or of the standard ISA-18.2. A studio is no control room; the figures are a yardstick.
"""

from __future__ import annotations

from monitor.figures import Figure, Grade

MINUTE_MS = 60_000
TEN_MINUTES_MS = 10 * MINUTE_MS
HOUR_MS = 60 * MINUTE_MS
DAY_MS = 24 * HOUR_MS


def _cited(value: float, unit: str, locator: str, note: str = "") -> Figure:
    return Figure(value, unit, "eemua-191", Grade.CITED, locator, note)


def _recalled(value: float, unit: str, note: str, low: float | None = None, high: float | None = None) -> Figure:
    return Figure(value, unit, "memory", Grade.RECALLED, note=note, low=low, high=high)


def _ours(value: float, unit: str, note: str) -> Figure:
    return Figure(value, unit, "project", Grade.PROPOSAL, note=note)


AVERAGE_ABOUT = _cited(1, "per 10 min", "average rate, acceptable", "another text gives 120 a day, not 144")
AVERAGE_MOST = _cited(2, "per 10 min", "average rate, the most that is manageable")
PEAK_MINUTE = _cited(2, "per min", "peak in one minute")
PEAK_HOUR = _cited(15, "per h", "peak in one hour")
FLOOD_ABOVE = _cited(10, "per 10 min", "flood", "a flood begins with the eleventh")
FLOOD_BELOW = _recalled(5, "per 10 min", "a flood ends when fewer come, as ISA-18.2, clause 16, is remembered")
FLOOD_SHARE = _cited(1, "%", "share of time in flood")
FREQUENT_SHARE = _recalled(5, "%", "the ten most frequent of all", low=1, high=5)
CHATTER_TIMES = _cited(3, "times", "chattering, into warning so often or oftener")
CHATTER_WITHIN = _cited(60, "s", "chattering, within this time")
CHATTER_QUIET = _ours(120, "s", "what comes and goes is over when quiet for twice the time of the criterion")
FLEETING_WITHIN = _ours(10, "s", "the texts say `within seconds`")
FLEETING_AGAIN = _ours(60, "s", "the texts say `does not repeat at once`")
STANDING_OVER = _cited(24, "h", "standing, active for longer")
STANDING_MOST = _recalled(5, "warnings", "fewer than this on any day")
PRIORITY_LOW = _cited(80, "%", "share of low priority, about")
PRIORITY_MEDIUM = _cited(15, "%", "share of medium priority, about")
PRIORITY_HIGH = _cited(5, "%", "share of high priority, about")

FIGURES: dict[str, Figure] = {
    "warnings.average.about": AVERAGE_ABOUT,
    "warnings.average.most": AVERAGE_MOST,
    "warnings.peak.minute": PEAK_MINUTE,
    "warnings.peak.hour": PEAK_HOUR,
    "warnings.flood.above": FLOOD_ABOVE,
    "warnings.flood.below": FLOOD_BELOW,
    "warnings.flood.share": FLOOD_SHARE,
    "warnings.frequent.share": FREQUENT_SHARE,
    "warnings.chattering.times": CHATTER_TIMES,
    "warnings.chattering.within": CHATTER_WITHIN,
    "warnings.chattering.quiet": CHATTER_QUIET,
    "warnings.fleeting.within": FLEETING_WITHIN,
    "warnings.fleeting.again": FLEETING_AGAIN,
    "warnings.standing.over": STANDING_OVER,
    "warnings.standing.most": STANDING_MOST,
    "warnings.priority.low": PRIORITY_LOW,
    "warnings.priority.medium": PRIORITY_MEDIUM,
    "warnings.priority.high": PRIORITY_HIGH,
}
"""Where a figure stands among the sources -> the figure."""


def value(figure: Figure) -> float:
    """Give the number of a figure of the guide; each has one."""
    assert figure.value is not None
    return figure.value
