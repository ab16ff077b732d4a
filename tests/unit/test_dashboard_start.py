"""What is entered to start a step, in the form the station expects."""

from __future__ import annotations

import pytest

from dashboard.pages import Viewer
from dashboard.requests import Ask, message
from monitor.errors import BadInput

WHO = Viewer("0a1b2c3d", "MK", ("MK",), False)


def test_a_step_takes_the_form_the_station_expects() -> None:
    fields = {"sheet": "heat-seal-spatula", "painting": "23-09", "bench": "north bench", "probe.tool": "spatula",
              "touches.tool": "in the shank", "probe.room": "", "touches.room": "", "side": " B ", "places": "16",
              "sandwich": ""}  # fmt: skip
    body = message(Ask(id="0123456789ab", do="start_step", fields=fields), WHO).body
    assert body["bindings"] == [{"role": "tool", "probe": "spatula", "touches": "in the shank"}]
    assert (body["side"], body["places"], body["sandwich"]) == ("B", 16, None)
    assert body["answers"] == {}


def test_answers_and_a_place_take_the_form_the_station_expects() -> None:
    fields = {"sheet": "x", "bench": "b", "answer.what-lies-in-front": "bare margin", "answer.which-lot": " lot 4 "}
    body = message(Ask(id="0123456789ab", do="start_step", fields=fields), WHO).body
    assert body["answers"] == {"what-lies-in-front": "bare margin", "which-lot": "lot 4"}
    again = {"step": "s2", "mark": "down", "place": "11"}
    assert message(Ask(id="0123456789ab", do="mark", fields=again), WHO).body == {**again, "place": 11}


def touching(words: str, **more: str) -> str:
    fields = {"sheet": "x", "bench": "b", "probe.tool": "spatula", "touches.tool": "other words", "words.tool": words}
    body = message(Ask(id="0123456789ab", do="start_step", fields={**fields, **more}), WHO).body
    return str(body["bindings"][0]["touches"])


@pytest.mark.parametrize("words", ["under the sole", "in the join", "taped to it", "on the paint", "on painted wood"])
def test_where_no_wire_may_be_is_asked_again(words: str) -> None:
    with pytest.raises(BadInput, match="No wire under the sole or in the join, no tape on paint"):
        touching(words)
    assert touching(words, **{"again.tool": "yes"}) == words


def test_other_words_are_taken_as_they_are() -> None:
    assert touching("on a clip beside the handle") == "on a clip beside the handle"
    with pytest.raises(BadInput, match="nothing entered"):
        touching(" ")
