"""Warnings on pages: once a channel and side, the most severe first, with times said right."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from dashboard.hub import Hub
from dashboard.pages import Pages
from dashboard.warned import Seen, Warned, warned
from tests.support import fake_scene
from tests.support.fake_scene import NOW_MS

MINUTE = 60_000
DAMP = {
    "limit": "humidity-high", "channel": "room.relative_humidity", "side": "high", "began_ms": NOW_MS - 20 * MINUTE,
    "since_ms": NOW_MS - 15 * MINUTE,
}  # fmt: skip


def damp(**more: Any) -> Any:
    return fake_scene.warning(**{**DAMP, "step": "s2", "priority": "medium", "at": 65.0, **more})


def damp_room(**more: Any) -> Any:
    return damp(**{"step": "s1", "painting": "", "priority": "low", "at": 60.0, **more})


def told(*warnings: Any, seen: Any = None) -> list[Warned]:
    view = fake_scene.view(warnings=list(warnings))
    view["probes"][0]["channels"][1]["value"] = 72.0
    view["probes"][1]["channels"][0]["value"] = 88.0
    view["probes"].pop()  # the second room probe
    return warned(view, seen or {})


def test_one_channel_and_side_is_told_once_the_most_severe_first() -> None:
    (one,) = told(damp_room(), damp())
    assert one.sentence == "Relative humidity 72 %: over 65 for Harbour at low tide, over 60 for the room."
    assert one.short == "Relative humidity 72 %, over 65"
    assert one.see == {"step": "s2", "limit": "humidity-high", "channel": "room.relative_humidity"}
    assert one.causes == ["dial set too high", "thermostat swings wide"]
    assert one.consequence


def test_equal_bounds_are_said_once() -> None:
    (one,) = told(damp_room(at=65.0, priority="medium"), damp())
    assert one.sentence == "Relative humidity 72 %: over 65 for the room and Harbour at low tide."


def test_a_value_back_within_the_deadband_is_not_called_over() -> None:
    (one,) = told(damp_room(at=73.0, priority="medium"), damp())
    assert one.sentence == "Relative humidity 72 %: over 65 for Harbour at low tide, was over 73 for the room."


def test_other_channels_and_sides_stay_apart_and_a_high_one_comes_first() -> None:
    hot = fake_scene.warning()
    dry = damp(side="low", at=40.0, limit="humidity-low")
    sentences = [w.sentence for w in told(damp(), dry, hot)]
    assert sentences[0].startswith("Tool temperature 88 °C: over 85 for Harbour at low tide, place 7.")
    assert len(sentences) == 3


def test_what_is_over_says_so_and_one_not_yet_seen_may_still_be_seen() -> None:
    (one,) = told(damp(over=True, may_be_seen=False), damp_room(over=True, words="over, not yet seen"))
    assert "inside again: was over 65 for Harbour at low tide, was over 60 for the room." in one.sentence
    assert one.quiet
    assert one.see is not None
    assert one.see["step"] == "s1"


@pytest.mark.parametrize(
    ("change", "seen", "moments", "last"),
    [
        ({}, None, [("since", DAMP["began_ms"]), ("warned", DAMP["since_ms"])], "not yet seen"),
        ({"began_ms": DAMP["since_ms"]}, None, [("since", DAMP["since_ms"])], "not yet seen"),
        ({"words": "seen", "may_be_seen": False}, None, [("warned", DAMP["since_ms"])], "seen"),
        ({"words": "seen", "may_be_seen": False}, Seen("MK", NOW_MS),
         [("warned", DAMP["since_ms"]), ("seen", NOW_MS)], "MK"),
        ({"words": "over, not yet seen", "over": True}, None, [("warned", DAMP["since_ms"])], "over, not yet seen"),
        ({"began_ms": None, "since_ms": None}, None, [], "not yet seen"),
    ],
)  # fmt: skip
def test_times_are_said_right(change: dict[str, Any], seen: Seen | None, moments: list[Any], last: str) -> None:
    key = ("s2", "humidity-high", "room.relative_humidity")
    (one,) = told(damp(**change), seen={} if seen is None else {key: seen})
    assert (one.moments[0].told, one.moments[0].last) == (moments, last)


def test_who_has_seen_it_is_heard_from_the_day_book_and_forgotten_when_it_comes_again() -> None:
    hub = Hub(Path("nowhere"))
    body = {"step": "s2", "limit": "humidity-high", "channel": "room.relative_humidity"}
    row = {"seq": 1, "kind": "alarm_seen", "step": "s2", "by": "MK", "at_ms": NOW_MS, "body": body}
    hub.take({"feed": "event", "row": row})
    assert hub.shown().seen == {("s2", "humidity-high", "room.relative_humidity"): Seen("MK", NOW_MS)}
    hub.take({"feed": "event", "row": {**row, "kind": "alarm_raised"}})
    assert hub.shown().seen == {}


def test_the_strip_reads_as_a_sentence() -> None:
    seen = {("s2", "humidity-high", "room.relative_humidity"): Seen("MK", NOW_MS)}
    html = Pages().part("warnings", warnings=told(damp(words="seen", may_be_seen=False), seen=seen))
    times = html.replace(f'<time data-ms="{DAMP["since_ms"]}"></time>', "09:27").replace(
        f'<time data-ms="{NOW_MS}"></time>', "09:42"
    )
    assert "warned 09:27, seen 09:42 MK</span>" in times
    assert "It may come from" in html


def test_a_silence_says_until_when() -> None:
    held = fake_scene.warning(state="shelved", words="silent for a time", may_be_seen=False, silent_until_ms=99)
    (one,) = warned(fake_scene.view(warnings=[held]), {})
    assert one.moments[0].told[-1] == ("silent until", 99)
    assert one.moments[0].last == ""
