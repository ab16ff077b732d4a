"""Limits to begin a question with: those of steps in the day-book, and those of the working sheets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dashboard.past import Readable
from dashboard.words import set_value
from monitor.bench.quantities import QUANTITIES, split_channel

if TYPE_CHECKING:
    from monitor.bench.sheets import Limit, Sheet

STEPS = 20
SIDE_WORDS = {"high": "at most", "low": "at least"}


@dataclass(frozen=True)
class Start:
    """Values to begin with.

    Attributes:
        title: what it is, for instance `tool temperature at most 85 °C`, and whose.
        quantity, side, at, deadband, on_s, off_s: as they fill the fields.
        channel: the channel it judged, "" for one of a sheet.
    """

    title: str
    quantity: str
    side: str
    at: str
    deadband: str
    on_s: str
    off_s: str
    channel: str = ""


def of_steps(store: Readable, most: int = STEPS) -> list[Start]:
    """List the limits on what was measured of the newest steps, each set of values once."""
    titles = {row["step"]: row["body"] for row in store.daybook(kinds=["step_started"])}
    found: dict[tuple[str, ...], Start] = {}
    for row in store.daybook(kinds=["step_asked"], newest_first=True, limit=most):
        body = row["body"]
        started = titles.get(body["step"], {})
        painting, title = started.get("painting"), started.get("title", body["sheet"]["key"])
        for start in _of_step(body, f"{painting}: {title}" if painting else title):
            values = (start.channel, start.side, start.at, start.deadband, start.on_s, start.off_s)
            found.setdefault(values, start)
    return list(found.values())


def _of_step(body: dict[str, Any], whose: str) -> Iterator[Start]:
    for limit in body["sheet"]["limits"].values():
        channels = [c for b in body["bindings"] if b["role"] == limit["role"] for c in b["channels"]]
        for channel in channels:
            if split_channel(channel)[1] == limit["quantity"]:
                for level in limit["levels"]:
                    told = _values(limit, float(level["at"]))
                    yield Start(f"{_words(told)}, {split_channel(channel)[0]} ({whose})", **told, channel=channel)


def _values(limit: dict[str, Any], at: float) -> dict[str, str]:
    on_s, off_s = (limit.get(key, 0) / 1000 for key in ("on_delay_ms", "off_delay_ms"))
    return {
        "quantity": limit["quantity"], "side": limit["side"], "at": set_value(at),
        "deadband": set_value(float(limit.get("deadband", 0))), "on_s": set_value(on_s), "off_s": set_value(off_s),
    }  # fmt: skip


def _words(told: dict[str, str]) -> str:
    known = QUANTITIES[told["quantity"]]
    return f"{known.words} {SIDE_WORDS[told['side']]} {told['at']} {known.symbol}"


def of_sheets(sheets: Iterable[Sheet]) -> tuple[Start, ...]:
    """List the limits of working sheets on what a probe measures itself, by title."""
    return tuple(
        Start(f"{_words(told)} ({sheet.title})", **told)
        for sheet in sorted(sheets, key=lambda sheet: sheet.title)
        for limit in sheet.limits.values()
        if not QUANTITIES[limit.quantity].derived
        for told in _levels(limit)
    )


def _levels(limit: Limit) -> list[dict[str, str]]:
    return [_values(limit.as_json(), level.at) for level in limit.levels]
