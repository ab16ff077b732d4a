"""The adapters of real buses, the time drivers sleep in, and the thread of each bus."""

from __future__ import annotations

import errno
import threading
from collections.abc import Iterator
from types import ModuleType

import pytest

from monitor.errors import BusError
from monitor.probes import bus as bus_module
from monitor.probes import driver_time
from monitor.probes.bus import BusLine, LockedBus
from monitor.probes.driver_time import DRIVER_TIME, sleeping_on
from monitor.probes.linux_i2c import LinuxI2C, open_linux_i2c
from monitor.probes.linux_spi import LinuxSPI, open_linux_spi
from monitor.probes.worker import BusWorker
from tests.support.probes import ScriptedI2C, room_over


class PureIOCalls:
    """Notes the calls of the I2C and SPI libraries."""

    handle = -1

    def __init__(self, gives: bytes = b"") -> None:
        self.gives = gives
        self.calls: list[tuple[object, ...]] = []

    def write_bytes(self, address: int, data: bytes) -> None:
        self.calls.append(("write", address, data))

    def read_bytes(self, address: int, count: int) -> bytes:
        self.calls.append(("read", address, count))
        return self.gives

    def read_i2c_block_data(self, address: int, command: bytes, count: int) -> bytes:
        self.calls.append(("both", address, command, count))
        return self.gives

    def transfer(self, data: bytes) -> list[int]:
        self.calls.append(("transfer", data))
        return list(self.gives)


def test_i2c_reads_note_their_bytes_and_refuse_short_ones() -> None:
    library = PureIOCalls(b"\x01\x02\x03")
    bus, into = LinuxI2C(library), bytearray(5)
    bus.writeto(0x44, b"\x00\xfd\x00", start=1, end=2)
    bus.readfrom_into(0x44, into, start=1, end=4)
    assert into == b"\x00\x01\x02\x03\x00"
    assert bus.last_read == b"\x01\x02\x03"
    bus.writeto_then_readfrom(0x44, b"\xaa\xbb", into, out_end=1, in_end=3)
    assert library.calls == [("write", 0x44, b"\xfd"), ("read", 0x44, 3), ("both", 0x44, b"\xaa", 3)]
    with pytest.raises(OSError, match="3 of 6 bytes"):
        bus.readfrom_into(0x44, bytearray(6))


def test_looking_for_a_chip_by_writing_nothing_does_not_touch_the_bus() -> None:
    library = PureIOCalls()
    LinuxI2C(library).writeto(0x44, b"")
    assert library.calls == []


def test_spi_write_and_read_leave_as_one_transfer() -> None:
    library = PureIOCalls(b"\x00\x11\x22")
    bus, into = LinuxSPI(library), bytearray(4)
    bus.try_lock()
    bus.write(b"\x0c\xff", end=1)
    bus.readinto(into, end=2)
    bus.unlock()
    assert library.calls == [("transfer", b"\x0c\x00\x00")]
    assert into == b"\x11\x22\x00\x00"
    assert bus.last_read == b"\x11\x22"


def test_spi_write_alone_leaves_when_the_bus_is_given_back() -> None:
    library = PureIOCalls(b"\x00\x00")
    bus = LinuxSPI(library)
    bus.try_lock()
    bus.write(b"\x80\x91")
    assert library.calls == []
    bus.unlock()
    assert library.calls == [("transfer", b"\x80\x91")]


def test_spi_gives_the_bus_back_although_the_last_write_fails() -> None:
    class Failing(PureIOCalls):
        def transfer(self, data: bytes) -> list[int]:
            raise OSError(errno.EIO, "Input/output error")

    bus = LinuxSPI(Failing())
    bus.try_lock()
    bus.write(b"\x80\x91")
    with pytest.raises(OSError, match="Input/output"):
        bus.unlock()
    assert bus.try_lock()
    bus.unlock()


def test_spi_settings_are_set_when_they_change() -> None:
    library = PureIOCalls()
    bus = LinuxSPI(library)
    bus.configure(baudrate=500_000, polarity=0, phase=1)
    assert (library.max_speed_hz, library.polarity, library.phase) == (500_000, 0, 1)  # type: ignore[attr-defined]
    library.phase = 0  # type: ignore[attr-defined]
    bus.configure(baudrate=500_000, polarity=0, phase=1)
    assert library.phase == 0, "the same settings are not written again"  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("opener", "name", "path", "setting"),
    [
        (open_linux_i2c, "i2c-199", "/dev/i2c-199", "dtparam=i2c_arm=on"),
        (open_linux_spi, "spi-9.7", "/dev/spidev9.7", "dtparam=spi=on"),
    ],
)
def test_a_missing_bus_names_its_device_file_and_what_to_enable(
    opener: object, name: str, path: str, setting: str
) -> None:
    with pytest.raises(BusError) as caught:
        opener(name)  # type: ignore[operator]
    assert caught.value.thing == path
    assert setting in caught.value.do


