"""The sensors' own drivers over the simulated wire and over the Linux adapters, one set of tests for both."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from monitor.bench.readings import Quality
from monitor.clock import SimulatedClock
from monitor.config import Studio
from monitor.probes import opening
from monitor.probes.linux_i2c import LinuxI2C
from monitor.probes.linux_spi import LinuxSPI
from monitor.probes.opening import OpenedProbes, open_probes
from monitor.probes.probe import Probe
from monitor.probes.sensed import Fault
from monitor.probes.wire.buses import SimulatedBuses
from monitor.probes.wire.max31856_chip import Max31856Chip
from monitor.probes.wire.sht4x_chip import Sht4xChip
from monitor.probes.wire.still_world import StillWorld
from monitor.probes.wire.wire_time import WireTime
from tests.support.probes import STUDIO, pass_ms

Opener = Callable[[StillWorld], OpenedProbes]


class PureIOBus:
    """The calls of the I2C library, ending at simulated chips."""

    def __init__(self, chips: dict[int, Sht4xChip]) -> None:
        self.chips = chips

    def write_bytes(self, address: int, data: bytes) -> None:
        self.chips[address].write(data)

    def read_bytes(self, address: int, count: int) -> bytes:
        return self.chips[address].read(count)

    def close(self) -> None:
        pass


class PureIOSelect:
    """The calls of the SPI library, ending at a simulated chip."""

    handle = -1
    max_speed_hz = polarity = phase = bits_per_word = 0

    def __init__(self, chip: Max31856Chip) -> None:
        self.chip = chip

    def transfer(self, data: bytes) -> list[int]:
        assert self.phase == 1, "the part reads its bits at the second edge"
        return list(self.chip.transfer(data))


class AdaptedI2C(LinuxI2C):
    """The Linux adapter, sleeping in the wire's time so that the test need not wait."""

    simulated = True
    wire_time: WireTime

    def sleep(self, seconds: float) -> None:
        self.wire_time.sleep(seconds)

    def now_s(self) -> float:
        return self.wire_time.now_us() / 1e6


class AdaptedSPI(LinuxSPI):
    """The same for SPI."""

    simulated = True
    wire_time: WireTime

    def sleep(self, seconds: float) -> None:
        self.wire_time.sleep(seconds)

    def now_s(self) -> float:
        return self.wire_time.now_us() / 1e6


class AdaptedBuses(SimulatedBuses):
    """The simulated chips behind the Linux adapters."""

    def i2c(self, name: str) -> AdaptedI2C:  # type: ignore[override]
        bus = AdaptedI2C(PureIOBus(self._i2c[name]))
        bus.wire_time = self._times[name]
        return bus

    def spi(self, name: str) -> AdaptedSPI:  # type: ignore[override]
        bus = AdaptedSPI(PureIOSelect(self._spi[name]))
        bus.wire_time = self._times[name]
        return bus


@pytest.fixture(params=["simulated wire", "Linux adapters"])
def opener(
    request: pytest.FixtureRequest, clock: SimulatedClock, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Opener]:
    if request.param == "Linux adapters":
        monkeypatch.setattr(opening, "SimulatedBuses", AdaptedBuses)
    made: list[OpenedProbes] = []

    def make(world: StillWorld, studio: Studio = STUDIO) -> OpenedProbes:
        made.append(open_probes(studio, sensed=world, clock=clock))
        return made[-1]

    yield make
    assert all([opened.close() for opened in made])


def read(opened: OpenedProbes, name: str) -> list[tuple[float | None, Quality]]:
    probe: Probe = next(p for p in opened.probes if p.name == name)
    bus = {"room": "i2c-1", "spatula": "spi-0.0", "iron": "spi-0.1"}[name]
    return [(s.value, s.quality) for s in opened.workers[bus].submit(probe).result(2)]


def test_healthy_probes_give_the_worlds_values_on_their_grid(opener: Opener) -> None:
    opened = opener(StillWorld(air_c=20.537, rh_pct=48.123, tool_c=65.0049, cold_c=24.0))
    assert read(opened, "room") == [(20.54, Quality.GOOD), (48.12, Quality.GOOD)]
    assert read(opened, "spatula") == [(65.0078125, Quality.GOOD)]


def test_negative_temperatures_keep_their_sign(opener: Opener) -> None:
    opened = opener(StillWorld(air_c=-12.34, tool_c=-18.5))
    assert read(opened, "room")[0] == (-12.34, Quality.GOOD)
    assert read(opened, "spatula") == [(-18.5, Quality.GOOD)]


def test_serial_numbers_are_read_at_opening_and_tell_probes_apart(opener: Opener) -> None:
    opened = opener(StillWorld())
    serials = opened.serials()
    assert len(serials["room"]) == 8
    assert serials["spatula"] == ""
    assert opened.sources()["room"] == f"simulated SHT45 no. {serials['room']} on i2c-1 at 0x44"


