"""A studio's configuration: benches, probes, where to listen, ways to be told."""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from monitor.bench.quantities import QUANTITIES
from monitor.tomlfile import Problems, Table, open_toml, raise_problems
from monitor.ways import TellConfig
from monitor.ways.reading import read_telling

LOWEST_ADDRESS, HIGHEST_ADDRESS = 0x44, 0x46
DEFAULT_LISTEN = "127.0.0.1:8460"
HIGHEST_PORT = 65535

_NAME = re.compile(r"[^\W_](?:[\w -]{0,38}\w)?")
_BOARD = re.compile(r"[a-z0-9][a-z0-9-]{0,30}")


@dataclass(frozen=True)
class ProbeConfig:
    """A probe as configured.

    Attributes:
        bus: `i2c-1` or `spi-0.0`.
        thermocouple: a type letter, or "".
        quantity: what it was said to measure, of a part that leaves the choice; "" for what the part does by itself.
    """

    name: str
    bench: str
    part: str
    bus: str
    interval_ms: int
    address: int = 0
    thermocouple: str = ""
    quantity: str = ""


@dataclass(frozen=True)
class Studio:
    """A studio's whole configuration.

    `store` is a `postgresql://` address, or "" for SQLite in the data directory.
    """

    name: str
    board: str
    benches: tuple[str, ...]
    probes: tuple[ProbeConfig, ...]
    listen_host: str = "127.0.0.1"
    listen_port: int = 8460
    store: str = ""
    tell: TellConfig = field(default_factory=TellConfig)


@dataclass(frozen=True)
class Part:
    """What a sensor part measures and how it is connected.

    Attributes:
        quantities: keys of `monitor.bench.quantities.QUANTITIES`, in the driver's order.
        bus: form of its bus's name; `bus_words` shows it.
        shortest_s, longest_s: the interval between readings that makes sense for it.
        keys: the configuration keys that it has beyond those of every probe.
        choices: what the key `quantity` may say instead, for a part that measures whatever it touches.
    """

    quantities: tuple[str, ...]
    bus: re.Pattern[str]
    bus_words: str
    shortest_s: float
    longest_s: float
    keys: tuple[str, ...]
    choices: tuple[str, ...] = ()


PARTS: dict[str, Part] = {
    "sht45": Part(
        ("air_temperature", "relative_humidity"), re.compile(r"i2c-\d{1,3}"), "i2c-NUMBER, for instance i2c-1",
        1.0, 3600.0, ("address",),
    ),
    "max31856": Part(
        ("tool_temperature",), re.compile(r"spi-\d{1,3}\.\d{1,3}"), "spi-BUS.SELECT, for instance spi-0.0",
        0.1, 10.0, ("thermocouple", "quantity"),
        choices=("tool_temperature", "surface_temperature", "bond_line_temperature", "face_temperature"),
    ),
}  # fmt: skip


def load_studio(path: Path) -> Studio:
    """Read a studio's configuration.

    Raises:
        BadInput: the file cannot be read.
        ManyProblems: every mistake in it, each with file, line and key.
    """
    problems: Problems = []
    root = open_toml(path, problems).root
    if problems:
        raise_problems(str(path), problems)
    root.only(("studio", "benches", "probes", "dashboard", "store", "tell", "overnight", "self_test"))
    studio = root.table("studio")
    studio.only(("name", "board", "time_zone"))
    name, board = studio.text("name"), studio.text("board", "board")
    if board and not _BOARD.fullmatch(board):
        do = "Rename it; it goes into the numbers of the day-book's rows."
        studio.fault("board", f"is {board!r}", "small letters, digits and hyphens", do)
    benches = _benches(root)
    probes = _probes(root, benches)
    host, port = _listen(root.table("dashboard"))
    store, tell = _store(root.table("store")), read_telling(root, studio)
    raise_problems(str(path), problems)
    return Studio(name, board, benches, probes, host, port, store, tell)


def _benches(root: Table) -> tuple[str, ...]:
    names: list[str] = []
    seen: dict[str, int] = {}
    for bench in root.tables("benches"):
        bench.only(("name",))
        names.append(_name(bench, seen))
    if not root.data.get("benches"):
        root.fault("benches", "there is no bench", "one at least", 'Add [[benches]] with name = "...".')
    return tuple(names)


def _name(table: Table, seen: dict[str, int]) -> str:
    """Read a name that must be unlike those seen before; `seen` maps a name to its line."""
    name = table.text("name")
    if name and not _NAME.fullmatch(name):
        expected = "1 to 40 letters, digits, blanks, hyphens or underscores, letter or digit first, no blank last"
        do = "Choose another name; it stands in files and in the day-book."
        table.fault("name", f"is {name!r}", expected, do)
    line = table.doc.lines.get((*table.path, "name"), 0)
    if name in seen:
        table.fault("name", f"is {name!r}, as on line {seen[name]}", "a name of its own", "Rename one of them.")
    elif name:
        seen[name] = line
    return name


def _probes(root: Table, benches: tuple[str, ...]) -> tuple[ProbeConfig, ...]:
    names: dict[str, int] = {}
    chips: dict[tuple[str, int], int] = {}
    probes = [_probe(table, benches, names, chips) for table in root.tables("probes")]
    if not root.data.get("probes"):
        root.fault("probes", "there is no probe", "one at least", "Add [[probes]] with name, bench, part and bus.")
    return tuple(probes)


