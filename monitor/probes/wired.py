"""What every wired probe shares: opening that may fail and is tried again, gaps with their reason."""

from __future__ import annotations

import errno
from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import Any, TypeVar

from monitor.bench.quantities import QUANTITIES
from monitor.bench.readings import Quality
from monitor.config import ProbeConfig
from monitor.errors import BusError
from monitor.probes.bus import BusLine
from monitor.probes.probe import Sample

R = TypeVar("R")
NOT_ACKNOWLEDGED = frozenset({errno.EREMOTEIO, errno.ENXIO})


class NoReading(Exception):
    """A read that gave nothing to trust.

    Args:
        quality: the gap's reason.
        detail: what was seen, in words.
        raw: the bytes that came, in hexadecimal.
        do: what to do, where it is known better than from the quality.
    """

    def __init__(self, quality: Quality, detail: str, raw: str = "", do: str = "") -> None:
        super().__init__(detail)
        self.quality = quality
        self.detail = detail
        self.raw = raw
        self.do = do


def from_os_error(why: OSError) -> NoReading:
    """Tell a chip that does not answer from a bus that does not work."""
    if why.errno in NOT_ACKNOWLEDGED:
        return NoReading(Quality.ABSENT, "nothing acknowledged at its address")
    return NoReading(Quality.BUS, f"the bus reported: {why.strerror or why}")


def on_grid(quantity: str, value: float) -> float:
    """Round a value to its quantity's grid, so that what is stored is what is judged."""
    per_unit = round(1 / QUANTITIES[quantity].resolution)
    return round(value * per_unit) / per_unit


class WiredProbe(ABC):
    """A probe on a bus of this machine; `trouble` is what the last read met, None when it was well.

    Args:
        config: its table in the configuration.
        line: its bus.
        quantities: what it measures, in order.
        simulated: whether the chip is simulated.
    """

    retries = 0

    def __init__(
        self, config: ProbeConfig, line: BusLine[Any], quantities: tuple[str, ...], *, simulated: bool
    ) -> None:
        self.config = config
        self.line = line
        self.trouble: NoReading | None = None
        self._quantities = quantities
        self._simulated = simulated
        self._serial = ""

    @property
    def name(self) -> str:
        """Give the probe's name in the configuration."""
        return self.config.name

    @property
    def quantities(self) -> tuple[str, ...]:
        """List what it measures, in the order `read` gives it."""
        return self._quantities

    @property
    def serial(self) -> str:
        """Give the serial number of the chip last met, in hexadecimal, or "" if none was met or it has none."""
        return self._serial

    @property
    def source(self) -> str:
        """Tell part, serial number and bus in words."""
        number = [f"no. {self._serial}"] if self._serial else []
        words = [self.config.part.upper(), *number, f"on {self.config.bus}"]
        if self.config.address:
            words.append(f"at 0x{self.config.address:02x}")
        return ("simulated " if self._simulated else "") + " ".join(words)

    def open(self) -> None:
        """Try to open it; an absent probe stays closed, reads as a gap and is tried again at every read."""
        try:
            self._guarded(self._open)
        except NoReading as why:
            self.trouble = why

    @abstractmethod
    def settle(self) -> None:
        """Wait on the bus's time until a chip just opened has its first result."""

    def read(self) -> list[Sample]:
        """Read every quantity once; a sick sensor gives gaps, never an exception and never the last value."""
        for attempt in range(self.retries + 1):
            try:
                samples = self._guarded(self._read)
            except NoReading as why:
                if attempt == self.retries:
                    self.trouble = why
                    self._lost(why.quality)
                    return [Sample(q, None, why.quality, why.raw) for q in self._quantities]
            else:
                self.trouble = None
                return samples
        raise AssertionError("a read ends in samples or in gaps")

    def _guarded(self, call: Callable[[], R]) -> R:
        try:
            return call()
        except OSError as why:
            if why.errno == errno.ENODEV:  # the bus was unplugged: its file must be opened anew
                self.line.drop()
            raise from_os_error(why) from why
        except BusError as why:
            raise NoReading(Quality.BUS, f"{why.thing}: {why.found}", do=why.do) from why

    @abstractmethod
    def _open(self) -> None:
        """Meet the chip; OSError, BusError or NoReading if it is not there."""

    @abstractmethod
    def _read(self) -> list[Sample]:
        """Read once, opening first where needed."""

    @abstractmethod
    def _lost(self, quality: Quality) -> None:
        """Forget the chip if it must be met anew."""
