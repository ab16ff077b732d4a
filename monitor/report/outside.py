"""Warnings as they stood, level by level, from the day-book's own rows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from monitor.report.record import Row
from monitor.report.selection import Selection, watches_of

if TYPE_CHECKING:
    from monitor.store.store import Store

Key = tuple[str, str, str]
WARNINGS = (
    "alarm_raised", "alarm_eased", "alarm_returned", "alarm_seen", "alarm_shelved", "alarm_suppressed",
    "alarm_unshelved", "alarm_out_of_service", "alarm_released",
)  # fmt: skip
HUSHED = {
    "alarm_shelved": "silent",
    "alarm_suppressed": "off",
    "alarm_out_of_service": "probe not in use",
}
HEARD = ("alarm_unshelved", "alarm_released")


@dataclass(frozen=True)
class Outside:
    """One level of one warning, from the row that began it to the row that ended it.

    Attributes:
        step, limit, channel: whose warning it is.
        quantity, side, at: what was set; `at` in the quantity's unit.
        value: what was read when it was raised, in that unit, or None.
        from_ms, to_ms: UTC ms; `to_ms` None while it stands.
        ended: "" when readings came back, else what it was from then on.
        seen_by, seen_ms: who saw it and when, or "" and None.
    """

    step: str
    limit: str
    channel: str
    quantity: str
    side: str
    at: float
    value: float | None
    from_ms: int | None
    to_ms: int | None = None
    ended: str = ""
    seen_by: str = ""
    seen_ms: int | None = None
    open: bool = True

    @property
    def key(self) -> Key:
        """Give the warning it is a level of."""
        return self.step, self.limit, self.channel


@dataclass(frozen=True)
class Hush:
    """A stretch in which a warning could not be given.

    Attributes:
        step, channel, limit: whose warning.
        words, reason, by: what it was, why, and who asked for it ("" for the station).
        from_ms, to_ms: UTC ms; `to_ms` None while it lasts.
    """

    step: str
    limit: str
    channel: str
    words: str
    reason: str
    by: str
    from_ms: int | None
    to_ms: int | None = None


def warning_rows(store: Store, selection: Selection, rows: list[Row]) -> list[Row]:
    """Give the rows of `rows` that tell of warnings, and before them those of the watches of the room.

    A warning of the room may stand when a step begins.
    """
    some = [row for row in rows if row["kind"] in WARNINGS]
    first = rows[0]["seq"] if rows else 0
    watches = watches_of(store) - {selection.step or ""}
    before = [
        row
        for row in (store.daybook(kinds=WARNINGS) if watches else ())
        if row["seq"] < first and row["step"] in watches and row["body"]["channel"] in selection.channels
    ]
    return [*before, *some]


def read_outside(rows: list[Row], from_ms: int = 0) -> list[Outside]:
    """Read warnings level by level, in the order they were raised.

    A graver level stands beside the milder one, which it does not end; easing ends the graver
    alone. Seen is whatever of the warning had been raised and not been seen. What had ended
    before `from_ms` is left out.
    """
    found: list[Outside] = []
    for row in rows:
        kind, key = row["kind"], _key(row)
        if kind == "alarm_raised":
            _raise(found, row)
        elif kind == "alarm_eased":
            _ease(found, key, float(row["body"]["at"]), row["at_ms"])
        elif kind == "alarm_returned" or kind in HUSHED:
            _end(found, key, row["at_ms"], _hush(row))
        elif kind == "alarm_seen":
            _see(found, key, row)
    return [one for one in found if one.to_ms is None or one.to_ms >= from_ms]


def read_hushes(rows: list[Row], from_ms: int = 0) -> list[Hush]:
    """Read when warnings were silent, off or their probe not in use; what ended before `from_ms` is left out."""
    found: list[Hush] = []
    for row in rows:
        running = [i for i, one in enumerate(found) if one.to_ms is None and _key(row) == _whose(one)]
        if row["kind"] in HUSHED:
            reason = row["body"].get("reason", "")
            found.append(Hush(*_key(row), _hush(row), reason, row["by"] or "", row["at_ms"]))
        if row["kind"] in HUSHED or row["kind"] in HEARD:
            for index in running:
                found[index] = replace(found[index], to_ms=row["at_ms"])
    return [one for one in found if one.to_ms is None or one.to_ms >= from_ms]


def _hush(row: Row) -> str:
    """Say how a row puts a warning off; "" for one that does not."""
    return "not read" if row["body"].get("cause") == "no reading" else HUSHED.get(row["kind"], "")


def _whose(one: Hush) -> Key:
    return one.step, one.limit, one.channel


def _key(row: Row) -> Key:
    body = row["body"]
    return body.get("step", ""), body.get("limit", ""), body.get("channel", "")


def _raise(found: list[Outside], row: Row) -> None:
    body = row["body"]
    value = None if body["value"] is None else float(body["value"])
    new = Outside(*_key(row), body["quantity"], body["side"], float(body["at"]), value, row["at_ms"])
    if not any(one.open and one.key == new.key and one.at == new.at for one in found):
        found.append(new)


def _ease(found: list[Outside], key: Key, at: float, at_ms: int | None) -> None:
    standing = [one for one in found if one.open and one.key == key]
    graver = [one for one in standing if (one.at > at if one.side == "high" else one.at < at)]
    _end(found, key, at_ms, "", only=graver)
    if graver and all(one.at != at for one in standing):
        # the first row told the graver level at once; the milder had been passed with it
        found.append(replace(graver[0], at=at))


def _end(found: list[Outside], key: Key, at_ms: int | None, why: str, only: list[Outside] | None = None) -> None:
    for index, one in enumerate(found):
        if one.open and one.key == key and (only is None or one in only):
            found[index] = replace(one, to_ms=at_ms, ended=why, open=False)


def _see(found: list[Outside], key: Key, row: Row) -> None:
    for index, one in enumerate(found):
        if one.key == key and one.seen_ms is None:
            found[index] = replace(one, seen_by=row["by"] or "", seen_ms=row["at_ms"])
