"""What was outside the limits set, from the day-book's warnings."""

from __future__ import annotations

from dataclasses import dataclass, replace

from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.report.record import Row
from monitor.report.words import When, figure


@dataclass(frozen=True)
class Outside:
    """One warning from its raising to its return.

    Attributes:
        step, limit, channel: its identity.
        quantity, side, at: what was set; `at` in the quantity's unit.
        worst: the value told when a level was passed, the furthest of them.
        from_ms, to_ms: UTC ms; `to_ms` None while it stands.
        priority, source, grade, locator: of the gravest level.
        seen_by, seen_ms: who saw it and when, or "" and None.
    """

    step: str
    limit: str
    channel: str
    quantity: str
    side: str
    at: float
    worst: float
    from_ms: int | None
    to_ms: int | None
    priority: str
    source: str
    grade: str
    locator: str
    seen_by: str = ""
    seen_ms: int | None = None


def read_outside(rows: list[Row]) -> list[Outside]:
    """Pair warnings with their returns, in the order they were raised."""
    open_now: dict[tuple[str, str, str], int] = {}
    found: list[Outside] = []
    for row in rows:
        body = row["body"]
        key = (body.get("step", ""), body.get("limit", ""), body.get("channel", ""))
        if row["kind"] == "alarm_raised":
            if key in open_now:
                found[open_now[key]] = _graver(found[open_now[key]], row)
            else:
                open_now[key] = len(found)
                found.append(_raised(row))
        elif row["kind"] == "alarm_returned" and key in open_now:
            found[open_now.pop(key)] = replace(_last(found, key), to_ms=row["at_ms"])
        elif row["kind"] == "alarm_seen" and any(_key(o) == key for o in found):
            place = max(i for i, o in enumerate(found) if _key(o) == key)
            found[place] = replace(found[place], seen_by=row["by"] or "", seen_ms=row["at_ms"])
    return found


def _key(one: Outside) -> tuple[str, str, str]:
    return one.step, one.limit, one.channel


def _last(found: list[Outside], key: tuple[str, str, str]) -> Outside:
    return next(one for one in reversed(found) if _key(one) == key)


def _raised(row: Row) -> Outside:
    body = row["body"]
    return Outside(
        body["step"], body["limit"], body["channel"], body["quantity"], body["side"], float(body["at"]),
        float(body["value"]), row["at_ms"], None, body["priority"], body["source"], body["grade"], body["locator"],
    )  # fmt: skip


def _graver(before: Outside, row: Row) -> Outside:
    now = _raised(row)
    pick = max if now.side == "high" else min
    return replace(now, from_ms=before.from_ms, worst=pick(before.worst, now.worst), seen_by=before.seen_by,
                   seen_ms=before.seen_ms)  # fmt: skip


def outside_sentence(one: Outside, when: When) -> str:
    """Say one warning as a sentence."""
    quantity = QUANTITIES[one.quantity]
    probe = split_channel(one.channel)[0]
    beyond = "above" if one.side == "high" else "below"
    until = f"to {when.time(one.to_ms)}" if one.to_ms is not None else "and still at the end"
    by = f" by {one.seen_by}" if one.seen_by else ""
    seen = f"Seen {when.time(one.seen_ms)}{by}." if one.seen_ms is not None else "Not marked as seen."
    return (
        f"Warned {when.time(one.from_ms)} {until}: {quantity.words} ({probe}) {figure(one.worst, quantity.symbol)}, "
        f"{beyond} the {figure(one.at, quantity.symbol)} set. {seen}"
    )
