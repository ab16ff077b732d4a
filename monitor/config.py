"""A studio's configuration: benches, probes, where to listen."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ProbeConfig:
    """A probe as configured: `bus` is `i2c-1` or `spi-0.0`; `thermocouple` a type letter or ""."""

    name: str
    bench: str
    part: str
    bus: str
    interval_ms: int
    address: int = 0
    thermocouple: str = ""


@dataclass(frozen=True)
class Studio:
    """A studio's whole configuration."""

    name: str
    board: str
    benches: tuple[str, ...]
    probes: tuple[ProbeConfig, ...]
    listen_host: str = "127.0.0.1"
    listen_port: int = 8460
    store: str = ""
