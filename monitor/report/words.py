"""Instants, stretches and figures as a person writes them."""

from __future__ import annotations

import re
from collections.abc import Iterable
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

_SILENT = re.compile(r"no reading from the tool for (\d+(?:\.\d+)?) s")


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
    """Write how long something lasted in whole seconds, so that several can be added up."""
    if 0 < milliseconds < 1000:
        return "under 1 s"
    whole = round(milliseconds / 1000)
    if whole < 120:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    if minutes >= 120:
        return f"{minutes // 60} h {minutes % 60} min"
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def degrees(value: float | None) -> str:
    """Write a temperature or a humidity in whole units, without the unit; "" where there is none."""
    return "" if value is None else f"{round(value)}"


def numbers(some: Iterable[int]) -> str:
    """Write whole numbers in order, runs of three and more by their ends: `1, 3 to 6 and 9`."""
    parts: list[str] = []
    for run in _runs(sorted(set(some))):
        parts += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else [str(n) for n in run]
    return " and ".join([", ".join(parts[:-1]), parts[-1]]) if len(parts) > 1 else "".join(parts)


def _runs(some: list[int]) -> list[list[int]]:
    runs: list[list[int]] = []
    for number in some:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return runs


def plain_reason(reason: str) -> str:
    """Say a verdict's reason without parts of a second, which no one can follow by hand."""
    return _SILENT.sub(lambda m: _silence(float(m[1])), reason)


def _silence(silent_s: float) -> str:
    return "a reading was missing" if silent_s < 1 else f"no reading from the tool for {round(silent_s)} s"


def figure(value: str | float | None, symbol: str, places: int = 1) -> str:
    """Write a value with its unit, without zeros that say nothing."""
    if value is None:
        return "not known"
    text = f"{float(value):.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{'0' if text == '-0' else text} {symbol}"
