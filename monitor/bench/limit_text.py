"""A limit written in one line: `PROBE.QUANTITY high 65 deadband 1 on-delay 5 off-delay 5`."""

from __future__ import annotations

import math
import re

from monitor.bench.quantities import MEASURED, QUANTITIES, split_channel
from monitor.bench.sheets import SIDES, Level, Limit
from monitor.errors import BadInput

FORM = "PROBE.QUANTITY high|low LEVEL [deadband D] [on-delay SECONDS] [off-delay SECONDS]"
EXAMPLE = "room.relative_humidity high 65 deadband 2 on-delay 300 off-delay 300"
OPTIONS = ("deadband", "on-delay", "off-delay")
SOURCE = "command"

_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_LONGEST_S = 86400.0


def parse_limit(text: str) -> tuple[str, Limit]:
    """Read a limit; give the probe's name and the limit, whose role has the same name.

    Deadband in the quantity's unit and delays in seconds are 0 where left out. The limit's key
    names probe, quantity, side and level, so that several limits stay apart.

    Raises:
        BadInput: what was found, what was expected and an example.
    """
    channel, words = _channel(text)
    probe, quantity = split_channel(channel)
    if not probe:
        raise _bad(text, "the probe's name is missing", FORM)
    _measured(text, quantity)
    if len(words) < 2:
        raise _bad(text, "the level is missing", FORM)
    side, at = words[0], _number(text, "the level", words[1])
    options = _options(text, words[2:])
    deadband = options.get("deadband", 0.0)
    limit = Limit(
        key=f"{channel} {side} {at:g}",
        role=probe,
        quantity=quantity,
        side=side,
        deadband=deadband,
        on_delay_ms=round(options.get("on-delay", 0.0) * 1000),
        off_delay_ms=round(options.get("off-delay", 0.0) * 1000),
        levels=(Level(at, "medium", SOURCE, "proposal", note="given with the command"),),
    )
    return probe, limit


def _channel(text: str) -> tuple[str, list[str]]:
    """Split off the channel, which may hold blanks: it ends before the first `high` or `low` after a point."""
    words = text.split()
    for index, word in enumerate(words):
        if word in SIDES and index and "." in words[index - 1]:
            return " ".join(words[:index]), words[index:]
    if not words or "." not in words[0]:
        raise _bad(text, "it does not begin with PROBE.QUANTITY", FORM)
    raise _bad(text, f"the side is {words[1]!r}" if len(words) > 1 else "the side is missing", "high or low")


def _measured(text: str, quantity: str) -> None:
    expected = "one of " + ", ".join(MEASURED)
    if quantity not in QUANTITIES:
        raise _bad(text, f"the quantity {quantity!r} is not known", expected)
    if QUANTITIES[quantity].derived:
        found = f"the quantity {quantity!r} is derived: it takes a sheet to say of which air and which surface"
        raise _bad(text, found, expected)


def _options(text: str, words: list[str]) -> dict[str, float]:
    options: dict[str, float] = {}
    for name, number in zip(words[::2], [*words[1::2], ""], strict=False):
        if name not in OPTIONS:
            raise _bad(text, f"{name!r} is not known here", "one of " + ", ".join(OPTIONS))
        if name in options:
            raise _bad(text, f"{name} stands there twice", "each of them once")
        value = _number(text, name, number)
        if value < 0 or (name != "deadband" and value > _LONGEST_S):
            raise _bad(text, f"{name} is {number}", "0 or more" + ("" if name == "deadband" else ", a day at most"))
        if name != "deadband" and abs(value * 1000 - round(value * 1000)) > 1e-6:
            raise _bad(text, f"{name} is {number}", "seconds in whole milliseconds")
        options[name] = value
    return options


def _number(text: str, what: str, word: str) -> float:
    if not _NUMBER.fullmatch(word) or not math.isfinite(float(word)):
        raise _bad(text, f"{what} is {word!r}" if word else f"{what} has no number", "a decimal number with a point")
    value = float(word)
    if float(f"{value:g}") != value:
        raise _bad(text, f"{what} is {word}", "six figures at most, as the day-book keeps")
    return value


def _bad(text: str, found: str, expected: str) -> BadInput:
    return BadInput(f"limit {text!r}", found, expected, f"Write for instance: {EXAMPLE}")
