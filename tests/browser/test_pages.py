"""The pages in Chromium over a double of the station."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from monitor.link.messages import AnswerDict, Request
from tests.support import fake_scene
from tests.support.fake_station import answer
from tests.support.pages import Rig

BENCH = "/bench/north%20bench"
HERE = Path(__file__).parent
CONTROLS = (HERE / "controls.js").read_text()
CONTRAST = (HERE / "contrast.js").read_text()
EVERY = (
    "/", "/bench", BENCH, "/bench/long%20table", "/start?sheet=heat-seal-spatula", "/look-back", "/sources",
    "/settings",
)  # fmt: skip


def test_values_move(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        seen.page.goto(dashboard.url + BENCH)
        expect(seen.page.locator(".figure")).to_have_text("63 to 69 °C")
        rows = [["s2", "bond_line", 67.6, 70.0, 73.4, dashboard.station.now_ms]]
        dashboard.do(dashboard.station.send({"feed": "estimates", "rows": rows}))
        expect(seen.page.locator(".figure")).to_have_text("68 to 73 °C")
        dashboard.do(dashboard.station.read("spatula.tool_temperature", 81.4))
        expect(seen.page.locator(".beside")).to_contain_text("tool 81 °C (set 85 at most)")
        dashboard.do(dashboard.station.read("spatula.tool_temperature", None, "open"))
        expect(seen.page.locator(".beside")).to_contain_text("tool no reading")
        assert seen.complaints == []


def test_a_warning_is_seen(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        seen.page.goto(dashboard.url + "/")
        seen.page.get_by_role("button", name="Seen: Tool temperature 78 °C: was over 85").click()
        dashboard.do(dashboard.station.show(warnings=[]))
        expect(seen.page.locator(".warning")).to_have_count(0)
    (asked,) = dashboard.station.asked
    assert asked.do == "see"
    assert asked.body == {"step": "s2", "limit": "tool-hot", "channel": "spatula.tool_temperature"}
    assert asked.via.startswith("browser:")
    assert asked.age_ms < 2000


def test_a_mark_carries_what_was_seen_and_counts_once(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        seen.page.goto(dashboard.url + BENCH)
        seen.page.locator("#control").dblclick()
        expect(seen.page.locator("#answer")).to_be_hidden()
        seen.page.get_by_role("button", name="Undo mark").click()
        dashboard.do(dashboard.station.until_asked(2))
    mark, undo = dashboard.station.asked
    assert (mark.do, mark.body, mark.expects) == ("mark", {"step": "s2", "mark": "up"}, 31)
    assert (undo.do, undo.body) == ("undo", {"step": "s2"})


def test_a_key_held_down_is_one_gesture(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        seen.page.goto(dashboard.url + BENCH)
        seen.page.locator("#control").focus()
        for _ in range(3):
            seen.page.keyboard.down("Enter")
        seen.page.keyboard.up("Enter")
        dashboard.do(dashboard.station.until_asked(1))
        seen.page.get_by_role("button", name="Undo mark").click()
        dashboard.do(dashboard.station.until_asked(2))
    assert [r.do for r in dashboard.station.asked] == ["mark", "undo"]


def test_a_conflict_says_who_changed_what(browser: Any, dashboard: Rig) -> None:
    def conflict(request: Request) -> AnswerDict:
        error = {"thing": "step s2", "found": "JT marked place 7 lifted at 10:41", "expected": "revision 31",
                 "do": "Look at the page and mark again."}  # fmt: skip
        return answer(request, ok=False, conflict=True, error=error)

    dashboard.station.rule = conflict
    with browser.open() as seen:
        seen.page.goto(dashboard.url + BENCH)
        seen.page.locator("#control").click()
        told = seen.page.locator("#answer")
        expect(told).to_contain_text("JT marked place 7 lifted at 10:41")
        expect(told).to_contain_text("the step has changed meanwhile")
        seen.page.get_by_role("button", name="I have read it").click()
        expect(told).to_be_hidden()


def test_a_silent_station_is_told_within_three_seconds_and_nothing_is_lost(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        seen.page.goto(dashboard.url + BENCH)
        expect(seen.page.locator(".figure")).to_be_visible()
        seen.page.get_by_role("button", name="Note").click()
        seen.page.get_by_label("What goes into the day-book").fill("The telephone rang.")
        dashboard.do(dashboard.station.stop())
        gone = time.monotonic()
        expect(seen.page.locator("#part-notice")).to_contain_text(
            "The station does not answer. Readings shown are from"
        )
        assert time.monotonic() - gone < 3.0
        seen.page.get_by_role("button", name="Write it down").click()
        expect(seen.page.locator("#note .form-answer")).to_contain_text("The station does not answer")
        assert seen.page.get_by_label("What goes into the day-book").input_value() == "The telephone rang."
        dashboard.do(dashboard.station.start())
        expect(seen.page.locator("#part-notice .notice")).to_have_count(0)
        seen.page.get_by_role("button", name="Write it down").click()
        expect(seen.page.locator("#note")).to_be_hidden()
    assert [(r.do, r.body["text"]) for r in dashboard.station.asked] == [("note", "The telephone rang.")]


def test_a_hanging_station_is_told_within_three_seconds(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        seen.page.goto(dashboard.url + "/")
        expect(seen.page.locator(".ledger")).to_be_visible()
        dashboard.do(dashboard.station.hang())
        hung = time.monotonic()
        expect(seen.page.locator("#part-notice")).to_contain_text("The station does not answer.")
        assert time.monotonic() - hung < 3.0


def test_who_works_goes_with_what_is_asked(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(dashboard.url + "/")
        page.get_by_text("who works?").click()
        page.get_by_label("Initials").fill("mk")
        page.get_by_role("button", name="At work").click()
        expect(page.locator("#initials")).to_have_text("MK at work")
        page.get_by_text("Enter a painting").click()
        page.get_by_label("Number").fill("24-07")
        page.get_by_label("Name").fill("Boats")
        page.get_by_label("Beware of").fill("cupped paint\n\nno water")
        page.get_by_role("button", name="Enter the painting").click()
        expect(page.get_by_label("Number")).to_be_hidden()
    (asked,) = dashboard.station.asked
    assert asked.by == "MK"
    assert asked.body == {"number": "24-07", "name": "Boats", "support": "", "beware": ["cupped paint", "no water"]}


def test_a_painting_at_rest_is_handed_back_after_a_question(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        seen.page.goto(dashboard.url + "/")
        seen.page.get_by_role("button", name="Hand back: Winter road").click()
        seen.page.get_by_role("button", name="Keep it in hand").click()
        seen.page.get_by_role("button", name="Hand back: Winter road").click()
        expect(seen.page.locator("#hand-back")).to_contain_text("No place of it was worked.")
        seen.page.get_by_role("button", name="Hand it back").click()
        dashboard.do(dashboard.station.until_asked(1))
    assert [(r.do, r.body) for r in dashboard.station.asked] == [("hand_back", {"number": "24-02"})]


@pytest.mark.long
@pytest.mark.parametrize("size", ["desktop", "tablet", "phone"])
def test_every_control_has_a_name_and_room_for_a_finger(browser: Any, dashboard: Rig, size: str) -> None:
    with browser.open(size) as seen:
        for path in EVERY:
            seen.page.goto(dashboard.url + path)
            least = 53.5 if path.startswith("/bench/") else 43.5
            assert seen.page.evaluate(CONTROLS, least) == [], path
        assert seen.complaints == []


@pytest.mark.long
@pytest.mark.parametrize("dim", [False, True])
def test_text_stands_out_from_its_ground(browser: Any, dashboard: Rig, dim: bool) -> None:
    with browser.open(dim=dim, url=dashboard.url) as seen:
        for path in EVERY:
            seen.page.goto(dashboard.url + path)
            assert seen.page.locator("html").get_attribute("data-light") == ("dim" if dim else "day")
            assert seen.page.evaluate(CONTRAST) == [], path


def test_a_finger_on_the_control_survives_a_change_of_the_page(browser: Any, dashboard: Rig) -> None:
    with browser.open() as seen:
        page = seen.page
        page.goto(dashboard.url + BENCH)
        control = page.locator("#control")
        control.focus()
        step = fake_scene.heat_step()
        step["revision"] = 32
        step["say"]["control"] = {
            "words": "Mark: set down",
            "do": "mark",
            "body": {"step": "s2", "mark": "down"},
            "calls": True,
        }
        page.mouse.move(*_middle(control))
        page.mouse.down()
        dashboard.do(dashboard.station.show(steps=[fake_scene.room_step(), step]))
        expect(control).to_have_text("Mark: set down")
        page.mouse.up()
        dashboard.do(dashboard.station.until_asked(1))
        assert page.evaluate("document.activeElement.id") == "control"
    (asked,) = dashboard.station.asked
    assert (asked.body["mark"], asked.expects) == ("up", 31)  # what stood there when it was pressed


def _middle(locator: Any) -> tuple[float, float]:
    box = locator.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
