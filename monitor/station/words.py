"""The plain words of screens for qualities, figures and spans of time."""

from __future__ import annotations

from monitor.bench.events import decimal
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.bench.readings import Quality

STALE = "stale"

FAULTS: dict[str, tuple[str, str]] = {
    Quality.ABSENT.word: ("does not answer", "Look at its lead and its plug."),
    Quality.BUS.word: ("cannot be read", "Look at its lead and its plug; then start the station again."),
    Quality.CHECKSUM.word: (
        "sends words that are garbled on the way",
        "Shorten its lead, or keep it off mains cables.",
    ),
    Quality.OPEN.word: ("has an open lead", "Look at its plug and at the wire up to the tip."),
    Quality.SHORTED.word: ("has a lead with a short", "Look at its plug, and for a crushed or wet lead."),
    Quality.OUT_OF_RANGE.word: ("reads beyond its range", "Look where it is and whether it is damaged."),
    Quality.RESET.word: ("has started anew by itself", "Look at its plug and its supply if it happens again."),
    STALE: ("has fallen silent", "Look at its lead and its plug."),
}


def fault_words(quality: str) -> tuple[str, str]:
    """Give what is wrong with a probe, to follow its name, and what to do."""
    return FAULTS.get(quality, (f"gives no reading ({quality})", "Look at its lead and its plug."))


def figure(quantity: str, value: float) -> str:
    """Write a value with its symbol, in whole units but for small differences: `78 °C`, `52 %`, `-2.0 °C`."""
    known = QUANTITIES[quantity]
    return f"{decimal(value, known.decimals)} {known.symbol}"


def span(milliseconds: int) -> str:
    """Write a stretch of time in words: `45 s`, `6 min`, `2 h 05 min`."""
    seconds = round(milliseconds / 1000)
    if seconds < 120:
        return f"{seconds} s"
    minutes = seconds // 60
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60:02d} min"


def probe_of(channel: str) -> str:
    """Give the name of a channel's probe."""
    return split_channel(channel)[0]


def sentence(text: str) -> str:
    """Begin a sentence with a capital."""
    return text[:1].upper() + text[1:]
