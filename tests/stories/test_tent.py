"""A painting in a tent, by the catalogue's own sheet: judged at the reverse, told, recomputed and reported."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from monitor.catalogue import load
from monitor.clock import SimulatedClock
from monitor.config import ProbeConfig, Studio
from monitor.probes.sensed import Fault
from monitor.report.document import document_of
from monitor.report.export import export
from monitor.report.selection import of_step
from monitor.store.checking import check_all
from monitor.store.migrating import migrate
from monitor.store.store import Store
from tests.support.stations import NINE_MS, ROOM, Bench, bench

TENT = replace(ROOM, name="tent", bus="i2c-2")
REVERSE = ProbeConfig("reverse", "north bench", "max31856", "spi-0.0", 1000, 0, "T", "surface_temperature")
EDGE = replace(REVERSE, name="edge", bus="spi-0.1")
STUDIO = Studio("Studio of a test", "test", ("north bench",), (ROOM, TENT, REVERSE, EDGE))
MINUTE_MS = 60_000


async def humidified(data: Path, probes: tuple[str, ...], until: Any, *, cut: bool = False) -> None:
    """Humidify in a tent whose air is 20 degC, 75 %RH: the reverse at 18 degC, the edge a second later at 17."""
    clock = SimulatedClock(start_wall_ms=NINE_MS)
    async with bench(data, clock=clock, studio=STUDIO, cut=cut) as b:
        b.world.air_c, b.world.rh_pct = 20.0, 75.0
        b.world.junctions_c = {"reverse": 20.0, "edge": 20.0}
        assert (await b.ask("add_painting", number="26-01", name="Two boats drying"))["ok"]
        answers = {q.key: (q.choices or ("as told",))[0] for q in load().sheet("air-humidification").asks}
        bindings = [
            {"role": "tent", "probe": "tent", "touches": "in the tent's air"},
            *({"role": "reverse", "probe": name, "touches": "on the canvas"} for name in probes),
            {"role": "room", "probe": "room", "touches": "hangs free"},
        ]
        started = await b.ask(
            "start_step", sheet="air-humidification", painting="26-01", bench="north bench", bindings=bindings,
            answers=answers,
        )  # fmt: skip
        assert started["ok"], started
        step = started["result"]["step"]
        assert (await b.ask("next_stage", step=step, stage="taking-up"))["ok"]
        await until(b, step)


async def raised(b: Bench, step: str) -> None:
    """Let both places cool, one a second after the other, and stop the station as the first is told."""
    del step
    await b.station.run_until(MINUTE_MS)
    b.world.junctions_c["reverse"] = 18.0
    await b.station.run_until(MINUTE_MS + 1000)
    b.world.junctions_c["edge"] = 17.0
    for second in range(400):
        await b.station.run_until(MINUTE_MS + (second + 2) * 1000)
        if b.rows("alarm_raised"):
            return


def checked(data: Path) -> list[str]:
    store = Store.open(data, read_only=True)
    try:
        found = check_all(store, again=True)
        assert found.again is not None
        assert found.again.events > 5
        return [*found.again.differences, *([] if found.in_order else found.lines())]
    finally:
        store.close()


def test_a_state_kept_between_a_reading_and_its_tick_recomputes(tmp_path: Path) -> None:
    """One warning is told as another has just come due at the last reading of the same instant."""
    migrate(tmp_path)
    asyncio.run(humidified(tmp_path, ("reverse", "edge"), raised, cut=True))
    assert checked(tmp_path) == []


COOL_MS, OPEN_MS, WHOLE_MS, WARM_MS, END_MS = (minute * MINUTE_MS for minute in (5, 15, 20, 30, 40))


async def whole_day(b: Bench, step: str) -> None:
    """Cool the reverse to 18 degC, lose its lead for five minutes, mend it, warm it, and finish."""
    views = b.station.view
    await b.station.run_until(COOL_MS)
    b.world.junctions_c["reverse"] = 18.0
    await b.station.run_until(OPEN_MS)
    standing = {(w["limit"], w["channel"]) for w in views()["warnings"]}
    assert ("canvas-too-damp", "reverse.humidity_at_canvas") in standing
    assert canvas(b) == (85.0, "good")
    b.world.sick["reverse"] = frozenset({Fault.OPEN_THERMOCOUPLE})
    await b.station.run_until(WHOLE_MS)
    assert canvas(b) == (None, "not known")
    b.world.sick["reverse"] = frozenset()
    await b.station.run_until(WARM_MS)
    assert canvas(b) == (85.0, "good")
    b.world.junctions_c["reverse"] = 23.0
    await b.station.run_until(END_MS)
    assert (await b.ask("finish_step", step=step))["ok"]


def canvas(b: Bench) -> tuple[float | None, str]:
    """Give value and quality of the humidity at the canvas as the view shows it."""
    step = next(s for s in b.station.view()["steps"] if s["sheet"] == "air-humidification")
    (one,) = [c for c in step["computed"] if c["quantity"] == "humidity_at_canvas"]
    return one["value"], one["quality"]


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tent")
    migrate(folder)
    asyncio.run(humidified(folder, ("reverse",), whole_day))
    return folder


@pytest.fixture
def store(day: Path) -> Iterator[Store]:
    opened = Store.open(day, read_only=True)
    yield opened
    opened.close()


def test_the_day_recomputes_to_the_letter(day: Path) -> None:
    assert checked(day) == []


def test_the_canvas_warns_at_its_delay_is_held_back_through_the_loss_and_returns(store: Store) -> None:
    sheet = load().sheet("air-humidification")
    on_ms, off_ms = (getattr(sheet.limits["canvas-too-damp"], name) for name in ("on_delay_ms", "off_delay_ms"))
    rows = [r for r in store.daybook() if r["body"].get("limit") == "canvas-too-damp"]
    # the first reading of the cooled reverse and of the warm one stand at the very instants of the change
    assert [(r["kind"], r["mono_ms"]) for r in rows] == [
        ("alarm_raised", COOL_MS + on_ms),
        ("alarm_suppressed", OPEN_MS + 2000),  # held back when the reverse's lead is told to be open
        ("alarm_released", WHOLE_MS),
        ("alarm_raised", WHOLE_MS),
        ("alarm_returned", WARM_MS + off_ms),
        ("alarm_suppressed", END_MS),  # nobody has seen it, and the step is finished
    ]
    assert float(rows[0]["body"]["value"]) == pytest.approx(85.0, abs=0.1)  # 84.98 by the Magnus form, WMO-No. 8
    faults = [r["body"]["channel"] for r in store.daybook(kinds=["probe_fault"])]
    assert faults == ["reverse.surface_temperature"]


def test_the_report_tells_time_and_height_of_what_was_computed(store: Store) -> None:
    document = document_of(store, "s2")
    groups = {group["title"].partition(":")[0]: group for group in document.data["outside"]["groups"]}
    title = next(t for t in groups if t.startswith("Humidity at the canvas"))
    whole = groups[title]["title"]
    assert whole.startswith("Humidity at the canvas (reverse; computed: the air of tent at reverse's temperature)")
    assert "highest 85 %" in whole
    first = groups[title]["levels"][0]
    outside_ms = WARM_MS - COOL_MS - (WHOLE_MS - OPEN_MS)
    assert first["read"].startswith(f"{outside_ms // MINUTE_MS} min")
    assert "with breaks" in first["read"]
    limits = [row["what"] for row in document.data["limits"]["rows"]]
    assert "humidity at the canvas at most (computed: the air of tent at reverse's temperature)" in limits
    assert "humidity at the canvas, % (reverse, computed)" in document.pictures["chart.svg"]
    assert "the humidity at the canvas alone is drawn" in document.data["chart_note"]


def test_what_is_computed_is_never_among_readings_stored_or_exported(store: Store, tmp_path: Path) -> None:
    assert not [c.channel for c in store.channels() if "humidity_at_canvas" in c.channel or "dew" in c.channel]
    export(store, of_step(store, "s2"), tmp_path / "out")
    told = "".join(path.read_text() for path in (tmp_path / "out").glob("readings*.csv"))
    assert "reverse,surface_temperature" in told
    assert "humidity_at_canvas" not in told
    assert "dew_point" not in told


def test_the_limits_of_the_room_are_not_held_against_the_tent(store: Store) -> None:
    """The room's 60 and 70 % at most stand beside the room's own readings, though the tent was as damp."""
    groups = document_of(store, "s2").data["outside"]["groups"]
    damp = {
        g["title"].partition(":")[0]: [x["level"] for x in g["levels"]] for g in groups if "humidity (" in g["title"]
    }
    assert list(damp) == ["Relative humidity (room)"]
