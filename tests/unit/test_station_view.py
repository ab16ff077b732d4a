"""What the view says: painting and place by name, plain words, one control, and nothing that was not measured."""

from __future__ import annotations

import re
from typing import Any

import pytest

from monitor.bench.inputs import Break
from monitor.bench.quantities import split_channel
from monitor.bench.readings import QUALITY_WORDS, Quality, Reading
from monitor.bench.ticking import Fold
from monitor.catalogue.loader import load
from monitor.config import ProbeConfig, Studio
from monitor.link.view import StepView, View
from monitor.station.completing import step_body
from monitor.station.view import Surroundings, build
from monitor.station.words import FAULTS, span
from tests.support.folds import asked, settings

TOOL, ROOM_C, ROOM_RH = "spatula.tool_temperature", "room.air_temperature", "room.relative_humidity"
CATALOGUE = load()
STUDIO = Studio(
    "Studio on the quay",
    "quay",
    ("north bench",),
    (
        ProbeConfig("room", "north bench", "sht45", "i2c-1", 1000),
        ProbeConfig("spatula", "north bench", "max31856", "spi-0.0", 1000),
    ),
)
SOURCES = {"room": "simulated SHT45 no. 1 on i2c-1 at 0x44", "spatula": "MAX31856 on spi-0.0"}
OFFSET_MS = 1_777_885_200_000
FORBIDDEN = re.compile(r"\b(safe|safely|sealed|no-go|go ahead|good to go|all clear|dry)\b", re.IGNORECASE)


