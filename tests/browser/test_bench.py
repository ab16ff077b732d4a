"""The Bench in Chromium: going over a place again, cautions in sight, warnings that fold, an outlined control."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import expect

from tests.support import fake_scene
from tests.support.pages import Rig

BENCH = "/bench/north%20bench"

SIZES = ("desktop", "tablet", "phone")


def lifted(**more: Any) -> list[Any]:
    """Give the steps with the tool lifted."""
    step = fake_scene.heat_step()
    assert step["places"] is not None
    step["places"].update({"in_contact": False, **more})
    step["estimates"] = []
    step["say"]["control"] = {"words": "Mark: tool down on place 7", "do": "mark",
                              "body": {"step": "s2", "mark": "down"}, "calls": True}  # fmt: skip
    return [fake_scene.room_step(), step]


def test_a_place_is_gone_over_again_and_the_mark_has_the_key_down_s_age(browser: Any, dashboard: Rig) -> None:
    dashboard.do(dashboard.station.show(steps=lifted()))
    with browser.open() as seen:
        page = seen.page
        page.goto(dashboard.url + BENCH)
        page.locator(".spot-button").nth(3).click()
        dialog = page.locator("#again")
        expect(dialog).to_contain_text("Not reached, lifted after 4 s")
        again = dialog.get_by_role("button", name="Go over place 4 again, pass 2")
        again.hover()
        page.mouse.down()
        page.evaluate("new Promise((done) => setTimeout(done, 300))")
        page.mouse.up()
        expect(dialog).to_be_hidden()
        dashboard.do(dashboard.station.until_asked(1))
        assert seen.complaints == []
    (asked,) = dashboard.station.asked
    assert (asked.do, asked.expects) == ("mark", 31)
    assert asked.body == {"step": "s2", "mark": "down", "place": 4}
    assert 300 <= asked.age_ms < 2000


def test_while_the_tool_is_down_a_place_says_to_lift_it_first(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        seen.page.goto(dashboard.url + BENCH)
        seen.page.locator(".spot-button").first.click()
        dialog = seen.page.locator("#again")
        expect(dialog).to_contain_text("The tool is on place 7. Mark it lifted first.")
        expect(dialog.get_by_role("button")).to_have_text(["Not now"])


@pytest.mark.parametrize("size", SIZES)
def test_every_circle_is_a_target_of_44_px(browser: Any, dashboard: Rig, size: str) -> None:
    with browser.open(size) as seen:
        seen.page.goto(dashboard.url + BENCH)
        boxes = [b.bounding_box() for b in seen.page.locator(".spot-button").all()]
    assert len(boxes) == 16
    assert all(box["width"] >= 44 and box["height"] >= 44 for box in boxes)


@pytest.mark.parametrize("size", SIZES)
def test_a_caution_is_in_sight_above_the_control_and_the_others_open(browser: Any, dashboard: Rig, size: str) -> None:
    with browser.open(size) as seen:
        page = seen.page
        page.goto(dashboard.url + BENCH)
        line = page.get_by_text("Hot tool: in the hand or on its stand. This is no safety device.")
        control = page.locator("#control")
        expect(line).to_be_in_viewport(ratio=1)
        expect(control).to_be_in_viewport(ratio=1)
        assert line.bounding_box()["y"] < control.bounding_box()["y"]
        other = page.get_by_text("rest it only on its stand")
        expect(other).to_be_hidden()
        page.locator(".cautions summary").click()
        expect(other).to_be_in_viewport()


@pytest.mark.parametrize("dim", [False, True])
def test_told_to_wait_the_control_is_outlined_and_still_works(browser: Any, dashboard: Rig, dim: bool) -> None:
    steps = lifted()
    steps[1]["say"]["control"]["calls"] = False
    ground = "e => getComputedStyle(e).backgroundColor"
    with browser.open(dim=dim, url=dashboard.url) as seen:
        page = seen.page
        page.goto(dashboard.url + BENCH)
        filled = page.locator("#control").evaluate(ground)
        dashboard.do(dashboard.station.show(steps=steps))
        expect(page.locator("#control.waits")).to_be_visible()
        assert page.locator("#control").evaluate(ground) != filled
        assert page.locator("#control").evaluate(ground) == page.locator("body").evaluate(ground)
        page.locator("#control").click()
        dashboard.do(dashboard.station.until_asked(1))
    assert [r.do for r in dashboard.station.asked] == ["mark"]


def test_on_a_telephone_warnings_fold_to_one_line_that_opens(browser: Any, dashboard: Rig) -> None:
    with browser.open("phone") as seen:
        page = seen.page
        page.goto(dashboard.url + BENCH)
        line = page.locator(".warnings-line")
        expect(line).to_contain_text("Tool temperature 78 °C, was over 85")
        assert line.bounding_box()["height"] < 70
        expect(page.locator(".warning")).to_be_hidden()
        expect(page.locator(".figure")).to_be_in_viewport(ratio=1)
        expect(page.locator(".spot-button").first).to_be_in_viewport(ratio=1)
        line.click()
        expect(page.locator(".warning")).to_contain_text("over 85 for Harbour at low tide")
        dashboard.do(dashboard.station.show(warnings=[fake_scene.warning(at=84.0)]))
        expect(page.locator(".warning")).to_contain_text("over 84")
        expect(line).to_have_attribute("aria-expanded", "true")
        page.get_by_role("button", name="Seen").click()
        dashboard.do(dashboard.station.until_asked(1))
        line.click()
        expect(page.locator(".warning")).to_be_hidden()


def test_why_a_warning_came_can_be_opened(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(dashboard.url + BENCH)
        expect(page.locator(".warning .state")).to_have_text("since 11:40, warned 11:41, not yet seen")
        expect(page.get_by_text("Film may run through the canvas.")).to_be_hidden()
        page.locator(".because summary").click()
        expect(page.get_by_text("Film may run through the canvas.")).to_be_visible()
        expect(page.locator(".because")).to_contain_text("dial set too high; thermostat swings wide")


@pytest.mark.parametrize("size", SIZES)
def test_the_labels_of_the_rule_stand_apart(browser: Any, dashboard: Rig, size: str) -> None:
    step = fake_scene.heat_step()
    step["limits"][1]["levels"][0]["at"], step["limits"][2]["levels"][0]["at"] = 70.0, 76.0
    dashboard.do(dashboard.station.show(steps=[fake_scene.room_step(), step]))
    with browser.open(size) as seen:
        seen.page.goto(dashboard.url + BENCH)
        least = seen.page.get_by_text("70 at least").bounding_box()
        most = seen.page.get_by_text("76 at most").bounding_box()
        width = seen.page.viewport_size["width"]
    assert least["x"] >= 0
    assert least["x"] + least["width"] <= most["x"]
    assert most["x"] + most["width"] <= width
