"""From a limit on a screen to what was read of its source, in Chromium over the catalogue that ships."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from dashboard.known import Known, from_catalogue
from tests.support import fake_scene
from tests.support.pages import Rig, rig

HERE = Path(__file__).parent
CONTROLS = (HERE / "controls.js").read_text()
CONTRAST = (HERE / "contrast.js").read_text()
ROW = "sheet.room.humidity-high.levels[1]"
ANCHOR = "sheet.room.humidity-high.levels.1"


@pytest.fixture(scope="module")
def known() -> Known:
    return from_catalogue()


@pytest.fixture
def studio(known: Known, chart_dir: Path) -> Iterator[Rig]:
    """Give a dashboard over the true catalogue; the room's first limit is the one that ships."""
    row, step = known.rows[ROW], fake_scene.room_step()
    step["limits"] = [
        fake_scene.limit("humidity-high", "relative_humidity", "relative humidity, at most", "high", 60,
                         ["room.relative_humidity"], source=row.source_key, grade=row.grade, locator=row.locator,
                         note=row.note)
    ]  # fmt: skip
    damp = fake_scene.warning(step="s1", limit="humidity-high", channel="room.relative_humidity", at=60.0,
                              priority="low", painting="")  # fmt: skip
    view = fake_scene.view(steps=[step, fake_scene.heat_step()], warnings=[damp])
    with (
        tempfile.TemporaryDirectory(prefix="rig-") as runtime,
        rig(Path(runtime), chart_dir, view=view, known=known) as running,
    ):
        yield running


def at_its_figure(page: Any, known: Known) -> None:
    row = known.rows[ROW]
    figure = page.locator(":target")
    expect(figure).to_contain_text("60 % RH")
    expect(figure).to_contain_text(f"Cited: {row.source}, {row.locator}")
    expect(figure).to_contain_text("Read of it:")
    expect(figure).to_be_in_viewport()
    expect(page.get_by_role("heading", name="Watch of the room")).to_be_in_viewport()
    expect(
        page.get_by_role("heading", name="Relative humidity, at most").locator("visible=true").first
    ).to_be_visible()


@pytest.mark.parametrize("size", ["desktop", "tablet", "phone"])
def test_a_warning_leads_to_what_was_read(browser: Any, studio: Rig, known: Known, size: str) -> None:
    with browser.open(size) as seen:
        page = seen.page
        page.goto(studio.url + "/")
        if size == "phone":
            page.get_by_role("button", name="Relative humidity").click()
        page.locator(".because summary").click()
        expect(page.locator(".because")).to_contain_text(f"Cited: {known.rows[ROW].source}")
        page.get_by_role("link", name="What was read of it").click()
        page.wait_for_url(f"**/sources#{ANCHOR}")
        at_its_figure(page, known)
        assert seen.complaints == []


def test_a_limit_of_the_bench_leads_to_what_was_read(browser: Any, studio: Rig, known: Known) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(studio.url + "/bench/north%20bench?step=s1")
        page.get_by_text("Limits and where they come from").click()
        expect(page.locator(".limits")).to_contain_text(f"Cited: {known.rows[ROW].source}")
        page.locator(".limits").get_by_role("link", name="What was read of it").click()
        at_its_figure(page, known)
        assert seen.complaints == []


def test_looking_back_tells_where_the_limits_drawn_come_from(browser: Any, studio: Rig) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(studio.url + "/look-back?channel=spatula.tool_temperature")
        page.get_by_text("Limits drawn here and where they come from").click()
        expect(page.locator("#limits")).to_contain_text("Tool temperature 85 °C at most")
        expect(page.locator("#limits")).to_contain_text("23-09: Strip-lining. Our proposal.")
        page.get_by_label("spatula, tool temperature").uncheck()
        expect(page.locator("#limits")).to_be_hidden()
        assert seen.complaints == []


def test_a_step_to_be_started_leads_to_what_it_will_warn_of(browser: Any, studio: Rig) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(studio.url + "/start?sheet=heat-seal-spatula")
        page.get_by_role("link", name="What this sheet warns of").click()
        expect(page.get_by_role("heading", name="Heat-seal with the spatula")).to_be_in_viewport()
        page.goto(studio.url + "/")
        page.get_by_role("link", name="Where the figures come from").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Where the figures come from")
        assert seen.complaints == []


@pytest.mark.long
@pytest.mark.parametrize("size", ["desktop", "tablet", "phone"])
def test_sources_and_what_leads_there_are_for_fingers_and_eyes(browser: Any, studio: Rig, size: str) -> None:
    for dim in (False, True):
        with browser.open(size, dim=dim, url=studio.url) as seen:
            for path in ("/sources", "/start?sheet=heat-seal-spatula"):
                seen.page.goto(studio.url + path)
                assert seen.page.evaluate(CONTROLS, 43.5) == [], path
                assert seen.page.evaluate(CONTRAST) == [], path
            assert seen.complaints == []
