"""Starting and finishing a step, and Look back, in Chromium over a double of the station."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import expect

from tests.support.pages import Rig

BENCH = "/bench/north%20bench"


def test_a_step_is_started_and_finished(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(dashboard.url + "/start?painting=23-21&bench=long%20table")
        page.get_by_role("button", name="Strip-lining with a heated spatula").click()
        page.get_by_role("group", name="Probe for: tool").get_by_label("clamped to the outside").check()
        page.get_by_role("group", name="Probe for: room").get_by_label("hangs at the bench").check()
        page.get_by_role("textbox", name="Side").fill("C")
        page.get_by_label("Number of places").fill("12")
        layers = page.get_by_role("group", name="Layers under the tool")
        expect(layers).to_contain_text("EVA heat-seal film, formula of 2010. Linen strip on a primed margin")
        expect(layers).to_contain_text("at the adhesive 70 °C at least (cited)")
        layers.get_by_label("Linen strip").check()
        page.get_by_role("button", name="Start Strip-lining").click()
        assert dashboard.station.asked == []  # the sheet's questions are required
        page.get_by_role("group", name="What lies in front?").get_by_label("bare margin").check()
        page.get_by_label("Which lot?").fill("lot 4")
        page.get_by_role("button", name="Start Strip-lining").click()
        page.wait_for_url("**/bench/long%20table")
        page.goto(dashboard.url + BENCH)
        page.get_by_role("button", name="Finish step").click()
        expect(page.locator("#finish")).to_contain_text("10 places not worked: 7 to 16.")
        expect(page.locator("#finish")).to_contain_text("Leads parked?")
        page.get_by_role("button", name="Finish the step").click()
        page.wait_for_url(dashboard.url + "/")
        assert seen.complaints == []
    start, finish = dashboard.station.asked
    assert start.body == {
        "sheet": "heat-seal-spatula", "painting": "23-21", "bench": "long table", "side": "C", "places": 12,
        "sandwich": "film-on-linen",
        "bindings": [{"role": "tool", "probe": "spatula",
                      "touches": "clamped to the outside of the shank, above the sole"},
                     {"role": "room", "probe": "room", "touches": "hangs at the bench"}],
        "answers": {"in-front": "bare margin", "lot": "lot 4"},
    }  # fmt: skip
    assert (finish.do, finish.body, finish.expects) == ("finish_step", {"step": "s2"}, 31)


def test_other_words_for_where_a_probe_touches_are_asked_again(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(dashboard.url + "/start?sheet=heat-seal-spatula")
        tool = page.get_by_role("group", name="Probe for: tool")
        expect(tool.get_by_label("In your words")).to_be_hidden()
        tool.get_by_label("other words").check()
        tool.get_by_label("In your words").fill("wire beside the handle")
        expect(tool.get_by_text("No wire under the sole or in the join")).to_be_hidden()
        tool.get_by_label("In your words").fill("taped under the sole")
        expect(tool.get_by_text("No wire under the sole or in the join, no tape on paint.")).to_be_visible()
        assert not page.evaluate("document.querySelector('.long-form').checkValidity()")
        assert tool.get_by_label("It is not so here").evaluate("e => e.required && !e.checked")


@pytest.mark.long
def test_looking_back_draws_and_tells(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(dashboard.url + "/look-back?channel=spatula.tool_temperature")
        expect(page.locator("#chart .scatterlayer .trace")).to_have_count(2)
        expect(page.locator("#chart")).to_contain_text("85 at most")
        expect(page.locator("#chart")).to_contain_text("23-09: Strip-lining")
        # 10:42 UTC is 11:42 in the browser's zone
        expect(page.locator("#book li").first).to_contain_text("4 May 11:02:00")
        expect(page.locator("#book")).to_contain_text("Note: The telephone rang")
        expect(page.locator("#zone")).to_have_text("times in Europe/Lisbon, UTC+1")
        expect(page.locator("#chart .xaxislayer-above text, #chart .xtick text").first).to_contain_text("4 May")
        expect(page.get_by_text("Europe/Lisbon")).to_have_count(1)
        page.get_by_label("room, relative humidity").check()
        expect(page.locator("#chart")).to_contain_text("relative humidity")
        page.get_by_label("from … to").check()
        expect(page.locator("#look-answer")).to_contain_text("Enter from and to.")
        assert [c for c in seen.complaints if "422" not in c] == []
