"""What the store is told at a start: the boot, and the benches, instruments, probes and channels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from monitor.bench.quantities import QUANTITIES, channel_name
from monitor.config import ProbeConfig, Studio
from monitor.errors import StoreError
from monitor.figures import Grade
from monitor.store.entities import Bench, Channel, Instrument, InstrumentFigure, Probe
from monitor.store.tables import SCHEMA, boots, intervals
from monitor.store.writing import newest_boot

MEASURES: dict[str, tuple[str, ...]] = {
    "sht40": ("air_temperature", "relative_humidity"),
    "sht41": ("air_temperature", "relative_humidity"),
    "sht45": ("air_temperature", "relative_humidity"),
    "max31856": ("tool_temperature",),
}


@dataclass(frozen=True)
class Series:
    """A probe and its channels as declared; `serial` tells instruments of one part apart."""

    bench: str
    probe: str
    part: str
    quantities: tuple[str, ...]
    interval_ms: int
    source: str
    bus: str = ""
    address: int = 0
    thermocouple: str = ""
    serial: str = ""


def series_of(probe: ProbeConfig, serial: str, source: str) -> Series:
    """Give what a configured probe measures.

    Raises:
        StoreError: a part whose quantities are not known.
    """
    if probe.part not in MEASURES:
        raise StoreError(
            f"probe {probe.name}", f"part {probe.part!r}", f"one of {', '.join(MEASURES)}", "Correct it."
        )
    quantities = (probe.quantity,) if probe.quantity else MEASURES[probe.part]
    return Series(
        probe.bench, probe.name, probe.part, quantities, probe.interval_ms, source,
        probe.bus, probe.address, probe.thermocouple, serial,
    )  # fmt: skip


def begin_boot(
    connection: sa.Connection, board: str, boot_id: str, started_at_ms: int | None, engine: int, version: str
) -> int:
    """Record a start; give its number, one more than the last."""
    last = newest_boot(connection)
    boot = 1 if last is None else int(last.boot) + 1
    connection.execute(
        sa.insert(boots).values(
            boot=boot, board=board, boot_id=boot_id, started_at_ms=started_at_ms,
            engine=engine, version=version, schema=SCHEMA,
        )
    )  # fmt: skip
    return boot


def declare(
    connection: sa.Connection, board: str, boot: int, benches: tuple[str, ...], declared: list[Series]
) -> None:
    """Enter or correct benches, instruments, probes and channels; nothing is ever removed."""
    for bench in benches:
        _put(connection, Bench, {"board": board, "bench": bench}, {})
    for series in declared:
        _probe(connection, board, series)
        for quantity in series.quantities:
            _channel(connection, board, boot, series, quantity)


def studio_series(studio: Studio, serials: dict[str, str], sources: dict[str, str]) -> list[Series]:
    """Give the series of a configured studio."""
    return [series_of(probe, serials.get(probe.name, ""), sources.get(probe.name, "")) for probe in studio.probes]


def _probe(connection: sa.Connection, board: str, series: Series) -> None:
    instrument = f"{series.part} {series.serial}" if series.serial else f"{series.part} at {series.probe}"
    key = {"board": board, "instrument": instrument}
    said = {"bench": series.bench, "kind": series.part, "serial": series.serial}
    _put(connection, Instrument, key, said)
    for quantity in series.quantities:
        known = QUANTITIES[quantity]
        figure = {**key, "quantity": quantity, "figure": "resolution"}
        grid = {"value": known.resolution, "unit": known.unit, "source": "project", "grade": Grade.PROPOSAL.value}
        _put(connection, InstrumentFigure, figure, {**grid, "bench": series.bench, "locator": ""})
    _put(
        connection, Probe, {"board": board, "probe": series.probe},
        {
            "bench": series.bench, "part": series.part, "bus": series.bus, "address": series.address,
            "thermocouple": series.thermocouple, "instrument": instrument, "source": series.source,
        },
    )  # fmt: skip


def _channel(connection: sa.Connection, board: str, boot: int, series: Series, quantity: str) -> None:
    if quantity not in QUANTITIES:
        raise StoreError(f"probe {series.probe}", f"quantity {quantity!r}", "a known quantity", "Correct it.")
    name = channel_name(series.probe, quantity)
    said = {
        "bench": series.bench, "probe": series.probe, "quantity": quantity,
        "unit": QUANTITIES[quantity].unit, "interval_ms": series.interval_ms, "source": series.source,
    }  # fmt: skip
    _put(connection, Channel, {"board": board, "channel": name}, said)
    table = Channel.__table__  # type: ignore[attr-defined]
    here = sa.select(table.c.channel_id).where(table.c.board == board, table.c.channel == name)
    channel_id = connection.execute(here).scalar_one()
    last = sa.select(intervals.c.interval_ms).where(intervals.c.channel_id == channel_id)
    before = connection.execute(last.order_by(intervals.c.boot.desc()).limit(1)).scalar()
    if before != series.interval_ms:
        # an interval holds from a boot on, so that old rollups can be computed again as they were
        key = (intervals.c.channel_id == channel_id, intervals.c.boot == boot)
        connection.execute(sa.delete(intervals).where(*key))
        values = {"channel_id": channel_id, "boot": boot, "interval_ms": series.interval_ms}
        connection.execute(sa.insert(intervals).values(values))


def _put(connection: sa.Connection, entity: type[Any], key: dict[str, Any], said: dict[str, Any]) -> None:
    """Update the row of this key, or insert it."""
    table = entity.__table__
    here = [table.c[name] == value for name, value in key.items()]
    if connection.execute(sa.select(sa.literal(1)).select_from(table).where(*here)).first() is None:
        connection.execute(sa.insert(table).values(**key, **said))
    elif said:
        connection.execute(sa.update(table).where(*here).values(**said))
