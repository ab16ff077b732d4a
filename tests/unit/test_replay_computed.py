"""A recorded file against limits on what is computed: what the fold says, and the time beyond by the same rules."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.bench.computed_series import Value, computed_series
from monitor.bench.quantities import split_channel
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Sheet
from monitor.catalogue import load
from monitor.errors import BadInput
from monitor.probes.readings_csv import HEADER, format_row
from monitor.probes.replay import by_sheet
from tests.support import tents
from tests.support.folds import limit
from tests.support.oracle import ComputedTextbook
from tests.support.tents import AIR_C, AIR_RH, REVERSE_C, damp, humidity_at, levels, read


def written(where: Path, readings: list[Reading]) -> Path:
    rows = [format_row(r.mono_ms, *split_channel(r.channel), r.value, r.quality) for r in readings]
    where.write_text("\n".join([HEADER, *rows]) + "\n")
    return where


def day(seconds: int, reverse_c: float = 18.0, air: str = "tent", lost: range = range(0)) -> list[Reading]:
    """Steady air of 20 degC and 75 %RH read once a second, and the reverse with it."""
    return [
        read(now * 1000, channel, None if now in lost and channel == REVERSE_C else value)
        for now in range(seconds)
        for channel, value in (
            (REVERSE_C, reverse_c), (f"{air}.air_temperature", 20.0), (f"{air}.relative_humidity", 75.0),
        )
    ]  # fmt: skip


def test_a_file_is_judged_at_the_canvas_and_says_what_it_lacked(tmp_path: Path) -> None:
    cold = limit("cold", role="room", quantity="pressure", levels=levels(1.0))
    sheet = tents.tent_sheet(damp(), damp("dew", quantity="dew_point", levels=levels(12.0)), cold,
                             roles={**tents.ROLES, "room": ("pressure",)})  # fmt: skip
    told = by_sheet(written(tmp_path / "day.csv", day(60, lost=range(30, 40))), sheet)
    assert [(t["time"][17:19], t["probe"], t["quantity"], t["event"], t["limit"]) for t in told.transitions] == [
        ("05", "reverse", "humidity_at_canvas", "raise", "damp"),
        ("05", "tent", "dew_point", "raise", "dew"),
    ]
    assert told.transitions[0]["value"] == round(humidity_at(20.0, 75.0, 18.0), 1)
    # 59 s to the last row, for each limit; ten of them without the reverse
    assert told.outside_s == 59 + 59 - 10
    assert told.not_judged == ["cold"]


def test_without_a_surface_nothing_is_judged_in_silence(tmp_path: Path) -> None:
    path = written(tmp_path / "day.csv", [r for r in day(10) if r.channel != REVERSE_C])
    with pytest.raises(BadInput, match="not all that one limit of sheet tent needs"):
        by_sheet(path, tents.tent_sheet(damp()))


def test_the_air_is_that_of_the_probe_with_the_roles_name(tmp_path: Path) -> None:
    dry = [read(r.mono_ms, r.channel.replace("tent", "attic"), 30.0 if r.channel == AIR_RH else r.value)
           for r in day(20) if r.channel != REVERSE_C]  # fmt: skip
    both = sorted([*day(20), *dry], key=lambda r: (r.mono_ms, r.channel))
    told = by_sheet(written(tmp_path / "day.csv", both), tents.tent_sheet(damp()))
    assert [t["value"] for t in told.transitions] == [85.0]


def test_what_replay_judges_of_a_clipped_humidity_is_certain(tmp_path: Path) -> None:
    wet = [
        read(now * 1000, c, v, Quality.CLIPPED if c == AIR_RH else Quality.GOOD)
        for now in range(20)
        for c, v in ((REVERSE_C, 18.0), (AIR_C, 20.0), (AIR_RH, 100.0))
    ]
    path = written(tmp_path / "day.csv", wet)
    assert by_sheet(path, tents.tent_sheet(damp())).outside_s == 19
    assert by_sheet(path, tents.tent_sheet(damp(side="low", levels=levels(200.0)))).outside_s == 0


values = st.sampled_from([(18.0, False), (20.0, False), (None, False)])
rounds = st.lists(
    st.tuples(st.integers(1, 8), st.dictionaries(st.sampled_from([AIR_C, AIR_RH, REVERSE_C]), values, min_size=1)),
    max_size=20,
)


@settings(max_examples=100)
@given(rounds=rounds)
def test_the_series_is_the_textbooks_at_every_instant(rounds: list[tuple[int, dict[str, Any]]]) -> None:
    """Humidities of 18 and 20 % will do: all that matters is which values are taken together, and when none."""
    found: dict[str, dict[int, Any]] = {AIR_C: {}, AIR_RH: {}, REVERSE_C: {}}
    now, readings = 0, []
    for gap, taken in rounds:
        now += gap * 500
        for channel, value in sorted(taken.items()):
            found[channel][now] = value
            readings.append(read(now, channel, value[0]))
    stale = {channel: 3 * tents.INTERVALS_MS[channel] for channel in found}
    series = [Value(0, None), *computed_series("humidity_at_canvas", stale, readings)]
    book = ComputedTextbook(
        [], True, 0.0, 0, 0, 0, {}, inputs=list(found.values()),
        intervals_ms=[tents.INTERVALS_MS[channel] for channel in found], formula=humidity_at,
    )  # fmt: skip
    for at in range(250, now, 500):
        told = next(v for v in reversed(series) if v.mono_ms <= at)
        span = book.spans_at(at)
        assert told.value == (None if span is None else pytest.approx(span[0], abs=0.051))


def test_a_sheet_of_measured_limits_alone_is_judged_as_ever(tmp_path: Path) -> None:
    sheet: Sheet = tents.tent_sheet(limit("warm", role="tent", quantity="air_temperature", levels=levels(19.0)))
    told = by_sheet(written(tmp_path / "day.csv", day(20)), sheet)
    assert [t["quantity"] for t in told.transitions] == ["air_temperature"]
    assert (told.outside_s, told.not_judged) == (19, [])


def test_the_catalogues_own_sheet_judges_the_canvas_of_a_recorded_tent(tmp_path: Path) -> None:
    readings = [r for n in range(20) for r in (read(n * 60_000, REVERSE_C, 18.0), read(n * 60_000, AIR_C, 20.0),
                                               read(n * 60_000, AIR_RH, 75.0))]  # fmt: skip
    told = by_sheet(written(tmp_path / "day.csv", readings), load().sheet("air-humidification"))
    raised = {t["quantity"]: t for t in told.transitions if t["event"] == "raise"}
    assert raised["humidity_at_canvas"]["limit"] == "canvas-too-damp"
    # worked with es = 6.112 exp(17.62 T / (243.12 + T)): 20 degC and 75 %RH are 85 %RH at 18 degC
    assert raised["humidity_at_canvas"]["value"] == pytest.approx(85.0, abs=0.1)
    assert raised["painting_minus_air"]["value"] == -2.0