NAMED = [
    ("room", Fault.ABSENT, Quality.ABSENT),
    ("room", Fault.BAD_CHECKSUM, Quality.CHECKSUM),
    ("room", Fault.BUS_ERROR, Quality.BUS),
    ("room", Fault.ALL_ONES, Quality.BUS),
    ("room", Fault.ALL_ZEROS, Quality.BUS),
    ("spatula", Fault.ABSENT, Quality.ABSENT),
    ("spatula", Fault.BUS_ERROR, Quality.BUS),
    ("spatula", Fault.ALL_ONES, Quality.BUS),
    ("spatula", Fault.ALL_ZEROS, Quality.ABSENT),
    ("spatula", Fault.OPEN_THERMOCOUPLE, Quality.OPEN),
    ("spatula", Fault.CHIP_RESET, Quality.RESET),
]


@pytest.mark.parametrize(("name", "fault", "quality"), NAMED)
def test_each_fault_is_named_within_3_s_and_heals(
    opener: Opener, clock: SimulatedClock, name: str, fault: Fault, quality: Quality
) -> None:
    world, interval_ms = StillWorld(), {"room": 1000, "spatula": 200}[name]
    opened = opener(world)
    good = read(opened, name)
    assert all(q is Quality.GOOD for _, q in good)
    pass_ms(clock, interval_ms)
    world.sick = {name: frozenset({fault})}
    seen = []
    for _ in range(3000 // interval_ms):
        seen.append(read(opened, name))
        pass_ms(clock, interval_ms)
    # A converter still holds the result from before the fault for up to a tenth of a second.
    named = seen[0] if seen[0] != good else seen[1]
    assert all(v is None and q is quality for v, q in named)
    assert {q for row in seen for _, q in row} <= {quality, Quality.GOOD}
    world.sick = {}
    read(opened, name)
    pass_ms(clock, interval_ms)
    assert read(opened, name) == good


def test_a_fault_that_stands_gives_a_gap_each_time(opener: Opener, clock: SimulatedClock) -> None:
    world = StillWorld()
    opened = opener(world)
    world.sick = {"spatula": frozenset({Fault.OPEN_THERMOCOUPLE})}
    for _ in range(5):
        pass_ms(clock, 200)
        assert read(opened, "spatula") == [(None, Quality.OPEN)]


@pytest.mark.parametrize(("rh_pct", "bound"), [(104.0, 100.0), (118.9, 100.0), (-3.0, 0.0)])
def test_humidity_beyond_its_scale_is_clipped_and_says_so(opener: Opener, rh_pct: float, bound: float) -> None:
    opened = opener(StillWorld(rh_pct=rh_pct))
    assert read(opened, "room") == [(20.5, Quality.GOOD), (bound, Quality.CLIPPED)]


def test_the_fault_humidity_clipped_keeps_the_temperature(opener: Opener) -> None:
    opened = opener(StillWorld(sick={"room": frozenset({Fault.HUMIDITY_CLIPPED})}))
    assert read(opened, "room") == [(20.5, Quality.GOOD), (100.0, Quality.CLIPPED)]


def test_a_probe_absent_at_opening_is_gaps_until_it_is_plugged_in(opener: Opener, clock: SimulatedClock) -> None:
    absent = frozenset({Fault.ABSENT})
    world = StillWorld(sick={"room": absent, "spatula": absent})
    opened = opener(world)
    assert opened.serials()["room"] == ""
    assert read(opened, "room") == [(None, Quality.ABSENT)] * 2
    assert read(opened, "spatula") == [(None, Quality.ABSENT)]
    assert read(opened, "iron") == [(65.0, Quality.GOOD)]
    world.sick = {}
    assert read(opened, "room")[0] == (20.5, Quality.GOOD)
    assert opened.serials()["room"] != ""
    assert read(opened, "spatula") == [(None, Quality.RESET)], "no result is trusted before the first conversion"
    pass_ms(clock, 200)
    assert read(opened, "spatula") == [(65.0, Quality.GOOD)]


@pytest.mark.parametrize(
    ("world", "quality"),
    [
        (StillWorld(tool_c=1500.0), Quality.OUT_OF_RANGE),
        (StillWorld(cold_c=61.0), Quality.OUT_OF_RANGE),
        (StillWorld(cold_c=-1.0), Quality.OUT_OF_RANGE),
    ],
)
def test_what_cannot_be_is_out_of_range(opener: Opener, world: StillWorld, quality: Quality) -> None:
    assert read(opener(world), "spatula") == [(None, quality)]


def test_air_beyond_the_sensors_range_voids_both_quantities(opener: Opener) -> None:
    assert read(opener(StillWorld(air_c=129.0)), "room") == [(None, Quality.OUT_OF_RANGE)] * 2
