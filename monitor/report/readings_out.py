"""Readings written as CSV: the same bytes for an export, for a report and for every repeat."""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from monitor.bench.quantities import split_channel
from monitor.bench.readings import Quality
from monitor.probes.readings_csv import HEADER, format_row
from monitor.report.selection import Selection

if TYPE_CHECKING:
    from monitor.store.store import Store


def write(where: Path | TextIO, store: Store, selection: Selection) -> int:
    """Write a selection's readings as CSV, oldest first and by channel within an instant.

    Args:
        where: file to make, or an open text file that keeps line ends as given.
        store: whence they come.
        selection: channels and period.

    Returns:
        How many rows were written; the header is not counted.
    """
    if isinstance(where, Path):
        with where.open("w", encoding="utf-8", newline="") as out:
            return write(out, store, selection)
    where.write(HEADER + "\n")
    count = 0
    for line in lines(store, selection):
        where.write(line + "\n")
        count += 1
    return count


def lines(store: Store, selection: Selection) -> Iterator[str]:
    """Give the rows one by one; only one reading a channel is held at a time."""
    for at_ms, channel, value, quality in heapq.merge(
        *(_of_channel(store, channel, selection) for channel in selection.channels), key=lambda row: row[:2]
    ):
        probe, quantity = split_channel(channel)
        yield format_row(at_ms, probe, quantity, value, Quality(quality))


def _of_channel(store: Store, channel: str, selection: Selection) -> Iterator[tuple[int, str, float | None, int]]:
    for at_ms, _segment, value, quality in store.readings(channel, selection.from_ms, selection.to_ms):
        yield at_ms, channel, value, quality
