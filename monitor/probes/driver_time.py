"""Which time a sensor driver sleeps in: real seconds, or those of the simulated wire it talks over.

The drivers call `time.sleep`. On a simulated wire that would hold up a whole story, so the name
`time` inside the driver's module is bound to an object that asks, thread by thread, which bus is being
talked to. A thread that named no bus, and every real bus, gets the machine's own time.
"""

from __future__ import annotations

import threading
import time
from types import ModuleType
from typing import Any

from monitor.probes.bus import Bus


class _Here(threading.local):
    bus: Bus | None = None


_here = _Here()


class DriverTime:
    """Stands in for the module `time`; all but `sleep` is the module's own."""

    def sleep(self, seconds: float) -> None:
        """Sleep on the bus this thread is talking to, or in real time."""
        bus = _here.bus
        if bus is None:
            time.sleep(seconds)
        else:
            bus.sleep(seconds)

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever the module holds
        return getattr(time, name)


DRIVER_TIME = DriverTime()


def bind(driver: ModuleType) -> None:
    """Bind `time`, or `sleep`, in a driver's module to `DRIVER_TIME`; a second call changes nothing."""
    for name, stand_in in (("time", DRIVER_TIME), ("sleep", DRIVER_TIME.sleep)):
        if hasattr(driver, name):
            setattr(driver, name, stand_in)


class sleeping_on:
    """While inside, this thread's drivers sleep on `bus`."""

    def __init__(self, bus: Bus) -> None:
        self._bus = bus

    def __enter__(self) -> None:
        self._before = _here.bus
        _here.bus = self._bus

    def __exit__(self, *_: object) -> None:
        _here.bus = self._before