def test_a_bus_that_may_not_be_used_names_the_group(monkeypatch: pytest.MonkeyPatch) -> None:
    from Adafruit_PureIO import smbus, spi

    def refuse(*_: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(smbus, "SMBus", refuse)
    monkeypatch.setattr(spi, "SPI", refuse)
    monkeypatch.setattr("os.path.exists", lambda path: True)
    for opener, name, group in ((open_linux_i2c, "i2c-1", "group i2c"), (open_linux_spi, "spi-0.0", "group spi")):
        with pytest.raises(BusError, match="Permission denied") as caught:
            opener(name)
        assert group in caught.value.do


def test_a_held_bus_is_refused_after_its_deadline_and_nobody_spins(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bus_module, "LOCK_DEADLINE_S", 0.0)
    bus = LockedBus()
    assert bus.try_lock()
    with pytest.raises(TimeoutError):
        bus.try_lock()


def test_an_abandoned_bus_refuses_every_call_and_is_opened_anew() -> None:
    line = BusLine("i2c-1", lambda: LinuxI2C(_Closing()))
    old = line.get()
    assert line.get() is old
    line.drop()
    with pytest.raises(OSError, match="given up"):
        old.readfrom_into(0x44, bytearray(1))
    with pytest.raises(OSError, match="given up"):
        old.try_lock()
    assert line.get() is not old


class _Closing(PureIOCalls):
    def close(self) -> None:
        self.calls.append(("close",))


def test_drivers_sleep_where_their_thread_says(monkeypatch: pytest.MonkeyPatch) -> None:
    slept: list[float] = []
    machine = ModuleType("time")
    machine.sleep = slept.append  # type: ignore[attr-defined]
    monkeypatch.setattr(driver_time, "time", machine)
    wire = ScriptedI2C(b"")
    with sleeping_on(wire):
        DRIVER_TIME.sleep(0.25)
        other = threading.Thread(target=DRIVER_TIME.sleep, args=(7.0,))
        other.start()
        other.join()
    DRIVER_TIME.sleep(8.0)
    assert wire.slept_s == 0.25
    assert slept == [7.0, 8.0], "a thread that named no bus has the machine's time"


def test_only_a_simulated_bus_binds_the_drivers_time(monkeypatch: pytest.MonkeyPatch) -> None:
    bound: list[object] = []
    monkeypatch.setattr("monitor.probes.drivers.sht4x.bind", bound.append)
    bus = ScriptedI2C(bytes.fromhex("608cd3687279"))
    room_over(bus)
    assert len(bound) == 1
    monkeypatch.setattr(ScriptedI2C, "simulated", False)
    room_over(ScriptedI2C(bytes.fromhex("608cd3687279")))
    assert len(bound) == 1


@pytest.fixture
def worker() -> Iterator[BusWorker]:
    made = BusWorker("i2c-1", lambda: None)
    yield made
    assert made.close()


def test_jobs_of_a_bus_run_one_after_the_other_in_its_one_thread(worker: BusWorker) -> None:
    order: list[tuple[int, str]] = []
    jobs = [worker.run(lambda n=n: order.append((n, threading.current_thread().name))) for n in range(20)]
    for job in jobs:
        job.result(2)
    assert order == [(n, "bus i2c-1") for n in range(20)]


def test_a_job_that_fails_hands_its_error_over_and_the_next_runs(worker: BusWorker) -> None:
    failed, following = worker.run(lambda: 1 / 0), worker.run(lambda: 5)
    with pytest.raises(ZeroDivisionError):
        failed.result(2)
    assert following.result(2) == 5


def test_a_hung_thread_is_replaced_the_bus_dropped_and_the_queue_goes_on() -> None:
    dropped: list[str] = []
    worker = BusWorker("spi-0.0", lambda: dropped.append("dropped"))
    inside, let_go = threading.Event(), threading.Event()

    def hang() -> str:
        inside.set()
        let_go.wait(5)
        return "late"

    hung, queued = worker.run(hang), worker.run(lambda: "after")
    assert inside.wait(2)
    worker.replace()
    assert queued.result(2) == "after"
    with pytest.raises(BusError, match="no answer"):
        hung.result(2)
    assert dropped == ["dropped"]
    assert worker.replaced == 1
    let_go.set()
    assert worker.close()


def test_closing_tells_of_a_thread_that_still_hangs() -> None:
    worker = BusWorker("spi-0.0", lambda: None)
    let_go = threading.Event()
    worker.run(lambda: let_go.wait(5))
    assert not worker.close(within_s=0.0)
    let_go.set()
    assert worker.close()
    with pytest.raises(RuntimeError, match="closed"):
        worker.run(lambda: None)


def test_without_a_thread_the_job_is_done_when_it_is_queued() -> None:
    worker = BusWorker("i2c-1", lambda: None, threaded=False)
    job = worker.run(threading.get_ident)
    assert job.done()
    assert job.result() == threading.get_ident()
    assert worker.close()
