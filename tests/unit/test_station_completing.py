"""Requests become whole bodies, or are refused with what was wrong before anything is folded."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from monitor.bench.judged import lacking
from monitor.bench.kinds import check_body
from monitor.bench.pace import Served
from monitor.bench.sheets import Sheet
from monitor.bench.state import Binding, Channel, State
from monitor.catalogue.loader import load
from monitor.catalogue.model import Catalogue
from monitor.config import ProbeConfig, Studio
from monitor.errors import BadInput
from monitor.link.messages import VERBS, Request
from monitor.station.completing import Completing
from tests.support.catalogues import SHEET, write

STUDIO = Studio(
    "Studio of a test",
    "test",
    ("north bench",),
    (
        ProbeConfig("room", "north bench", "sht45", "i2c-1", 1000),
        ProbeConfig("spatula", "north bench", "max31856", "spi-0.0", 200),
    ),
)
CHANNELS = ("room.air_temperature", "room.relative_humidity", "spatula.tool_temperature")
ALARM = {"step": "s1", "limit": "humidity-high", "channel": "room.relative_humidity"}
BINDINGS = [{"role": "tool", "probe": "spatula", "touches": "shank"}, {"role": "room", "probe": "room"}]
START = {
    "sheet": "heat-seal-spatula",
    "painting": "26-01",
    "bench": "north bench",
    "side": "A",
    "places": 4,
    "sandwich": "strip-on-margin",
    "bindings": BINDINGS,
}


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load()


@pytest.fixture
def state() -> State:
    made = State(steps_ever=6)
    made.channels = {name: Channel(name, 1000, "north bench") for name in CHANNELS}
    return made


def complete(
    catalogue: Catalogue, state: State, verb: str, body: dict[str, Any], **more: Any
) -> tuple[str, dict[str, Any]]:
    return Completing(STUDIO, catalogue).complete(Request("r1", verb, body, **more), state)


WELL: dict[str, dict[str, Any]] = {
    "add_painting": {"number": "26-01", "name": "Two boats drying"},
    "hand_back": {"number": "26-01"},
    "start_step": START,
    "finish_step": {"step": "s1"},
    "next_stage": {"step": "s1", "stage": "places"},
    "mark": {"step": "s1", "mark": "down"},
    "undo": {"step": "s1"},
    "note": {"text": "Seen."},
    "see": ALARM,
    "shelve": {**ALARM, "for_s": 600, "reason": "window open"},
    "unshelve": ALARM,
    "suppress": {**ALARM, "reason": "by design"},
    "out_of_service": {**ALARM, "reason": "lead broken"},
    "release": ALARM,
    "reset": ALARM,
}


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_is_completed_to_its_registered_form(catalogue: Catalogue, state: State, verb: str) -> None:
    kind, body = complete(catalogue, state, verb, WELL[verb])
    assert kind == VERBS[verb]
    check_body(kind, body)


def test_a_start_carries_number_sheet_channels_and_sandwich(catalogue: Catalogue, state: State) -> None:
    _, body = complete(catalogue, state, "start_step", START)
    assert body["step"] == "s7"
    assert body["sheet"]["limits"]["tool-too-hot"]["levels"][0]["grade"] == "proposal"
    assert body["bindings"] == [
        {"role": "tool", "probe": "spatula", "touches": "shank", "channels": ["spatula.tool_temperature"]},
        {
            "role": "room",
            "probe": "room",
            "touches": "not said",
            "channels": ["room.air_temperature", "room.relative_humidity"],
        },
    ]
    assert body["sandwich"]["film"]


def test_a_step_without_layers_is_started_without_an_estimate(catalogue: Catalogue, state: State) -> None:
    _, body = complete(catalogue, state, "start_step", {**START, "sandwich": ""})
    assert body["sandwich"] is None


def test_a_mark_carries_the_age_of_its_key(catalogue: Catalogue, state: State) -> None:
    _, body = complete(catalogue, state, "mark", {"step": "s1", "mark": "down"}, age_ms=350)
    assert body == {"step": "s1", "mark": "down", "place": None, "age_ms": 350}


@pytest.mark.parametrize(
    ("verb", "body", "more", "found"),
    [
        ("dance", {}, {}, "unknown verb 'dance'"),
        ("note", {}, {}, "no field 'text'"),
        ("note", {"text": "x", "colour": 1}, {}, "unknown field 'colour'"),
        ("note", {"text": "x" * 30_000}, {}, "at most 20000"),
        ("note", {"text": "a\0b"}, {}, "NUL"),
        ("note", {"text": "\ud800"}, {}, "texts, whole numbers"),
        ("note", {"text": 1.5}, {}, "1.5 is a float"),
        ("note", {"text": "x"}, {"by": "M" * 81}, "81 characters"),
        ("note", {"text": "x"}, {"via": ""}, "0 characters"),
        ("add_painting", {"number": "1", "name": "n", "beware": [1]}, {}, "a list of texts"),
        ("start_step", {**START, "sheet": "gilding"}, {}, "gilding"),
        ("start_step", {**START, "bench": "attic"}, {}, "'attic'"),
        ("start_step", {**START, "sandwich": "jam"}, {}, "jam"),
        ("start_step", {**START, "places": "four"}, {}, "a whole number"),
        ("start_step", {**START, "places": True}, {}, "a whole number"),
        ("start_step", {**START, "bindings": None}, {}, "a list of objects"),
        ("start_step", {**START, "bindings": [{"role": "tool"}]}, {}, "role, probe and touches"),
        ("start_step", {**START, "bindings": [{"role": "tool", "probe": "iron"}]}, {}, "unknown probe 'iron'"),
        ("start_step", {**START, "speed": 3}, {}, "unknown field 'speed'"),
    ],
)
def test_what_cannot_be_recorded_is_refused_by_name(
    catalogue: Catalogue, state: State, verb: str, body: dict[str, Any], more: dict[str, Any], found: str
) -> None:
    with pytest.raises(BadInput) as caught:
        complete(catalogue, state, verb, body, **more)
    assert found in str(caught.value)
    assert caught.value.do


def test_a_margin_is_worked_out_when_the_step_is_asked_for(state: State, tmp_path: Path) -> None:
    """The request carries the numbers, so that whoever folds it again needs no catalogue."""
    guarded = SHEET.replace("latching = false", 'margin = "k2"').replace('asks = ["which-lot"]\n', "").replace(
        'cautions = ["never-alone"]\n', "").replace('prompts = ["check-by-hand"]\n', "")  # fmt: skip
    own = load(write(tmp_path, {"sheets/trial.toml": guarded}))
    asked = {"sheet": "trial", "painting": "26-01", "bench": "north bench",
             "bindings": [{"role": role, "probe": "room"} for role in ("tent", "room")]}  # fmt: skip
    _, body = complete(own, state, "start_step", asked)
    told = body["sheet"]["limits"]["too-damp"]
    assert told["guards"] == [
        {"channel": "room.relative_humidity", "by": "1.16", "source": "sht4x-data-sheet", "grade": "cited",
         "locator": "accuracy, typical"},
    ]  # fmt: skip
    sheet = Sheet.from_json(body["sheet"])
    bindings = [Binding(b["role"], b["probe"], b["touches"], b["channels"]) for b in body["bindings"]]
    at = Served(sheet, bindings, "north bench", "s7", state.channels)
    assert lacking(sheet.limits["too-damp"], at) is None
    found = lacking(replace(sheet.limits["too-damp"], guards=()), at)
    assert found == ("its margin k2 is not worked out for room.relative_humidity", "one for each channel it judges")