def _probe(
    table: Table, benches: tuple[str, ...], names: dict[str, int], chips: dict[tuple[str, int], int]
) -> ProbeConfig:
    key = table.choice("part", PARTS)
    part = PARTS.get(key)
    common = ("name", "bench", "part", "bus", "interval_s")
    table.only((*common, *(part.keys if part else ("address", "thermocouple", "quantity"))))
    name, bench, bus = _name(table, names), _bench(table, benches), table.text("bus")
    address, letter, quantity = 0, "", ""
    _bus(table, bus, key)
    shortest_s = part.shortest_s if part else min(p.shortest_s for p in PARTS.values())
    longest_s = part.longest_s if part else max(p.longest_s for p in PARTS.values())
    interval_ms = _interval(table, shortest_s, longest_s)
    if "address" in (part.keys if part else table.data):
        address = _address(table)
    if "thermocouple" in (part.keys if part else table.data):
        letter = table.choice("thermocouple", ("K", "T"))
    if "quantity" in table.data and (part is None or part.choices):
        quantity = table.choice("quantity", part.choices if part else QUANTITIES)
    if part:
        _own_chip(table, bus, address, chips)
    return ProbeConfig(name, bench, key, bus, interval_ms, address, letter, quantity)


def _bus(table: Table, bus: str, key: str) -> None:
    """Note a bus that the part cannot be on; of a part that is not known, one that no part can be on."""
    parts = {key: PARTS[key]} if key in PARTS else PARTS
    if bus and not any(part.bus.fullmatch(bus) for part in parts.values()):
        words = " or ".join(f"{part.bus_words}, for part {name}" for name, part in parts.items())
        table.fault("bus", f"is {bus!r}", words, "Write the bus that the probe is wired to.")


def _bench(table: Table, benches: tuple[str, ...]) -> str:
    bench = table.text("bench")
    if bench and bench not in benches:
        known = ", ".join(repr(b) for b in dict.fromkeys(benches) if b) or "none"
        table.fault("bench", f"is {bench!r}", f"a bench of this file ({known})", "Add the bench or mend the name.")
    return bench


def _interval(table: Table, shortest_s: float, longest_s: float) -> int:
    seconds = table.number("interval_s", "seconds", shortest_s, longest_s)
    if seconds is None:
        return 0
    milliseconds = round(seconds * 1000)
    if milliseconds / 1000 != seconds:
        table.fault("interval_s", f"is {seconds!r}", "whole milliseconds", f"Write {milliseconds / 1000:g}.")
    return milliseconds


def _address(table: Table) -> int:
    value = table.data.get("address", LOWEST_ADDRESS)
    right = isinstance(value, int) and not isinstance(value, bool) and LOWEST_ADDRESS <= value <= HIGHEST_ADDRESS
    if not right:
        found = f"0x{value:02X}" if isinstance(value, int) and not isinstance(value, bool) else repr(value)
        table.fault("address", f"is {found}", "0x44, 0x45 or 0x46", "The order code of the part tells its address.")
        return LOWEST_ADDRESS
    return int(value)


def _own_chip(table: Table, bus: str, address: int, chips: dict[tuple[str, int], int]) -> None:
    """Note two probes that would speak to one and the same chip."""
    line = table.doc.lines.get((*table.path, "bus"), 0)
    other = chips.setdefault((bus, address), line)
    if bus and other != line:
        where = f"{bus} address 0x{address:02X}" if address else bus
        found = f"{where} is taken by the probe on line {other}"
        table.fault("bus", found, "a chip of its own", "Mend one of the two.")


def _listen(table: Table) -> tuple[str, int]:
    table.only(("listen",))
    listen = table.text("listen", DEFAULT_LISTEN)
    host, _, port = listen.rpartition(":")
    bare = host[1:-1] if host.startswith("[") and host.endswith("]") else host
    right = re.fullmatch(r"\d{1,5}", port, re.ASCII) is not None and 1 <= int(port) <= HIGHEST_PORT
    if listen and not (bare and right):
        expected = f"HOST:PORT with a port from 1 to {HIGHEST_PORT}"
        table.fault("listen", f"is {listen!r}", expected, f"Write for instance {DEFAULT_LISTEN}.")
    if bare and not _is_loopback(bare):
        do = "No one signs in in this version: whoever reached the port could write in the day-book. Use 127.0.0.1."
        table.fault("listen", f"{bare} can be reached from other machines", "this machine alone (127.0.0.1)", do)
    return (bare, int(port)) if bare and right else ("127.0.0.1", 8460)


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    parse: Callable[[str], ipaddress.IPv4Address | ipaddress.IPv6Address] = ipaddress.ip_address
    try:
        return parse(host).is_loopback
    except ValueError:
        return False


def _store(table: Table) -> str:
    table.only(("url",))
    url = table.text("url", "") if "url" in table.data else ""
    if url and not url.startswith("postgresql://"):
        do = "Leave the key out to keep SQLite in the data directory."
        table.fault("url", "has another form", "postgresql://USER@HOST/DATABASE", do)
    elif url and not _port_in_range(url):
        table.fault("url", "its port is none", f"a port from 1 to {HIGHEST_PORT}, or no port", "Mend the port.")
    return url


def _port_in_range(url: str) -> bool:
    """Tell whether the port of an address is one, or left out; the address itself may hold a password."""
    try:
        return urlsplit(url).port != 0
    except ValueError:
        return False
