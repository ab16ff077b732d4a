"""Which channels and which period a step, or a wish for a period, means."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING

from monitor.bench.quantities import split_channel
from monitor.clock import iso
from monitor.errors import BadInput
from monitor.report.record import Row, StepRecord, read_step

if TYPE_CHECKING:
    from monitor.store.store import Store

ROOM_QUANTITIES = ("air_temperature", "relative_humidity")


@dataclass(frozen=True)
class Selection:
    """What to take from the store.

    Attributes:
        channels: names, sorted.
        from_ms, to_ms: UTC ms; the end itself is left out.
        step: the step it was made for, or None for a period.
        bench: the step's bench, or None.
    """

    channels: tuple[str, ...]
    from_ms: int
    to_ms: int
    step: str | None = None
    bench: str | None = None


def of_period(store: Store, from_ms: int, to_ms: int) -> Selection:
    """Take every channel over a period; BadInput unless it ends after it begins."""
    if to_ms <= from_ms:
        found = f"from {iso(from_ms)} to {iso(to_ms)}"
        raise BadInput("period", found, "an end after the beginning", "Exchange --from and --to.")
    return Selection(tuple(sorted(c.channel for c in store.channels())), from_ms, to_ms)


def of_step(store: Store, step: str) -> Selection:
    """Take the channels bound to a step and the air about its bench, from its start to its end.

    A step that still runs ends with the newest event or reading that has a time.

    Raises:
        BadInput: there is no such step, or it was begun before the board knew the time.
    """
    return selection_of(store, step_record(store, step))


def selection_of(store: Store, record: StepRecord) -> Selection:
    """Take what a step's record means; as `of_step`."""
    if record.from_ms is None:
        raise BadInput(
            f"step {record.step}", "the board did not know the time when it began", "a step with a date",
            "Set the board's time; the step is dated then. Ask again.",
        )  # fmt: skip
    bound = {channel for binding in record.bindings for channel in binding.channels}
    here = [c.channel for c in store.channels() if c.bench == record.bench]
    air = {name for name in here if split_channel(name)[1] in ROOM_QUANTITIES}
    to_ms = _newest_ms(store, record.from_ms) if record.to_ms is None else record.to_ms
    channels = tuple(sorted(bound | air))
    # the instant of the last event belongs to the step
    return Selection(channels, record.from_ms, max(to_ms, record.from_ms) + 1, record.step, record.bench)


def step_record(store: Store, step: str) -> StepRecord:
    """Read a step from the day-book; BadInput when there is none of that name."""
    rows = list(store.daybook(step=step))
    record = read_step(step, rows)
    if not record.title:
        known = [str(row["step"]) for row in store.daybook(kinds=["step_started"], newest_first=True, limit=5)]
        raise BadInput(
            f"step {step!r}", "not in the day-book", f"one of {', '.join(known) or '(none yet)'}",
            "List the steps with `benchblotter steps`.",
        )  # fmt: skip
    number = record.painting.get("number")
    for row in store.daybook(kinds=["painting_added"]) if number else ():
        if row["body"]["number"] == number:
            record.painting = row["body"]
    return record


def _newest_ms(store: Store, otherwise_ms: int) -> int:
    event = next((row["at_ms"] for row in store.daybook(newest_first=True, limit=20) if row["at_ms"]), otherwise_ms)
    newest = store.newest_segment()
    reading = newest[0].at_ms(newest[1]) if newest is not None else None
    return max(int(event), reading if reading is not None else otherwise_ms)


def rows_of(store: Store, selection: Selection) -> list[Row]:
    """Give the day-book rows that belong to a selection, in order.

    For a step: its own rows, and between its first and its last row what the station wrote of
    itself, of the probes taken, and of warnings on them in watches without a painting (the room).
    Other paintings, and notes that belong to no step, stay out. For a period: every row dated in it.
    """
    if selection.step is None:
        return [row for row in store.daybook() if _within(row, selection)]
    own = list(store.daybook(step=selection.step))
    first = own[0]["seq"]
    last = own[-1]["seq"] if any(row["kind"] == "step_finished" for row in own) else None
    watches = watches_of(store)
    others = [
        row
        for row in takewhile(lambda row: last is None or row["seq"] < last, store.daybook(after_seq=first))
        if row["step"] != selection.step and _concerns(row, watches, selection)
    ]
    return sorted([*own, *others], key=lambda row: int(row["seq"]))


def _within(row: Row, selection: Selection) -> bool:
    return row["at_ms"] is not None and selection.from_ms <= row["at_ms"] < selection.to_ms


def watches_of(store: Store) -> set[str]:
    """Name the steps without a painting: the watches of the room."""
    return {row["step"] for row in store.daybook(kinds=["step_started"]) if row["body"]["painting"] is None}


def _concerns(row: Row, watches: set[str], selection: Selection) -> bool:
    channel = row["body"].get("channel")
    if channel is not None:
        return channel in selection.channels and (row["step"] is None or row["step"] in watches)
    return row["step"] is None and not row["kind"].startswith(("painting_", "note_"))
