"""Readings as text: what is written is read back to the last bit, and no wrong row gets through."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.bench.quantities import MEASURED, QUANTITIES
from monitor.bench.readings import Quality
from monitor.clock import iso
from monitor.errors import BadInput
from monitor.probes.readings_csv import HEADER, CsvRow, check, format_row, read, read_text

T0 = 1_777_885_200_000
GOOD = [
    HEADER,
    "2026-05-04T09:00:00.000Z,room,air_temperature,21.37,degC,good",
    "2026-05-04T09:00:00.000Z,room,relative_humidity,100.0,%RH,clipped",
    "2026-05-04T11:00:01.5+02:00,room,air_temperature,,degC,checksum",
    "2026-05-04T09:00:02.000Z,\"quay, north\",mass,-0.0,g,good",
]  # fmt: skip


def write(tmp_path: Path, lines: list[str]) -> Path:
    path = tmp_path / "readings.csv"
    path.write_text("".join(f"{line}\n" for line in lines))
    return path


def said(tmp_path: Path, lines: list[str]) -> str:
    path = write(tmp_path, lines)
    with pytest.raises(BadInput) as caught:
        check(path)
    text = str(caught.value)
    assert text.startswith(f"{path}, line ")
    return text.removeprefix(f"{path}, ")


def test_rows_are_read(tmp_path: Path) -> None:
    path = write(tmp_path, GOOD)
    assert list(read(path)) == [
        CsvRow(2, T0, "room", "air_temperature", 21.37, "degC", Quality.GOOD),
        CsvRow(3, T0, "room", "relative_humidity", 100.0, "%RH", Quality.CLIPPED),
        CsvRow(4, T0 + 1500, "room", "air_temperature", None, "degC", Quality.CHECKSUM),
        CsvRow(5, T0 + 2000, "quay, north", "mass", -0.0, "g", Quality.GOOD),
    ]
    assert check(path) == 4


@pytest.mark.parametrize("change", [lambda b: b"\xef\xbb\xbf" + b, lambda b: b.replace(b"\n", b"\r\n")])
def test_a_mark_at_the_start_and_other_line_ends_change_nothing(tmp_path: Path, change: object) -> None:
    path = write(tmp_path, GOOD)
    rows = list(read(path))
    path.write_bytes(change(path.read_bytes()))  # type: ignore[operator]
    assert list(read(path)) == rows


def test_only_a_header_is_a_file_without_readings(tmp_path: Path) -> None:
    assert check(write(tmp_path, [HEADER])) == 0


ROW = "2026-05-04T09:00:00.000Z,room,air_temperature,21.37,degC,good"
ONE_MISTAKE = [
    ("2026-05-04T09:00:00.000Z", "2026-05-04T09:00:00.000", "the time '2026-05-04T09:00:00.000' has no offset"),
    ("2026-05-04T09:00:00.000Z", "4 May 2026", "the time '4 May 2026' cannot be read; expected ISO 8601 in UTC"),
    ("2026-05-04T09:00:00.000Z", "2026-02-30T09:00:00Z", "cannot be read"),
    ("2026-05-04T09:00:00.000Z", "", "the time '' cannot be read"),
    ("2026-05-04T09:00:00.000Z", "1969-12-31T23:59:59Z", "outside the years 1970 to 9999"),
    ("2026-05-04T09:00:00.000Z", "9999-12-31T23:59:59-14:00", "outside the years 1970 to 9999"),
    ("room", "", "the probe's name is ''"),
    ("room", "  ", "the probe's name is '  '"),
    ("room", "ro\tom", "the probe's name is 'ro\\tom'"),
    ("air_temperature", "temperature", "the quantity 'temperature' is not known; expected one of air_temperature"),
    ("air_temperature", "dew_point", "the quantity 'dew_point' is derived"),
    ("degC", "degF", "the unit 'degF' is not a unit of these files; expected degC for air_temperature"),
    ("degC", "%RH", "the unit '%RH' does not go with it; expected degC for air_temperature"),
    ("degC", "", "the unit '' is not a unit"),
    ("21.37", "21,37", "7 columns; expected 6"),
    ("21.37", '"21,37"', "the value is '21,37'; expected a finite decimal number"),
    ("21.37", "nan", "the value is 'nan'"),
    ("21.37", "inf", "the value is 'inf'"),
    ("21.37", "1e999", "the value is '1e999'"),
    ("21.37", "1_000", "the value is '1_000'"),
    ("21.37", " 21.37", "the value is ' 21.37'"),
    ("21.37", "٣", "the value is '٣'"),
    ("21.37", "", "the value is empty with quality 'good'; expected a number"),
    ("good", "open", "the value is '21.37' with quality 'open'; expected no value"),
    ("good", "fine", "the quality is 'fine'; expected one of good, clipped, absent"),
    ("good", "", "the quality is ''"),
    (",good", "", "5 columns; expected 6"),
    ("good", "good,", "7 columns; expected 6"),
    (ROW, "", "0 columns; expected 6"),
    ("room", 'ro"om"', None),
    ("room", '"room" x', "is not CSV"),
    ("room", '"room', "is not CSV"),
]


@pytest.mark.parametrize(("old", "new", "expected"), ONE_MISTAKE)
def test_each_mistake_is_told_at_its_line(tmp_path: Path, old: str, new: str, expected: str | None) -> None:
    lines = [HEADER, "2026-05-04T08:00:00Z,tent,mass,1,g,good", ROW.replace(old, new, 1), ROW.replace("room", "shop")]
    if expected is None:  # quotes inside a field that does not begin with one are plain text
        assert check(write(tmp_path, lines)) == 3
        return
    text = said(tmp_path, lines)
    assert text.startswith("line 3: ")
    assert expected in text


def test_a_repeated_instant_names_both_lines(tmp_path: Path) -> None:
    text = said(tmp_path, [*GOOD, ROW.replace("21.37", "5").replace("09:00:00.000Z", "09:00:03Z"),
                           ROW.replace("09:00:00.000Z", "11:00:03.0004+02:00")])  # fmt: skip
    assert text.startswith(
        "line 7: room.air_temperature at 2026-05-04T09:00:03.000Z stands on line 6 and again on line 7; expected one"
    )


def test_going_back_names_both_lines(tmp_path: Path) -> None:
    text = said(tmp_path, [*GOOD, ROW])
    assert text.startswith(
        "line 6: room.air_temperature goes back from 2026-05-04T09:00:01.500Z on line 4 to "
        "2026-05-04T09:00:00.000Z on line 6; expected rows in order of time within a channel"
    )


def test_other_channels_may_lie_behind(tmp_path: Path) -> None:
    assert check(write(tmp_path, [*GOOD, ROW.replace("room", "tent")])) == 5


@pytest.mark.parametrize(
    ("header", "expected"),
    [("time,probe,quantity,value,unit", "the header is 'time,probe"), (HEADER.replace("probe", "sensor"), "sensor")],
)
def test_another_header_is_told(tmp_path: Path, header: str, expected: str) -> None:
    text = said(tmp_path, [header, ROW])
    assert text.startswith("line 1: ")
    assert expected in text
    assert f"expected {HEADER}." in text


def test_an_empty_file_and_a_missing_one_are_told(tmp_path: Path) -> None:
    assert said(tmp_path, []).startswith("line 1: the file is empty")
    with pytest.raises(BadInput, match="no such file"):
        check(tmp_path / "none.csv")
    with pytest.raises(BadInput, match="is a directory"):
        check(tmp_path)


def test_bytes_that_are_no_text_are_told_at_their_line(tmp_path: Path) -> None:
    path = write(tmp_path, GOOD)
    filler = b"".join(f"{iso(T0 + n)},tent,mass,1.0,g,good\n".encode() for n in range(500))
    path.write_bytes(path.read_bytes() + filler + b"2026-05-04T12:00:00Z,caf\xe9,mass,1.0,g,good\n")
    with pytest.raises(BadInput, match="line 506: byte 0xE9 is not UTF-8"):
        check(path)


def test_a_field_without_end_is_told_and_not_swallowed(tmp_path: Path) -> None:
    text = said(tmp_path, [*GOOD, '2026-05-04T12:00:00Z,"room,mass,1,g,good', *["x" * 1000] * 200])
    assert text.startswith("line 6: is not CSV")


def test_reading_needs_one_row_at_a_time() -> None:
    endless = (f"{iso(T0 + n)},room,mass,{n}.0,g,good\n" for n in itertools.count())
    rows = read_text("endless", itertools.chain([f"{HEADER}\n"], endless))
    assert [row.value for row in itertools.islice(rows, 3)] == [0.0, 1.0, 2.0]


@pytest.mark.parametrize(
    ("quantity", "value", "quality"),
    [
        ("dew_point", 1.0, Quality.GOOD), ("warmth", 1.0, Quality.GOOD), ("mass", None, Quality.GOOD),
        ("mass", 1.0, Quality.OPEN), ("mass", float("nan"), Quality.GOOD), ("mass", float("inf"), Quality.GOOD),
    ],
)  # fmt: skip
def test_nothing_is_written_that_could_not_be_read(quantity: str, value: float | None, quality: Quality) -> None:
    with pytest.raises(ValueError, match=r"never in a readings file|does not go with quality"):
        format_row(T0, "room", quantity, value, quality)


numbers = st.floats(allow_nan=False, allow_infinity=False)
good = st.tuples(numbers, st.sampled_from([q for q in Quality if not q.is_gap]))
gaps = st.tuples(st.none(), st.sampled_from([q for q in Quality if q.is_gap]))
probes = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=12).filter(str.strip)
readings = st.tuples(st.integers(0, 253_402_300_799_999), probes, st.sampled_from(MEASURED), good | gaps)


Written = tuple[int, str, str, tuple[float | None, Quality]]


@given(st.lists(readings, max_size=12, unique_by=lambda r: (r[0], r[1], r[2])))
def test_written_and_read_are_the_same_to_the_last_bit(rows: list[Written]) -> None:
    rows = sorted(rows, key=lambda r: r[0])
    text = [f"{HEADER}\n", *(format_row(at, p, q, *v) + "\n" for at, p, q, v in rows)]
    back = list(read_text("memory", iter(text)))
    assert [(r.at_ms, r.probe, r.quantity, repr(r.value), r.quality) for r in back] == [
        (at, p, q, repr(value), quality) for at, p, q, (value, quality) in rows
    ]
    assert [r.line for r in back] == list(range(2, len(rows) + 2))
    assert all(r.unit == QUANTITIES[r.quantity].unit for r in back)


scraps = st.sampled_from(
    [*ROW.split(","), ",", '"', "\n", "%RH", "", "open", "dew_point", "2026-05-04T09:00:00", "é", "\x00"]
)


@given(st.lists(scraps, max_size=30).map("".join) | st.text(max_size=60))
def test_no_text_whatever_gives_another_error(text: str) -> None:
    rows: list[CsvRow] = []
    where = "memory, line 1"
    try:
        rows = list(read_text("memory", iter([f"{HEADER}\n", *text.splitlines(keepends=True)])))
    except BadInput as error:
        where = error.thing
    assert where.startswith("memory, line ")
    assert all(row.quantity in MEASURED for row in rows)
