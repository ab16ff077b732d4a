"""A story's whole record, written again into each kind of store: the same rows, hashes and readings."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from monitor.bench.outputs import Draft, Estimate
from monitor.bench.readings import Reading
from monitor.store.batch import Batch
from monitor.store.declaring import Series
from monitor.store.integrity import check
from monitor.store.store import Store
from tests.support.stories import StoryRun

EVER = 2**53


@pytest.mark.long
def test_a_story_reads_the_same_from_either_store(
    story_run: Callable[[str], StoryRun], open_place: Callable[..., Store]
) -> None:
    played = Store.open(story_run("strip-lining").data, read_only=True)
    again = open_place()
    try:
        _copy(played, again)
        rows = list(played.daybook())
        assert len(rows) > 50
        assert list(again.daybook()) == rows
        for channel in played.channels():
            stored = list(played.readings(channel.name, 0, EVER))
            assert stored
            assert list(again.readings(channel.name, 0, EVER)) == stored
            span = stored[0].at_ms, stored[-1].at_ms + 1
            assert again.envelope(channel.name, *span) == played.envelope(channel.name, *span)
        assert again.steps() == played.steps()
        for step in played.steps():
            assert again.contacts(step.step) == played.contacts(step.step)
            assert again.bindings(step.step) == played.bindings(step.step)
            assert [tuple(row) for row in again.estimates(step.step)] == [
                tuple(row) for row in played.estimates(step.step)
            ]
        assert list(again.inputs()) == list(played.inputs())
        assert check(played) == []
        assert check(again) == []
    finally:
        played.close()


def _copy(played: Store, again: Store) -> None:
    """Write a played store's record into another as a station would, boot by boot."""
    segments = {segment.segment: segment for segment in played.segments()}
    for boot in sorted({segment.boot for segment in segments.values()}):
        assert again.begin_boot(played.board, f"boot {boot}", None, 1, "0.1.0") == boot
        again.declare_series([
            Series(c.bench or "", c.probe, "x", (c.quantity,), c.interval_ms, c.source) for c in played.channels()
        ])  # fmt: skip
        for number, segment in segments.items():
            if segment.boot == boot:
                again.write(_batch(played, number, segments))
    for step in played.steps():
        for row in played.estimates(step.step):
            again.write(Batch(segments[row.segment], estimates=[_estimate(row)]))


def _batch(played: Store, number: int, segments: dict[int, Any]) -> Batch:
    segment = segments[number]
    readings = [
        Reading(row.at_ms - segment.offset_ms, channel.name, row.value, row.quality)
        for channel in played.channels()
        for row in played.readings(channel.name, 0, EVER)
        if row.segment == number
    ]
    drafts = [
        Draft(row["kind"], row["mono_ms"], row["body"], row["step"], row["bench"], row["by"], row["via"])
        for row in played.daybook()
        if row["segment"] == number
    ]
    return Batch(segment, readings, drafts)


def _estimate(row: Any) -> Estimate:
    return Estimate(
        row.mono_ms, row.step, row.side, row.place, row.pass_no, row.depth, row.p05, row.p50, row.p95, row.p_reached
    )
