"""Instants, stretches and figures as a person writes them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo

# what the driver knew, as a cause a person can act on
QUALITY_WORDS = {
    "absent": "the probe did not answer",
    "bus": "the bus failed",
    "checksum": "the answer was garbled",
    "open": "a lead was open",
    "shorted": "a lead was shorted",
    "out of range": "the reading was beyond the probe's range",
    "reset": "the chip had started anew",
}


@dataclass(frozen=True)
class When:
    """Writes instants in one zone.

    Args:
        zone: of the printed times.
        zone_words: its name in print.
    """

    zone: tzinfo = UTC
    zone_words: str = "UTC"

    def day(self, at_ms: int | None) -> str:
        """Write a day, for instance 4 May 2026."""
        if at_ms is None:
            return "time not set"
        stamp = datetime.fromtimestamp(at_ms / 1000, self.zone)
        return f"{stamp.day} {stamp:%B %Y}"

    def time(self, at_ms: int | None) -> str:
        """Write a time of day to the second."""
        return "time not set" if at_ms is None else f"{datetime.fromtimestamp(at_ms // 1000, self.zone):%H:%M:%S}"

    def stretch(self, from_ms: int | None, to_ms: int | None) -> str:
        """Write a stretch with the day once, or twice when it goes past midnight."""
        if to_ms is None:
            return f"{self.day(from_ms)}, from {self.time(from_ms)}, still running"
        first, last = self.day(from_ms), self.day(to_ms)
        end = self.time(to_ms) if first == last else f"{last}, {self.time(to_ms)}"
        return f"{first}, {self.time(from_ms)} to {end}"


def seconds(milliseconds: int) -> str:
    """Write how long something lasted: seconds, then minutes, then hours."""
    if milliseconds < 120_000:
        return f"{milliseconds / 1000:.1f} s" if milliseconds < 10_000 else f"{milliseconds / 1000:.0f} s"
    minutes = round(milliseconds / 60_000)
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60} min"


def figure(value: str | float | None, symbol: str, places: int = 1) -> str:
    """Write a value with its unit, without zeros that say nothing."""
    if value is None:
        return "not known"
    text = f"{float(value):.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{'0' if text == '-0' else text} {symbol}"