class Scene:
    """A fold with a room's watch, a painting and a heat step, moved by hand."""

    def __init__(self) -> None:
        self.fold = Fold()
        self.now = 0
        self.fold.feed(Break(0, 1, 1, OFFSET_MS, None))
        self.fold.feed(settings(0, channels=(TOOL, ROOM_C, ROOM_RH)))
        self.ask(
            "painting_asked", number="23-09", name="Harbour at low tide", support="linen", beware=["loose paint"]
        )
        sheets = CATALOGUE.sheets
        room = [{"role": "room", "probe": "room", "touches": "air"}]
        self.ask("step_asked", **step_body(self.fold.state, sheets["room"], "north bench", room))
        bound = [{"role": "tool", "probe": "spatula", "touches": "in the shank"}, *room]
        sandwich = CATALOGUE.sandwich("strip-on-margin")
        asks = sheets["heat-seal-spatula"].asks
        answers = [{"key": q.key, "text": q.text, "answer": (q.choices or ("told",))[0]} for q in asks]
        work = {"answers": answers, "painting": "23-09", "side": "B", "places": 3, "sandwich": sandwich}
        heat = step_body(self.fold.state, sheets["heat-seal-spatula"], "north bench", bound, **work)  # type: ignore[arg-type]
        self.ask("step_asked", **heat)

    def ask(self, kind: str, **body: Any) -> None:
        self.now += 1
        self.fold.feed(asked(self.now, kind, **body))

    def read(self, seconds: int, tool: float | None = 78.0, rh: float = 50.0, quality: str = "open") -> None:
        for _ in range(seconds):
            self.now = (self.now // 1000 + 1) * 1000
            self.fold.feed(Reading(self.now, ROOM_C, 20.4))
            self.fold.feed(Reading(self.now, ROOM_RH, rh))
            why = Quality.GOOD if tool is not None else QUALITY_WORDS[quality]
            self.fold.feed(Reading(self.now, TOOL, tool, why))

    def places(self) -> None:
        self.ask("stage_asked", step="s2", stage="places")

    def mark(self, mark: str) -> None:
        self.ask("mark_asked", step="s2", mark=mark, place=None, age_ms=0)

    def view(self, *, known: bool = True) -> View:
        around = Surroundings(STUDIO, CATALOGUE.sheets, SOURCES)

        def at(mono_ms: int | None) -> int | None:
            return None if mono_ms is None or not known else mono_ms + OFFSET_MS

        return build(around, self.fold.state, at, now_ms=self.now, stored_at_ms=None, estimates={})

    def heat(self) -> StepView:
        return next(s for s in self.view()["steps"] if s["sheet"] == "heat-seal-spatula")


@pytest.fixture
def scene() -> Scene:
    return Scene()


def said(view: View) -> list[str]:
    """Collect every sentence of a view that we wrote ourselves."""
    lines = [w["sentence"] for w in view["warnings"]]
    for step in view["steps"]:
        say = step["say"]
        lines += [say["sentence"], say["why"], say["control"]["words"], step["estimate_note"]]
        lines += [part for fact in say["facts"] for part in fact]
    lines += [text for p in view["probes"] if p["fault"] for text in (p["fault"]["words"], p["fault"]["do"])]
    return lines


def test_the_control_follows_the_step(scene: Scene) -> None:
    scene.read(3)
    assert scene.heat()["say"]["control"] == {
        "words": "Next: Place by place",
        "do": "next_stage",
        "body": {"step": "s2", "stage": "places"},
        "calls": True,
    }
    scene.places()
    assert scene.heat()["say"]["control"] == {
        "words": "Mark: tool down on place 1",
        "do": "mark",
        "body": {"step": "s2", "mark": "down"},
        "calls": True,
    }
    scene.mark("down")
    scene.read(5)
    step = scene.heat()
    assert step["say"]["sentence"] == "The tool is on place 1."
    assert step["say"]["control"]["words"] == "Mark: lifted"
    assert step["places"] is not None
    assert step["places"]["in_contact"] is True
    assert step["places"]["contact_since_ms"] is not None
    scene.mark("lift")
    step = scene.heat()
    assert step["say"]["sentence"] == "Set the tool down on place 2."
    assert "Place 1: not known" in step["say"]["why"]
    assert ["worked", "1 of 3 places"] in step["say"]["facts"]
    for _ in range(2):
        scene.mark("down")
        scene.read(2)
        scene.mark("lift")
    assert scene.heat()["say"]["sentence"] == "Every place of side B has been worked."
    assert scene.heat()["say"]["control"]["do"] == "next_stage"
    scene.ask("stage_asked", step="s2", stage="cooling")
    assert scene.heat()["say"]["control"]["do"] == "finish_step"
    scene.ask("finish_asked", step="s2")
    (room,) = scene.view()["steps"]
    assert room["say"]["control"]["do"] == ""


def test_every_control_is_one_the_station_takes(scene: Scene) -> None:
    """What the large control asks is accepted as it stands, from the first to the last."""
    from monitor.link.messages import Request
    from monitor.station.completing import Completing

    completing = Completing(STUDIO, CATALOGUE)
    done = []
    for number in range(12):
        scene.read(1)
        steps = [s for s in scene.view()["steps"] if s["say"]["control"]["do"]]
        if not steps:
            break
        control = steps[0]["say"]["control"]
        request = Request(f"r{number}", control["do"], dict(control["body"]), "MK", "pedal")
        kind, body = completing.complete(request, scene.fold.state)
        revision = scene.fold.state.revision
        scene.ask(kind, **body)
        assert scene.fold.state.revision > revision, control
        done.append(control["do"])
    assert done == ["next_stage", *["mark"] * 6, "next_stage", "finish_step"]


def test_a_warning_names_painting_bench_value_and_what_was_set(scene: Scene) -> None:
    scene.places()
    scene.read(15, tool=52.0)
    (warning,) = scene.view()["warnings"]
    assert warning["sentence"] == (
        "Harbour at low tide, north bench: tool temperature at spatula is 52 °C; you set at least 65 °C."
    )
    assert warning["what_to_do"].startswith("Lift, look at plug")
    assert (warning["words"], warning["may_be_seen"], warning["over"]) == ("not yet seen", True, False)
    scene.read(10, tool=78.0)
    (warning,) = scene.view()["warnings"]
    assert "inside again" in warning["sentence"]
    assert (warning["over"], warning["may_be_seen"]) == (True, True)
    scene.ask("see_asked", step="s2", limit="tool-too-cold", channel=TOOL)
    assert scene.view()["warnings"] == []


def test_a_passed_limit_is_said_before_anything_else_is_proposed(scene: Scene) -> None:
    scene.places()
    scene.mark("down")
    scene.read(15, tool=52.0)
    say = scene.heat()["say"]
    assert say["sentence"] == "Lift: tool temperature 52 °C, 65 °C at least."
    scene.mark("lift")
    say = scene.heat()["say"]
    assert say["sentence"].startswith("Wait: ")
    assert say["control"]["calls"] is False
    assert say["control"]["do"] == "mark"


def test_what_was_answered_at_the_start_is_shown(scene: Scene) -> None:
    asked_before = next(s for s in scene.view()["sheets"] if s["sheet"] == "heat-seal-spatula")["asks"]
    assert asked_before[0]["key"] == "what-lies-in-front"
    assert len(scene.heat()["answers"]) == len(asked_before)


def test_the_room_says_inside_or_outside_what_you_set(scene: Scene) -> None:
    assert scene.view()["steps"][0]["say"]["sentence"] == "Nothing has been read yet."
    scene.read(5)
    assert scene.view()["steps"][0]["say"]["sentence"] == "Inside what you set."
    scene.read(310, rh=62.0)
    say = scene.view()["steps"][0]["say"]
    assert say["sentence"] == "Outside what you set."
    assert say["why"] == "relative humidity, at most."


@pytest.mark.parametrize("quality", [q.word for q in Quality if q.is_gap])
def test_a_sick_probe_says_what_is_wrong_and_shows_no_value(scene: Scene, quality: str) -> None:
    scene.places()
    scene.read(2)
    scene.mark("down")
    scene.read(4, tool=None, quality=quality)
    view = scene.view()
    spatula = next(p for p in view["probes"] if p["probe"] == "spatula")
    assert spatula["fault"] is not None
    assert spatula["fault"]["quality"] == quality
    assert spatula["fault"]["words"] == FAULTS[quality][0]
    assert spatula["channels"][0]["value"] is None
    say = scene.heat()["say"]
    assert say["sentence"].startswith("Spatula ")
    assert "is not known" in say["why"]


def test_a_silent_probe_keeps_no_value(scene: Scene) -> None:
    scene.read(2)
    for _ in range(6):
        scene.now += 1000
        scene.fold.feed(Reading(scene.now, TOOL, 78.0))
    scene.fold.pass_time(scene.now + 1)
    room = next(p for p in scene.view()["probes"] if p["probe"] == "room")
    assert room["fault"] is not None
    assert room["fault"]["quality"] == "stale"
    assert [c["value"] for c in room["channels"]] == [None, None]


def test_limits_carry_their_source_and_tell_when_they_are_off(scene: Scene) -> None:
    off = {limit["key"]: limit["off"] for limit in scene.heat()["limits"]}
    assert off["tool-too-cold"] is True
    scene.places()
    limits = {limit["key"]: limit for limit in scene.heat()["limits"]}
    assert limits["tool-too-cold"]["off"] is False
    assert all(level["source"] and level["grade"] for limit in limits.values() for level in limit["levels"])
    assert limits["humidity-high"]["channels"] == [ROOM_RH]


def test_simulated_probes_say_so(scene: Scene) -> None:
    view = scene.view()
    assert view["simulated"] is True
    assert [(p["probe"], p["simulated"]) for p in view["probes"]] == [("room", True), ("spatula", False)]


def test_without_the_time_nothing_has_one(scene: Scene) -> None:
    scene.places()
    scene.read(15, tool=52.0)
    view = scene.view(known=False)
    assert view["time_known"] is False
    assert view["at_ms"] is None
    assert view["warnings"][0]["since_ms"] is None
    assert {c["at_ms"] for p in view["probes"] for c in p["channels"]} == {None}


def test_cautions_of_sheet_and_painting_stand_beside_the_work(scene: Scene) -> None:
    cautions = scene.heat()["say"]["cautions"]
    assert any("no safety device" in text for text in cautions)
    assert "Harbour at low tide: loose paint." in cautions


def test_our_own_sentences_promise_nothing(scene: Scene) -> None:
    heard: list[str] = said(scene.view())
    scene.places()
    for tool, rh in ((78.0, 50.0), (52.0, 62.0), (None, 62.0), (90.0, 30.0)):
        scene.mark("down")
        scene.read(160, tool=tool, rh=rh)
        heard += said(scene.view())
        scene.mark("lift")
        heard += said(scene.view())
    assert len(set(heard)) > 30
    assert [text for text in heard if FORBIDDEN.search(text)] == []


@pytest.mark.parametrize(
    ("ms", "words"),
    [(400, "0 s"), (45_400, "45 s"), (119_000, "119 s"), (125_000, "2 min"), (7_500_000, "2 h 05 min")],
)
def test_spans_are_told_in_words(ms: int, words: str) -> None:
    assert span(ms) == words


def test_every_channel_is_shown_with_its_unit(scene: Scene) -> None:
    channels = [c for p in scene.view()["probes"] for c in p["channels"]]
    assert {c["channel"] for c in channels} == {TOOL, ROOM_C, ROOM_RH}
    assert all(c["quantity"] == split_channel(c["channel"])[1] for c in channels)
