"""A line of a GPIO chip, through the kernel's character device."""

from __future__ import annotations

from typing import Any

from monitor.station.telling.message import NotTold
from monitor.station.telling.player import Line
from monitor.ways import LineConfig

CONSUMER = "benchblotter"


class GpioLine:
    """A line that was requested as an output."""

    def __init__(self, request: Any, line: int, on: Any, off: Any) -> None:  # noqa: ANN401
        self._request = request
        self._line = line
        self._values = {True: on, False: off}

    def set(self, on: bool) -> None:
        """Switch it; OSError when that fails."""
        self._request.set_value(self._line, self._values[on])

    def release(self) -> None:
        """Let go of it."""
        self._request.release()


def open_line(config: LineConfig) -> Line:
    """Request a line as an output that is off; NotTold when it can't be had."""
    thing = f"{config.way} {config.name}"
    try:
        import gpiod
        from gpiod.line import Direction, Value
    except ImportError as error:
        do = "Install it for the station's Python: python -m pip install 'gpiod>=2.5'"
        raise NotTold(thing, "the package gpiod is missing", "gpiod 2", do) from error
    where = f"/dev/{config.chip} line {config.line}"
    settings = gpiod.LineSettings(
        direction=Direction.OUTPUT, active_low=config.active_low, output_value=Value.INACTIVE
    )
    try:
        request = gpiod.request_lines(f"/dev/{config.chip}", consumer=CONSUMER, config={config.line: settings})
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        do = "See with gpioinfo that the line is there and free, and that the station's user is in the group gpio."
        raise NotTold(thing, f"{where}: {str(why).lower()}", "a free line", do) from error
    return GpioLine(request, config.line, Value.ACTIVE, Value.INACTIVE)
