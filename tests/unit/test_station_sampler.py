"""Deadlines on a fixed grid, reads that fail in every way, and what they become."""

from __future__ import annotations

import asyncio
from concurrent.futures import Future
from dataclasses import dataclass, field

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.bench.readings import Quality
from monitor.probes.probe import Probe, Sample
from monitor.probes.wired import on_grid
from monitor.station.sampler import Schedule, Value, read_together


def test_probes_due_at_one_deadline_are_named_together() -> None:
    schedule = Schedule({"room": 1000, "spatula": 200}, 0)
    assert schedule.due(0) == ["room", "spatula"]
    assert schedule.next_deadline() == 200
    assert [schedule.due(t) for t in (200, 400, 600, 800)] == [["spatula"]] * 4
    assert schedule.due(1000) == ["room", "spatula"]


def test_missed_deadlines_are_skipped_and_never_bunched() -> None:
    schedule = Schedule({"spatula": 200}, 0)
    assert schedule.due(0) == ["spatula"]
    assert schedule.due(1_050) == ["spatula"]
    assert schedule.due(1_060) == []
    assert schedule.next_deadline() == 1_200


@given(
    st.lists(st.integers(0, 5_000), min_size=1).map(sorted),
    st.integers(1, 700),
    st.integers(0, 50),
)
def test_a_deadline_always_lies_on_the_grid_and_ahead(looks: list[int], interval: int, start: int) -> None:
    schedule = Schedule({"p": interval}, start)
    for now in looks:
        was = schedule.next_deadline()
        assert was is not None
        assert schedule.due(now) == (["p"] if was <= now else [])
        following = schedule.next_deadline()
        assert following is not None
        assert following > now or not was <= now
        assert (following - start) % interval == 0


def test_no_probes_no_deadline() -> None:
    assert Schedule({}, 0).next_deadline() is None


@pytest.mark.parametrize(
    ("quantity", "value", "kept"),
    [
        ("relative_humidity", 52.128, 52.13),
        ("air_temperature", -0.004, 0.0),
        ("tool_temperature", 78.0039, 78.0),
        ("tool_temperature", 78.00391, 78.0078125),
        ("pressure", 101_325.4, 101_325.0),
    ],
)
def test_values_lie_on_the_quantitys_grid(quantity: str, value: float, kept: float) -> None:
    assert on_grid(quantity, value) == kept
    assert on_grid(quantity, kept) == kept


@dataclass
class Told:
    """A probe that gives what it is told."""

    name: str = "room"
    quantities: tuple[str, ...] = ("air_temperature", "relative_humidity")
    source: str = "simulated"
    serial: str = ""
    samples: list[Sample] = field(default_factory=list)
    error: Exception | None = None

    def read(self) -> list[Sample]:
        if self.error:
            raise self.error
        return self.samples


class AtOnce:
    """A worker that reads in the caller's thread; a probe named in `hung` never answers."""

    def __init__(self, *hung: str) -> None:
        self.hung = hung
        self.replaced = 0

    def submit(self, probe: Probe) -> Future[list[Sample]]:
        future: Future[list[Sample]] = Future()
        if probe.name not in self.hung:
            try:
                future.set_result(probe.read())
            except Exception as error:
                future.set_exception(error)
        return future

    def replace(self) -> None:
        self.replaced += 1


def read(worker: AtOnce, *probes: Told) -> list[Value]:
    return asyncio.run(read_together(worker, probes, 0.02))


def test_a_read_gives_each_quantity_on_its_grid() -> None:
    probe = Told(
        samples=[Sample("relative_humidity", 52.128, Quality.GOOD), Sample("air_temperature", 20.0, Quality.GOOD)]
    )
    assert read(AtOnce(), probe) == [
        Value("room.air_temperature", 20.0, Quality.GOOD),
        Value("room.relative_humidity", 52.13, Quality.GOOD),
    ]


def test_a_clipped_reading_keeps_its_bound() -> None:
    probe = Told(quantities=("relative_humidity",), samples=[Sample("relative_humidity", 100.0, Quality.CLIPPED)])
    assert read(AtOnce(), probe) == [Value("room.relative_humidity", 100.0, Quality.CLIPPED)]


@pytest.mark.parametrize(
    ("sample", "quality"),
    [
        (Sample("air_temperature", None, Quality.CHECKSUM), Quality.CHECKSUM),
        (Sample("air_temperature", 20.0, Quality.OPEN), Quality.OPEN),
        (Sample("air_temperature", None, Quality.GOOD), Quality.BUS),
        (Sample("air_temperature", float("nan"), Quality.GOOD), Quality.OUT_OF_RANGE),
        (Sample("air_temperature", float("inf"), Quality.GOOD), Quality.OUT_OF_RANGE),
        (Sample("relative_humidity", 50.0, Quality.GOOD), Quality.BUS),
    ],
)
def test_what_cannot_be_a_value_is_a_gap_with_its_reason(sample: Sample, quality: Quality) -> None:
    probe = Told(quantities=("air_temperature",), samples=[sample])
    assert read(AtOnce(), probe) == [Value("room.air_temperature", None, quality)]


def test_a_read_that_raises_is_a_gap(caplog: pytest.LogCaptureFixture) -> None:
    probe = Told(quantities=("air_temperature",), error=RuntimeError("driver lost its way"))
    assert read(AtOnce(), probe) == [Value("room.air_temperature", None, Quality.BUS)]
    assert "driver lost its way" in caplog.text


def test_a_read_that_hangs_is_a_gap_its_neighbours_are_read_and_the_thread_is_replaced(
    caplog: pytest.LogCaptureFixture,
) -> None:
    well = Told("well", ("mass",), samples=[Sample("mass", 3.0, Quality.GOOD)])
    sick = Told("sick", ("mass",))
    worker = AtOnce("sick")
    assert read(worker, sick, well) == [Value("sick.mass", None, Quality.BUS), Value("well.mass", 3.0, Quality.GOOD)]
    assert worker.replaced == 1
    assert "no answer from sick" in caplog.text
