"""Reads every probe once and names what ails it, with what to do: the command `probes`."""

from __future__ import annotations

from typing import TypedDict

from monitor.bench.quantities import QUANTITIES
from monitor.bench.readings import Quality
from monitor.errors import BusError
from monitor.probes.opening import I2C_PARTS, OpenedProbes
from monitor.probes.probe import Probe, Sample
from monitor.probes.wired import NoReading, WiredProbe

READ_DEADLINE_S = 1.5

_DO_I2C = {
    Quality.CLIPPED: "Let the sensor dry in moving air; if it stays, check it against a salt before wet work.",
    Quality.ABSENT: "Check the plug, 3.3 V and ground, then the address in the configuration.",
    Quality.BUS: "Unplug the sensors of this bus one by one; look for SDA or SCL touching another wire.",
    Quality.CHECKSUM: "Shorten the lead or slow the bus; keep it away from the tool's mains lead.",
    Quality.OUT_OF_RANGE: "Exchange the sensor; do not use its humidity either.",
}
_DO_SPI = {
    Quality.ABSENT: "Check the board's supply, SDO to MISO, and that the chip select is the one configured.",
    Quality.BUS: "Check that MISO is connected and not held at 3.3 V, then the other three lines.",
    Quality.OPEN: "Lay the tool down; check plug and terminals, then the junction for a break.",
    Quality.SHORTED: "Use a probe with an insulated junction; never tie T- to ground to make this go away.",
    Quality.OUT_OF_RANGE: "Check type letter and polarity of the thermocouple; keep the board off the hot tool.",
    Quality.RESET: "Run this again. If it comes back, the board's supply is weak or a contact is loose.",
}


class ProbeLine(TypedDict):
    """One quantity of one probe, as printed; `do` is "" when nothing ails it."""

    probe: str
    bench: str
    bus: str
    source: str
    quantity: str
    value: float | None
    unit: str
    quality: str
    fault: str
    do: str


def probe_lines(opened: OpenedProbes) -> list[ProbeLine]:
    """Read every probe once, one line a quantity, in the order of the configuration."""
    return [line for probe in opened.probes for line in _lines(probe, _read(opened, probe))]


def _read(opened: OpenedProbes, probe: Probe) -> list[Sample]:
    worker = opened.workers[probe.config.bus] if isinstance(probe, WiredProbe) else None
    if worker is None:
        return probe.read()
    try:
        return worker.submit(probe).result(READ_DEADLINE_S)
    except (TimeoutError, BusError):
        worker.replace()
        return [Sample(q, None, Quality.BUS) for q in probe.quantities]


def _lines(probe: Probe, samples: list[Sample]) -> list[ProbeLine]:
    config = probe.config if isinstance(probe, WiredProbe) else None
    trouble = probe.trouble if isinstance(probe, WiredProbe) else None
    advice = _DO_I2C if config is not None and config.part in I2C_PARTS else _DO_SPI
    return [
        ProbeLine(
            probe=probe.name,
            bench=config.bench if config else "",
            bus=config.bus if config else "",
            source=probe.source,
            quantity=sample.quantity,
            value=sample.value,
            unit=QUANTITIES[sample.quantity].unit,
            quality=sample.quality.word,
            fault=_fault(sample, trouble),
            do="" if sample.quality is Quality.GOOD else (trouble and trouble.do) or advice[sample.quality],
        )
        for sample in samples
    ]


def _fault(sample: Sample, trouble: NoReading | None) -> str:
    if sample.quality is Quality.GOOD:
        return ""
    if sample.quality is Quality.CLIPPED:
        return "humidity is beyond the end of its scale; the bound is given"
    return trouble.detail if trouble else f"no answer within {READ_DEADLINE_S} s"
