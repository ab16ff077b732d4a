"""Readings as a text file: the one form in which they come in and go out.

Long form, UTF-8, one reading a row, `time,probe,quantity,value,unit,quality`: ISO 8601 in UTC,
the quantity's own unit, an empty value for a gap. What `format_row` writes, `read` gives back
to the last bit.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from monitor.bench.quantities import MEASURED, QUANTITIES
from monitor.bench.readings import QUALITY_WORDS, Quality
from monitor.clock import from_iso, iso
from monitor.errors import BadInput

COLUMNS = ("time", "probe", "quantity", "value", "unit", "quality")
HEADER = ",".join(COLUMNS)

_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_YEAR_10000_MS = 253_402_300_800_000
_CONTROL = re.compile(r"[\x00-\x1f\x7f]")


@dataclass(frozen=True, slots=True)
class CsvRow:
    """One row of a readings file.

    Attributes:
        line: line in the file, the header being 1.
        at_ms: UTC in ms since 1970.
        probe, quantity: whose reading of what.
        value: in `unit`; None for a gap.
        unit: unit of the quantity.
        quality: what the driver knew.
    """

    line: int
    at_ms: int
    probe: str
    quantity: str
    value: float | None
    unit: str
    quality: Quality


def format_row(at_ms: int, probe: str, quantity: str, value: float | None, quality: Quality) -> str:
    """Write one row without its line end; the value in as many digits as give it back exactly.

    Raises:
        ValueError: a derived or unknown quantity, a value that is not finite, or one that
            does not go with its quality.
    """
    if quantity not in MEASURED:
        raise ValueError(f"{quantity!r} is never in a readings file; expected one of {', '.join(MEASURED)}")
    if (value is None) != quality.is_gap or (value is not None and not math.isfinite(value)):
        raise ValueError(f"{probe}.{quantity}: value {value} does not go with quality {quality.word}")
    text = "" if value is None else repr(float(value))
    return f"{iso(at_ms)},{_quoted(probe)},{quantity},{text},{QUANTITIES[quantity].unit},{quality.word}"


def read(path: Path) -> Iterator[CsvRow]:
    """Read a file row by row, in the memory of one row a channel.

    Raises:
        BadInput: at the first wrong row, naming file and line. Rows before it have been given
            by then: call `check` first where nothing of a wrong file may be used.
    """
    try:
        with path.open(encoding="utf-8-sig", errors="surrogateescape", newline="") as file:
            yield from read_text(str(path), file)
    except OSError as error:
        why = (error.strerror or "cannot be read").lower()
        expected = "a readable file of readings"
        raise BadInput(str(path), why, expected, "Check the path and its permissions.") from error


def check(path: Path) -> int:
    """Read a whole file and use nothing of it; give the count of its rows, BadInput as `read`."""
    return sum(1 for _ in read(path))


def read_text(name: str, file: io.TextIOBase | Iterator[str]) -> Iterator[CsvRow]:
    """Read rows from text that is open already; `name` stands in messages."""
    lines = csv.reader(file, strict=True)
    latest: dict[tuple[str, str], tuple[int, int]] = {}
    line = 0
    try:
        _header(name, next(lines, None))
        line = lines.line_num
        for fields in lines:
            line += 1
            _utf8(name, line, fields)
            row = _row(name, line, fields)
            _forward(name, row, latest)
            yield row
            line = lines.line_num
    except csv.Error as error:
        _bad(name, line + 1, f"is not CSV ({error})", f"{len(COLUMNS)} columns with commas between", "Mend the row.")


def _bad(name: str, line: int, found: str, expected: str, do: str) -> NoReturn:
    raise BadInput(f"{name}, line {line}", found, expected, do) from None


def _header(name: str, fields: list[str] | None) -> None:
    if fields is None:
        _bad(name, 1, "the file is empty", f"the header {HEADER}", "Check that it is the right file.")
    if tuple(fields) != COLUMNS:
        found = f"the header is {','.join(fields)[:80]!r}"
        _bad(name, 1, found, HEADER, "Write the columns in this order under these names.")


def _utf8(name: str, line: int, fields: list[str]) -> None:
    """Refuse bytes that were no UTF-8; they are read as lone surrogates so that the line is known."""
    try:
        "".join(fields).encode()
    except UnicodeEncodeError as error:
        byte = ord(error.object[error.start]) - 0xDC00
        _bad(name, line, f"byte 0x{byte:02X} is not UTF-8", "text in UTF-8", "Save the file as UTF-8.")


def _row(name: str, line: int, fields: list[str]) -> CsvRow:
    if len(fields) != len(COLUMNS):
        expected = f"{len(COLUMNS)} ({HEADER})"
        _bad(name, line, f"{len(fields)} columns", expected, "Mend the row; an empty value still has its commas.")
    time, probe, quantity, value, unit, quality = fields
    if not probe.strip() or _CONTROL.search(probe):
        _bad(name, line, f"the probe's name is {probe!r}", "a name in plain text", "Name the probe.")
    _quantity(name, line, quantity, unit)
    at_ms, word = _time(name, line, time), _quality(name, line, quality)
    return CsvRow(line, at_ms, probe, quantity, _value(name, line, value, word), unit, word)


def _quantity(name: str, line: int, quantity: str, unit: str) -> None:
    known = QUANTITIES.get(quantity)
    expected = "one of " + ", ".join(MEASURED)
    if known is None:
        _bad(name, line, f"the quantity {quantity!r} is not known", expected, "Mend the quantity.")
    if known.derived:
        do = "Take the row out: derived quantities are computed from the measured ones."
        _bad(name, line, f"the quantity {quantity!r} is derived", expected, do)
    if unit != known.unit:
        units = sorted({QUANTITIES[q].unit for q in MEASURED})
        what = "does not go with it" if unit in units else "is not a unit of these files"
        _bad(name, line, f"the unit {unit!r} {what}", f"{known.unit} for {quantity}", "Convert the values.")


def _time(name: str, line: int, text: str) -> int:
    expected = "ISO 8601 in UTC, for instance 2026-05-04T09:00:00.000Z"
    do = "Write the time with a Z, or with its offset from UTC."
    try:
        at_ms = from_iso(text)
    except (ValueError, OverflowError) as error:
        found = f"the time {text!r} " + ("has no offset" if "has no offset" in str(error) else "cannot be read")
        _bad(name, line, found, expected, do)
    if not 0 <= at_ms < _YEAR_10000_MS:
        _bad(name, line, f"the time {text!r} lies outside the years 1970 to 9999", expected, do)
    return at_ms


def _quality(name: str, line: int, text: str) -> Quality:
    word = QUALITY_WORDS.get(text)
    if word is None:
        _bad(name, line, f"the quality is {text!r}", "one of " + ", ".join(QUALITY_WORDS), "Mend the quality.")
    return word


def _value(name: str, line: int, text: str, quality: Quality) -> float | None:
    if not text and quality.is_gap:
        return None
    if quality.is_gap:
        expected = "no value, because a reading of this quality has none"
        found = f"the value is {text!r} with quality {quality.word!r}"
        _bad(name, line, found, expected, "Empty it, or mend the quality.")
    if not text:
        do = "Write the value, or the quality that tells why there is none."
        _bad(name, line, f"the value is empty with quality {quality.word!r}", "a number", do)
    if not _NUMBER.fullmatch(text) or not math.isfinite(float(text)):
        _bad(name, line, f"the value is {text!r}", "a finite decimal number with a point", "Mend the value.")
    return float(text)


def _forward(name: str, row: CsvRow, latest: dict[tuple[str, str], tuple[int, int]]) -> None:
    """Refuse a row of a channel that does not come after the channel's last one."""
    channel = (row.probe, row.quantity)
    at_ms, line = latest.get(channel, (row.at_ms - 1, 0))
    latest[channel] = (row.at_ms, row.line)
    words = f"{row.probe}.{row.quantity}"
    if row.at_ms == at_ms:
        found = f"{words} at {iso(at_ms)} stands on line {line} and again on line {row.line}"
        _bad(name, row.line, found, "one reading of a channel at an instant", "Take one of the two out.")
    if row.at_ms < at_ms:
        found = f"{words} goes back from {iso(at_ms)} on line {line} to {iso(row.at_ms)} on line {row.line}"
        _bad(name, row.line, found, "rows in order of time within a channel", "Sort the file by time.")


def _quoted(text: str) -> str:
    if not any(mark in text for mark in ',"\r\n'):
        return text
    return '"' + text.replace('"', '""') + '"'
