"""Opens every probe of a studio, over real buses or over the simulated wire."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Protocol

from monitor.clock import Clock
from monitor.config import ProbeConfig, Studio
from monitor.errors import BadInput, BusError
from monitor.probes.bus import BusLine, I2CBus, SPIBus
from monitor.probes.drivers.max31856 import Max31856Probe
from monitor.probes.drivers.sht4x import Sht4xProbe
from monitor.probes.linux_i2c import open_linux_i2c
from monitor.probes.linux_spi import open_linux_spi
from monitor.probes.probe import Probe
from monitor.probes.sensed import SensedWorld
from monitor.probes.wire.buses import SimulatedBuses
from monitor.probes.wired import WiredProbe
from monitor.probes.worker import BusWorker

I2C_PARTS = frozenset({"sht40", "sht41", "sht43", "sht45"})
SPI_PARTS = frozenset({"max31856"})
OPENING_DEADLINE_S = 1.5
Line = BusLine[Any]
"""I2C or SPI; the part's kind, checked before, tells which."""


@dataclass
class OpenedProbes:
    """All probes of a studio and the workers that read them.

    Attributes:
        probes: in the order of the configuration.
        workers: by bus name; all SPI buses share one.
        lines: the buses themselves.
    """

    probes: list[Probe] = field(default_factory=list)
    workers: dict[str, BusWorker] = field(default_factory=dict)
    lines: dict[str, Line] = field(default_factory=dict)

    def serials(self) -> dict[str, str]:
        """Give serial numbers by probe, "" where none was met."""
        return {p.name: p.serial for p in self.probes}

    def sources(self) -> dict[str, str]:
        """Give each probe's source in words."""
        return {p.name: p.source for p in self.probes}

    def close(self) -> bool:
        """Join the workers, then close the buses; False if a thread still hangs."""
        joined = [w.close() for w in dict.fromkeys(self.workers.values())]
        for line in self.lines.values():
            line.drop()
        return all(joined)


def open_probes(
    studio: Studio,
    *,
    sensed: SensedWorld | None = None,
    clock: Clock,
    threaded: bool = True,
    strict: bool = True,
) -> OpenedProbes:
    """Open every probe; one that does not answer becomes gaps and is tried again at each read.

    Args:
        studio: the configuration.
        sensed: the simulated world; the buses are then simulated wires. None for real buses.
        clock: the clock the simulated wire follows.
        threaded: False reads in the caller's thread, for stories whose clock stands meanwhile.
        strict: False reads a bus that cannot be opened as gaps too.

    Raises:
        BusError: a real bus is missing or may not be used.
        BadInput: a part or bus that is not known.
    """
    opened = OpenedProbes()
    buses: _Buses = _Real() if sensed is None else SimulatedBuses(studio, sensed, clock)
    try:
        for config in studio.probes:
            _check(config)
            if config.bus not in opened.lines:
                opened.lines[config.bus] = BusLine(config.bus, _opener(buses, config.bus))
                if strict:
                    opened.lines[config.bus].get()
            opened.probes.append(_probe(config, opened.lines[config.bus], simulated=sensed is not None))
        _add_workers(opened, threaded=threaded)
        _meet(opened)
    except BaseException:
        opened.close()
        raise
    return opened


class _Buses(Protocol):
    def i2c(self, name: str) -> I2CBus: ...

    def spi(self, name: str) -> SPIBus: ...


class _Real:
    def i2c(self, name: str) -> I2CBus:
        return open_linux_i2c(name)

    def spi(self, name: str) -> SPIBus:
        return open_linux_spi(name)


def _opener(buses: _Buses, name: str) -> Callable[[], I2CBus | SPIBus]:
    return lambda: buses.i2c(name) if name.startswith("i2c-") else buses.spi(name)


def _probe(config: ProbeConfig, line: Line, *, simulated: bool) -> WiredProbe:
    kind = Sht4xProbe if config.part in I2C_PARTS else Max31856Probe
    return kind(config, line, simulated=simulated)


def _meet(opened: OpenedProbes) -> None:
    """Open each probe in its bus's thread, so that one that hangs holds up nothing for long."""
    wired = [(opened.workers[p.config.bus], p) for p in opened.probes if isinstance(p, WiredProbe)]
    jobs = [(w, w.run(p.open)) for w, p in wired] + [(w, w.run(p.settle)) for w, p in wired]
    for worker, done in jobs:
        try:
            done.result(OPENING_DEADLINE_S)
        except BusError:
            continue  # the worker was replaced while it waited for an earlier job; reads will try again
        except TimeoutError:
            worker.replace()


def _check(config: ProbeConfig) -> None:
    known = sorted(I2C_PARTS | SPI_PARTS)
    if config.part not in known:
        raise BadInput(
            f"probe {config.name!r}, key part", config.part, f"one of {', '.join(known)}", "Name the part fitted."
        )
    kind = "i2c-" if config.part in I2C_PARTS else "spi-"
    if not config.bus.startswith(kind):
        raise BadInput(
            f"probe {config.name!r}, key bus",
            config.bus,
            f"{kind}..., since {config.part} speaks {kind[:3].upper()}",
            "Correct the bus or the part.",
        )


def _add_workers(opened: OpenedProbes, *, threaded: bool) -> None:
    # The MAX31856 driver is not thread safe, not even between two chips on two buses.
    shared = [name for name in opened.lines if name.startswith("spi-")]
    for names in [[n] for n in opened.lines if n not in shared] + ([shared] if shared else []):
        worker = BusWorker(", ".join(names), _dropper([opened.lines[n] for n in names]), threaded=threaded)
        opened.workers.update(dict.fromkeys(names, worker))


def _dropper(lines: list[Line]) -> Callable[[], None]:
    def drop() -> None:
        for line in lines:
            line.drop()

    return drop
