"""The settings page in Chromium: ways to be told are tried, and what came of it shows by itself."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import expect

from monitor.link.messages import TEST_WAY
from tests.support import fake_scene
from tests.support.fake_station import answer
from tests.support.pages import Rig


def test_a_way_is_tried_and_what_came_of_it_shows(browser: Any, dashboard: Rig) -> None:
    with browser.open("tablet") as seen:
        page = seen.page
        page.goto(dashboard.url + "/")
        page.get_by_role("link", name="Settings: ways to be told").click()
        phone = page.locator(".ways li", has_text="phone of MK")
        expect(phone).to_contain_text("Does not work: no answer from the service in 30 s.")
        page.get_by_role("button", name="Try it: phone of MK").click()
        dashboard.do(dashboard.station.until_asked(1))
        ways = fake_scene.ways()
        ways[1] = {**ways[1], "trying": True}
        dashboard.do(dashboard.station.show(ways=ways))
        expect(phone).to_contain_text("Being tried now.")
        expect(page.get_by_role("button", name="Try it: phone of MK")).to_be_disabled()
        tried = {"at_ms": fake_scene.NOW_MS, "outcome": "told", "reason": "", "daily": False}
        ways[1] = {**ways[1], "trying": False, "state": "works", "reason": "", "given_up": 0, "tried": tried}
        dashboard.do(dashboard.station.show(ways=ways))
        expect(phone).to_contain_text("the service took it; look whether it came.")
        expect(phone).not_to_contain_text("Does not work")
        assert seen.complaints == []
    (asked,) = dashboard.station.asked
    assert (asked.do, asked.body) == (TEST_WAY, {"name": "phone of MK"})


def test_a_trial_that_is_refused_says_why(browser: Any, dashboard: Rig) -> None:
    error = {"thing": "way to be told", "found": "'house'", "expected": "lamp at the door",
             "do": "Reload the page and ask again."}  # fmt: skip
    dashboard.station.rule = lambda request: answer(request, ok=False, error=error)
    with browser.open() as seen:
        seen.page.goto(dashboard.url + "/settings")
        seen.page.get_by_role("button", name="Try it: house").click()
        expect(seen.page.locator("#answer")).to_contain_text("Reload the page and ask again.")


def test_with_no_way_the_page_says_where_to_begin(browser: Any, dashboard: Rig) -> None:
    dashboard.do(dashboard.station.show(ways=[]))
    with browser.open("phone") as seen:
        seen.page.goto(dashboard.url + "/settings")
        expect(seen.page.locator("#part-ways")).to_contain_text("None is set.")
