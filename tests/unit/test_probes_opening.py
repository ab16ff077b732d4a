"""Opening a studio's probes, and the check-up that names every fault."""

from __future__ import annotations

import dataclasses
import threading

import pytest

from monitor.bench.readings import Quality
from monitor.clock import SimulatedClock
from monitor.config import PARTS, Studio
from monitor.errors import BadInput, BusError
from monitor.probes import check_up, opening
from monitor.probes.check_up import probe_lines
from monitor.probes.drivers.sht4x import Sht4xProbe
from monitor.probes.opening import I2C_PARTS, SPI_PARTS, OpenedProbes, open_probes
from monitor.probes.sensed import Fault
from monitor.probes.studio.world import World
from monitor.probes.wire.still_world import StillWorld
from tests.support.probes import IRON, ROOM, SPATULA, STUDIO

NOWHERE = Studio(
    "s",
    "board",
    ("north bench",),
    (dataclasses.replace(ROOM, bus="i2c-199"), dataclasses.replace(SPATULA, bus="spi-9.7")),
)


def test_every_part_the_configuration_knows_can_be_opened() -> None:
    assert set(PARTS) <= I2C_PARTS | SPI_PARTS


def test_all_spi_buses_share_one_thread_and_each_i2c_bus_has_its_own(clock: SimulatedClock) -> None:
    opened = open_probes(STUDIO, sensed=StillWorld(), clock=clock)
    assert opened.workers["spi-0.0"] is opened.workers["spi-0.1"]
    assert opened.workers["i2c-1"] is not opened.workers["spi-0.0"]
    idents = {opened.workers[bus].run(threading.get_ident).result(2) for bus in ("spi-0.0", "spi-0.1", "i2c-1")}
    assert len(idents) == 2
    assert threading.get_ident() not in idents
    assert opened.close()


def test_in_thread_and_out_of_thread_give_the_same_samples(clock: SimulatedClock) -> None:
    answers = []
    for threaded in (True, False):
        opened = open_probes(STUDIO, sensed=StillWorld(), clock=clock, threaded=threaded)
        answers.append([opened.workers[p.config.bus].submit(p).result(2) for p in opened.probes])  # type: ignore[attr-defined]
        assert opened.close()
    assert answers[0] == answers[1]


def test_a_missing_bus_stops_the_opening_and_leaves_no_thread(clock: SimulatedClock) -> None:
    with pytest.raises(BusError, match="/dev/i2c-199"):
        open_probes(NOWHERE, clock=clock)


def test_every_chip_has_its_first_result_when_the_studio_is_open(clock: SimulatedClock) -> None:
    many = tuple(dataclasses.replace(SPATULA, name=f"tool {n}", bus=f"spi-0.{n}") for n in range(5))
    opened = open_probes(dataclasses.replace(STUDIO, probes=many), sensed=StillWorld(), clock=clock)
    assert [line["value"] for line in probe_lines(opened)] == [65.0] * 5
    assert opened.close()


def test_a_thermocouple_gives_what_the_configuration_says_it_touches(clock: SimulatedClock) -> None:
    reverse = dataclasses.replace(IRON, name="reverse", quantity="surface_temperature")
    studio = dataclasses.replace(STUDIO, probes=(ROOM, SPATULA, reverse))
    world = StillWorld(junctions_c={"reverse": 18.0})
    opened = open_probes(studio, sensed=world, clock=clock)
    told = [(line["probe"], line["quantity"], line["value"]) for line in probe_lines(opened)[2:]]
    assert told == [("spatula", "tool_temperature", 65.0), ("reverse", "surface_temperature", 18.0)]
    world.sick["reverse"] = frozenset({Fault.OPEN_THERMOCOUPLE})
    clock.move_to(clock.mono_ms() + 1000)
    assert [(line["quantity"], line["quality"]) for line in probe_lines(opened)[3:]] == [
        ("surface_temperature", "open")
    ]
    assert opened.close()


def test_a_probe_that_hangs_at_opening_does_not_hold_up_the_station(
    clock: SimulatedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(opening, "OPENING_DEADLINE_S", 0.05)
    let_go = threading.Event()
    monkeypatch.setattr(Sht4xProbe, "_open", lambda self: let_go.wait(5))
    opened = open_probes(STUDIO, sensed=StillWorld(), clock=clock)
    assert opened.workers["i2c-1"].replaced == 1
    assert opened.workers["i2c-1"].submit(opened.probes[0]).result(2)[0].value == 20.5
    let_go.set()
    assert opened.close()


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"part": "sht99"}, "'room', key part: sht99"),
        ({"bus": "spi-0.0"}, "'room', key bus: spi-0.0; expected i2c-"),
    ],
)
def test_an_unknown_part_or_a_bus_of_the_wrong_kind_is_refused(
    clock: SimulatedClock, change: dict[str, str], message: str
) -> None:
    studio = dataclasses.replace(STUDIO, probes=(dataclasses.replace(ROOM, **change),))  # type: ignore[arg-type]
    with pytest.raises(BadInput, match=message):
        open_probes(studio, sensed=StillWorld(), clock=clock)


