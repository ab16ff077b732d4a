"""The question about a limit on Look back, in Chromium over a store with the reference trace in it."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from dashboard.known import from_catalogue
from monitor.bench.readings import Reading
from monitor.clock import Segment
from monitor.store.batch import Batch
from monitor.store.store import Store
from tests.support import reference
from tests.support.fake_scene import NOW_MS
from tests.support.pages import Rig, rig
from tests.support.stores import RH, begin, migrated_folder

__all__ = ["migrated_folder"]


@pytest.fixture(scope="module")
def traced(migrated_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a store whose last minute holds the reference trace."""
    folder = Path(shutil.copytree(migrated_folder, tmp_path_factory.mktemp("traced") / "store"))
    store = begin(Store.open(folder))
    rows = [Reading(int(r["t_s"]) * 1000, RH, float(r["value"])) for r in reference.rows("alarm_trace")]
    store.write(Batch(Segment(1, store.boot, 0, NOW_MS - 60_000, True), rows))
    store.close()
    return folder


@pytest.fixture
def over_store(traced: Path, chart_dir: Path) -> Iterator[Rig]:
    """Give a running dashboard over that store."""
    with tempfile.TemporaryDirectory(prefix="rig-") as runtime:

        def opening() -> Store:
            return Store.open(traced, read_only=True)

        with rig(Path(runtime), chart_dir, opening=opening, known=from_catalogue()) as running:
            yield running


@pytest.mark.long
@pytest.mark.parametrize("size", ["desktop", "tablet", "phone"])
def test_a_limit_is_asked_about_and_drawn(browser: Any, over_store: Rig, size: str) -> None:
    with browser.open(size) as seen:
        page = seen.page
        page.goto(over_store.url + f"/look-back?channel={RH}")
        expect(page.locator("#chart .scatterlayer .trace")).to_have_count(2)
        page.get_by_text("What would a limit have said?").click()
        form = page.locator("#ask-limit")
        form.locator("[name=channel]").select_option(RH)
        form.get_by_label("Level, %").fill("65")
        form.get_by_label("Dead band, %").fill("1")
        form.get_by_label("Warns after, s").fill("5")
        form.get_by_label("Back after, s").fill("5")
        form.get_by_role("button", name="Ask").click()
        answer = page.locator("#asked-answer")
        expect(answer).to_contain_text("It would have warned once.")
        expect(answer).to_contain_text("outside it for 15 s in 3 spells, the longest 10 s")
        rows = page.locator("#asked-rows li")
        expect(rows).to_have_count(2)
        expect(rows.first).to_contain_text("warns, 66 %")
        expect(page.locator("#chart .shapelayer path[style*='stroke-dasharray']")).to_have_count(1)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        assert page.evaluate(
            "[...document.querySelectorAll('#ask-limit :is(input, select, button)')].every(e => e.offsetHeight >= 44)"
        )
        page.get_by_label("last 8 hours").check()
        expect(answer).to_have_text("The period or the probes have changed; ask again.")
        expect(rows).to_have_count(0)
        assert seen.complaints == []


def test_a_mistake_is_told_and_a_sheet_s_limit_fills_the_form(browser: Any, over_store: Rig) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(over_store.url + f"/look-back?channel={RH}")
        page.get_by_text("What would a limit have said?").click()
        form, answer = page.locator("#ask-limit"), page.locator("#asked-answer")
        form.get_by_role("button", name="Ask").click()
        expect(answer).to_contain_text("Level: ''; expected a number, for instance 65. Write one.")
        form.get_by_label("Level").fill("65")
        form.get_by_label("Dead band").fill("-2")
        form.get_by_role("button", name="Ask").click()
        expect(answer).to_contain_text("Dead band: -2; expected 0 or more")
        humid = form.locator("#asked-start option[data-quantity=relative_humidity]").first
        form.locator("#asked-start").select_option(index=humid.evaluate("e => e.index"))
        expect(form.locator("[name=channel]")).to_have_value(RH)
        expect(form.locator("[name=at]")).to_have_value(humid.get_attribute("data-at") or "")
        expect(form.locator("[name=on_s]")).to_have_value(humid.get_attribute("data-on_s") or "")
        form.get_by_role("button", name="Ask").click()
        expect(answer).to_contain_text("There are readings for")
        assert [c for c in seen.complaints if "422" not in c] == []
