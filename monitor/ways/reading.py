"""Reads how to be told from a studio's file; every mistake is noted with its line and key."""

from __future__ import annotations

import re
from collections.abc import Callable
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from monitor.bench.sheets import PRIORITIES
from monitor.tomlfile import Table, shown
from monitor.ways import (
    ALWAYS,
    PLAIN_PORT,
    TLS_PORT,
    WHEN,
    BrokerConfig,
    LineConfig,
    MessageConfig,
    Night,
    TellConfig,
    WayConfig,
)

LINES_OF_A_CHIP = 1024
HIGHEST_PORT = 65535

_NAME = re.compile(r"[^\W_](?:[\w -]{0,38}\w)?")
_CHIP = re.compile(r"gpiochip\d{1,3}")
_HOST = re.compile(r"[A-Za-z0-9:](?:[A-Za-z0-9.:-]{0,251}[A-Za-z0-9])?")
_TOPIC = re.compile(r"[^\s/+#$\x00-\x1f][^\s+#\x00-\x1f]{0,98}(?<!/)")
_CLOCK = re.compile(r"([01]\d|2[0-3]):([0-5]\d)")


def read_telling(root: Table, studio: Table) -> TellConfig:
    """Read `[[tell]]`, `[overnight]`, `[self_test]` and the studio's `time_zone`; notes their mistakes."""
    names: dict[str, int] = {}
    lines: dict[tuple[str, int], int] = {}
    ways = tuple(_way(table, names, lines) for table in root.tables("tell"))
    trial = root.table("self_test")
    trial.only(("at",))
    return TellConfig(ways, _night(root.table("overnight")), _minute(trial, "at", "09:00"), _time_zone(studio))


def _way(table: Table, names: dict[str, int], lines: dict[tuple[str, int], int]) -> WayConfig:
    key = table.choice("way", KEYS)
    own, least, read = KEYS.get(key, ((), "low", None))
    everyone = [name for keys, _, _ in KEYS.values() for name in keys] if read is None else own
    table.only(("way", "name", "from", "when", *dict.fromkeys(everyone)))
    common = (
        key, _name(table, names), table.choice("from", PRIORITIES, least), table.choice("when", WHEN, ALWAYS)
    )  # fmt: skip
    way = WayConfig(*common) if read is None else read(table, common)
    if isinstance(way, LineConfig):
        _own_line(table, way, lines)
    return way


Common = tuple[str, str, str, str]


def _line(table: Table, common: Common) -> WayConfig:
    chip = table.text("chip", "gpiochip0")
    if chip and not _CHIP.fullmatch(chip):
        table.fault("chip", f"is {chip!r}", "gpiochipNUMBER, for instance gpiochip0", "`gpiodetect` lists them.")
    line = _whole(table, "line", 0, LINES_OF_A_CHIP - 1)
    return LineConfig(*common, chip, line, table.flag("active_low", default=False))


def _own_line(table: Table, way: LineConfig, lines: dict[tuple[str, int], int]) -> None:
    at = table.doc.lines.get((*table.path, "line"), 0)
    other = lines.setdefault((way.chip, way.line), at)
    if "line" in table.data and other != at:
        found = f"{way.chip} line {way.line} is taken by the way on line {other}"
        table.fault("line", found, "a line of its own", "Mend one of the two.")


def _message(table: Table, common: Common) -> WayConfig:
    return MessageConfig(*common, _file(table, "url_file"), table.flag("self_test", default=False))


def _broker(table: Table, common: Common) -> WayConfig:
    host, topic = table.text("host"), table.text("topic", "benchblotter")
    if host and not _HOST.fullmatch(host):
        table.fault("host", f"is {host!r}", "a machine's name or address, without port", "Mend it.")
    if topic and not _TOPIC.fullmatch(topic):
        do = "Write a plain one, for instance studio/bench-blotter."
        table.fault("topic", f"is {topic!r}", "no blanks, no + or #, no / at its ends, at most 100 characters", do)
    tls = table.flag("tls", default=False)
    port = _whole(table, "port", 1, HIGHEST_PORT, TLS_PORT if tls else PLAIN_PORT)
    user = table.text("user", "") if "user" in table.data else ""
    password = _file(table, "password_file") if "password_file" in table.data else ""
    if "password_file" in table.data and "user" not in table.data:
        table.fault("password_file", "stands without user", "both or none", "Add user.")
    ca_file = _file(table, "ca_file") if "ca_file" in table.data else ""
    if "ca_file" in table.data and not tls:
        table.fault("ca_file", "stands without tls = true", "both or none", "Add tls = true.")
    return BrokerConfig(*common, host, port, topic, user, password, tls, ca_file)


#: way -> its own keys, the least priority it is told of when nothing is said, and how it is read
KEYS: dict[str, tuple[tuple[str, ...], str, Callable[[Table, Common], WayConfig] | None]] = {
    "lamp": (("chip", "line", "active_low"), "low", _line),
    "sounder": (("chip", "line", "active_low"), "low", _line),
    "message": (("url_file", "self_test"), "high", _message),
    "mqtt": (("host", "port", "topic", "user", "password_file", "tls", "ca_file"), "low", _broker),
}


def _name(table: Table, seen: dict[str, int]) -> str:
    name = table.text("name")
    if name and not _NAME.fullmatch(name):
        expected = "1 to 40 letters, digits, blanks, hyphens or underscores, letter or digit first, no blank last"
        table.fault("name", f"is {name!r}", expected, "Choose another name; it stands in the day-book.")
    line = table.doc.lines.get((*table.path, "name"), 0)
    if name in seen:
        table.fault("name", f"is {name!r}, as on line {seen[name]}", "a name of its own", "Rename one of them.")
    elif name:
        seen[name] = line
    return name


def _whole(table: Table, key: str, low: int, high: int, default: int | None = None) -> int:
    value = table.data.get(key, default)
    if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
        return value
    found = "is missing" if value is None else f"is {shown(value)}"
    table.fault(key, found, f"a whole number from {low} to {high}", f"Write {key} = ... without quotes.")
    return low


def _file(table: Table, key: str) -> str:
    path = table.text(key)
    if path and not path.startswith("/"):
        do = "Write the whole path; the file itself should be the station's own, mode 0600."
        table.fault(key, f"is {path!r}", "a path from the root, beginning with /", do)
    return path


def _night(table: Table) -> Night:
    table.only(("from", "to"))
    night = Night(_minute(table, "from", "19:00"), _minute(table, "to", "07:00"))
    if night.from_minute == night.to_minute:
        key = "to" if "to" in table.data else "from"
        table.fault(key, "the night begins and ends at one time", "two times", "Mend one of them.")
    return night


def _minute(table: Table, key: str, default: str) -> int:
    text = table.text(key, default)
    found = _CLOCK.fullmatch(text or default)
    if found is None:
        table.fault(key, f"is {text!r}", "local time as HH:MM, 00:00 to 23:59", f"Write for instance {default}.")
        found = _CLOCK.fullmatch(default)
    assert found is not None
    return int(found[1]) * 60 + int(found[2])


def _time_zone(studio: Table) -> str:
    name = studio.text("time_zone", "") if "time_zone" in studio.data else ""
    try:
        return ZoneInfo(name).key if name else ""
    except (ZoneInfoNotFoundError, ValueError, OSError):
        do = "Write for instance Europe/Lisbon, or leave it out for the machine's own."
        studio.fault("time_zone", f"is {name!r}", "a time zone that this machine knows", do)
        return ""
