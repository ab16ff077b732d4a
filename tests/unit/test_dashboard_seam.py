"""The seam: what its circles show, what a tap on one offers, and what is said of the places."""

from __future__ import annotations

import pytest

from dashboard import words
from dashboard.seam import reasons, seam, still_open, tally
from monitor.link.view import PlacesView
from tests.support import fake_scene


@pytest.mark.parametrize(
    ("numbers", "text"),
    [([4], "4"), ([1, 2], "1 and 2"), ([16, 12, 13, 14, 1], "1, 12 to 14 and 16"), ([1, 3], "1 and 3")]
)  # fmt: skip
def test_numbers_are_drawn_together(numbers: list[int], text: str) -> None:
    assert words.numbers(numbers) == text


def places() -> PlacesView:
    step = fake_scene.heat_step()["places"]
    assert step is not None
    return step


def test_the_seam_tells_by_shape_and_in_words() -> None:
    spots = seam(fake_scene.heat_step())
    assert [s.shape for s in spots[:8]] == [
        "reached",
        "reached",
        "over",
        "missed",
        "unknown",
        "reached",
        "empty",
        "empty",
    ]
    assert spots[3].words == "place 4: not reached, lifted after 4 s; 10 s in 1 pass, tool 77 to 80 °C"
    assert spots[6].words == "place 7: here, in contact"
    assert [s.number for s in spots if s.here] == [7]
    assert tally(places()) == "3 reached · 1 not reached · 1 not known · 1 over the limit set"


def test_a_contact_without_a_verdict_is_not_called_untouched() -> None:
    step = fake_scene.heat_step()
    assert step["places"] is not None
    step["places"]["places"][8]["passes"] = 1
    assert seam(step)[8].words.startswith("place 9: not yet judged; ")


def all_of(reason: str, count: int, **exceptions: str) -> PlacesView:
    told = places()
    for place in told["places"]:
        worked = place["place"] <= count
        place["verdict"] = "not known" if worked else None
        place["reason"] = exceptions.get(f"p{place['place']}", reason) if worked else ""
    return told


def test_a_common_reason_is_said_once_and_exceptions_beside_it() -> None:
    untried = "not yet tried on a mock-up"
    assert reasons(all_of(untried, 11)) == ["All 11: not known, not yet tried on a mock-up."]
    cold = all_of(untried, 11, p10=f"{untried}; the tool was below 65 °C", p11=f"{untried}; the tool was below 65 °C")
    assert reasons(cold)[1:] == ["Places 10 and 11 besides: the tool was below 65 °C."]
    gap = all_of(untried, 11, p5="no reading from the tool for 8 s")
    assert reasons(gap) == [
        "Places 1 to 4 and 6 to 11: not known, not yet tried on a mock-up.",
        "Place 5: not known, no reading from the tool for 8 s.",
    ]
    assert reasons(all_of(untried, 1)) == ["Place 1: not known, not yet tried on a mock-up."]


def test_a_tap_on_a_place_offers_another_pass() -> None:
    step = fake_scene.heat_step()
    assert step["places"] is not None
    step["places"]["in_contact"] = False
    spots = seam(step)
    assert spots[3].offer == "Go over place 4 again, pass 2"
    assert spots[3].fields == {"step": "s2", "mark": "down", "place": "4"}
    assert spots[8].offer == "Mark: tool down on place 9, pass 1"
    step["places"]["in_contact"] = True
    assert {(s.offer, s.why_not) for s in seam(step)} == {("", "The tool is on place 7. Mark it lifted first.")}
    step["places"].update({"in_contact": False, "workable": False})
    assert {s.offer for s in seam(step)} == {""}


def test_after_the_last_place_none_is_here_and_each_can_be_gone_over_again() -> None:
    step = fake_scene.heat_step()
    told = all_of("not yet tried on a mock-up", 16)
    told.update({"here": 16, "in_contact": False})
    for place in told["places"]:
        place["passes"] = 1
    step["places"] = told
    step["say"]["control"] = {"words": "Next: Cooling", "do": "next_stage", "body": {}, "calls": True}
    assert not [s for s in seam(step) if s.here]
    assert [s.offer for s in seam(step)][10] == "Go over place 11 again, pass 2"


def test_the_question_before_finishing_says_what_is_open() -> None:
    told = still_open(fake_scene.heat_step())
    assert told == [
        "The tool is on place 7. Mark it lifted first.",
        "10 places not worked: 7 to 16.",
        "1 place not known: 5.",
        "1 place not reached: 4.",
        "Stage not begun: Begin cooling.",
        "Leads parked? There is 1: spatula.",
        "Tool unplugged and on its stand?",
    ]
