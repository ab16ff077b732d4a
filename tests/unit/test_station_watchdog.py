"""The service manager is told only what is so; the wall clock is believed only where it can be right."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.clock import Segment, SimulatedClock
from monitor.station.clock_watch import EARLIEST_MS, ClockWatch
from monitor.station.notify import PARTS, Watchdog, notify


@pytest.fixture
def manager(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.bind(str(tmp_path / "n"))
        listening.setblocking(False)
        monkeypatch.setenv("NOTIFY_SOCKET", str(tmp_path / "n"))
        yield listening


def test_a_line_reaches_the_service_manager(manager: socket.socket) -> None:
    notify("READY=1")
    assert manager.recv(100) == b"READY=1"


def test_without_a_service_manager_nothing_is_sent(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    notify("READY=1")


@pytest.mark.parametrize("missing", PARTS)
def test_one_part_that_hangs_is_not_hidden(manager: socket.socket, missing: str) -> None:
    dog = Watchdog()
    for part in PARTS:
        dog.got_on(part)
    assert dog.beat()
    assert manager.recv(100) == b"WATCHDOG=1"
    for part in PARTS:
        if part != missing:
            dog.got_on(part)
    assert not dog.beat()
    with pytest.raises(BlockingIOError):
        manager.recv(100)
    dog.got_on(missing)
    assert dog.beat()


def test_a_clock_before_this_program_or_before_what_is_stored_is_not_believed() -> None:
    clock = SimulatedClock(start_wall_ms=EARLIEST_MS - 1)
    assert not ClockWatch(clock, None).knows_time()
    clock.step_wall(1)
    assert ClockWatch(clock, None).knows_time()
    assert not ClockWatch(clock, EARLIEST_MS + 5).knows_time()
    clock.move_to(5)
    assert ClockWatch(clock, EARLIEST_MS + 5).knows_time()


def test_the_first_segment_is_dated_only_with_a_known_time() -> None:
    clock = SimulatedClock(start_wall_ms=0)
    clock.move_to(7_000)
    assert ClockWatch(clock, None).first(3, 2) == Segment(3, 2, 7_000, 0, False)
    clock.step_wall(EARLIEST_MS)
    assert ClockWatch(clock, None).first(3, 2) == Segment(3, 2, 7_000, EARLIEST_MS, True)


@pytest.mark.parametrize(("by", "stepped"), [(2_000, False), (2_001, True), (-2_000, False), (-2_001, True)])
def test_a_change_of_more_than_two_seconds_is_a_step(by: int, stepped: bool) -> None:
    clock = SimulatedClock(start_wall_ms=EARLIEST_MS + 10_000)
    watch = ClockWatch(clock, None)
    segment = watch.first(1, 1)
    clock.step_wall(by)
    assert watch.stepped(segment) is stepped
    assert watch.dated(segment) is None