def test_the_check_up_names_a_missing_bus_for_every_probe_on_it(clock: SimulatedClock) -> None:
    opened = open_probes(NOWHERE, clock=clock, strict=False)
    lines = probe_lines(opened)
    assert opened.close()
    assert [line["fault"] for line in lines] == [
        "/dev/i2c-199: there is no such device file",
        "/dev/i2c-199: there is no such device file",
        "/dev/spidev9.7: there is no such device file",
    ]
    assert all("Enable" in line["do"] for line in lines)
    assert not any(line["source"].startswith("simulated") for line in lines)


def check(clock: SimulatedClock, world: StillWorld) -> dict[tuple[str, str], check_up.ProbeLine]:
    opened = open_probes(STUDIO, sensed=world, clock=clock)
    lines = probe_lines(opened)
    assert opened.close()
    return {(line["probe"], line["quantity"]): line for line in lines}


def test_the_check_up_of_a_healthy_studio_has_nothing_to_say(clock: SimulatedClock) -> None:
    lines = check(clock, StillWorld())
    assert [line["value"] for line in lines.values()] == [20.5, 48.0, 65.0, 65.0]
    assert {line["fault"] + line["do"] for line in lines.values()} == {""}
    assert all(line["source"].startswith("simulated ") for line in lines.values())


SAID = [
    ("room", Fault.ABSENT, "acknowledged", "address"),
    ("room", Fault.BAD_CHECKSUM, "checksum", "lead"),
    ("room", Fault.BUS_ERROR, "bus reported", "Unplug"),
    ("room", Fault.ALL_ONES, "stayed high", "SDA"),
    ("room", Fault.ALL_ZEROS, "stayed low", "SDA"),
    ("room", Fault.HUMIDITY_CLIPPED, "end of its scale", "salt"),
    ("spatula", Fault.ABSENT, "every bit is zero", "MISO"),
    ("spatula", Fault.ALL_ONES, "every bit is one", "MISO"),
    ("spatula", Fault.OPEN_THERMOCOUPLE, "open", "junction"),
]


@pytest.mark.parametrize(("probe", "fault", "said", "do"), SAID)
def test_the_check_up_names_each_fault_and_what_to_do(
    clock: SimulatedClock, probe: str, fault: Fault, said: str, do: str
) -> None:
    lines = check(clock, StillWorld(sick={probe: frozenset({fault})}))
    line = [v for (name, _), v in lines.items() if name == probe][-1]
    assert said in line["fault"]
    assert do in line["do"]
    assert line["quality"] != "good"
    others = [v for (name, _), v in lines.items() if name != probe]
    assert {v["quality"] for v in others} == {"good"}


def test_a_probe_that_hangs_is_given_up_and_the_others_are_read(
    clock: SimulatedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(check_up, "READ_DEADLINE_S", 0.05)
    opened = open_probes(STUDIO, sensed=StillWorld(), clock=clock)
    let_go = threading.Event()
    monkeypatch.setattr(opened.probes[0], "_read", lambda: let_go.wait(5))
    lines = probe_lines(opened)
    assert [line["quality"] for line in lines] == ["bus", "bus", "good", "good"]
    assert "no answer within" in lines[0]["fault"]
    assert isinstance(opened, OpenedProbes)
    let_go.set()
    assert opened.close()


def test_a_probe_the_simulated_studio_does_not_know_stops_the_opening(clock: SimulatedClock) -> None:
    stranger = dataclasses.replace(STUDIO, probes=(dataclasses.replace(ROOM, name="nobody"),))
    with pytest.raises(BadInput, match="nobody"):
        open_probes(stranger, sensed=World(), clock=clock)


def test_the_drivers_read_what_the_coupled_world_feels(clock: SimulatedClock) -> None:
    world = World()
    opened = open_probes(dataclasses.replace(STUDIO, probes=(ROOM, SPATULA)), sensed=world, clock=clock)
    world.apply({"tool": "on", "set_c": 78})
    for at_ms in range(0, 60_000, 200):
        clock.move_to(at_ms)
        world.advance_to(at_ms)
        (tool,) = opened.workers["spi-0.0"].submit(opened.probes[1]).result(2)
        assert tool.value == pytest.approx(world.junction_c("spatula"), abs=1 / 256 + 1e-9)
    world.apply({"fault": "open thermocouple", "probe": "spatula"})
    clock.move_to(60_000)
    assert opened.workers["spi-0.0"].submit(opened.probes[1]).result(2)[0].quality is Quality.OPEN
    assert opened.close()
