"""Figures, the rule and the seam as pages write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard import words
from dashboard.drawing import rule
from dashboard.figure import figure
from dashboard.limits_told import tell
from dashboard.seam import seam, tally
from dashboard.sentences import LISTED, sentence
from monitor.bench.kinds import NEWEST
from monitor.link.view import PlacesView
from tests.support import fake_scene


@pytest.mark.parametrize(
    ("value", "text"), [(20.5, "21"), (21.5, "22"), (-0.4, "0"), (-0.5, "-1"), (68.4999, "68"), (100.0, "100")]
)
def test_whole_figures(value: float, text: str) -> None:
    assert words.whole(value) == text


@pytest.mark.parametrize(
    ("milliseconds", "text"),
    [
        (-5, "0 s"),
        (89_999, "89 s"),
        (90_000, "1 min"),
        (5_400_000, "1 h"),
        (129_600_000, "1 day"),
        (400_000_000, "4 days"),
    ],
)
def test_lengths_of_time(milliseconds: int, text: str) -> None:
    assert words.lasting(milliseconds) == text


def test_a_gap_is_no_reading_and_a_clipped_one_keeps_its_bound() -> None:
    name = "room.relative_humidity"
    assert words.reading(fake_scene.channel(name, "relative humidity", "%", None, "bus")) == "no reading"
    assert words.reading(fake_scene.channel(name, "relative humidity", "%", 100.0, "clipped")) == "beyond 100 %"


def test_a_limit_says_its_levels_mildest_first_and_where_they_come_from() -> None:
    high = fake_scene.limit("damp", "relative_humidity", "relative humidity, at most", "high", 80, [])
    cited = {**high["levels"][0], "at": 75.0, "source": "a-book", "locator": "p. 4", "grade": "cited"}
    high["levels"].append(cited)  # type: ignore[arg-type]
    assert words.limit_words(high) == "at most 75 %, then 80 %"
    (told,) = tell([high], {"a-book": "A book, 1980"})
    assert [origin for _, origin in told.levels] == ["Our proposal.", "Cited: A book, 1980, p. 4."]


@pytest.mark.parametrize(
    ("given", "text"),
    [([("low", 65)], "set 65 at least"), ([("high", 85)], "set 85 at most"),
     ([("low", 65), ("high", 85)], "set 65 to 85"),
     ([("high", 80), ("high", 75)], "set 75 at most"), ([("low", 40), ("low", 35)], "set 40 at least")],
)  # fmt: skip
def test_what_was_set_in_few_words(given: list[tuple[str, float]], text: str) -> None:
    limits = [fake_scene.limit("a", "relative_humidity", "", side, at, []) for side, at in given]
    assert words.set_words(limits) == text


def test_figures_keep_their_unit_on_the_line() -> None:
    assert words.tight("at 88 °C for 3 s, 52 %, 4 places") == "at 88\xa0°C for 3\xa0s, 52\xa0%, 4 places"


finite = st.floats(-40, 300, allow_nan=False).map(lambda v: round(v, 1))


@given(low=st.none() | finite, high=st.none() | finite, value=st.none() | finite, spread=st.floats(0, 20))
def test_everything_on_the_rule_lies_on_it(
    low: float | None, high: float | None, value: float | None, spread: float
) -> None:
    limits = [
        fake_scene.limit(side, "tool_temperature", "", side, at, [])
        for side, at in (("low", low), ("high", high))
        if at is not None
    ]
    band = (None, None) if value is None else (value - spread, value + spread)
    drawn = rule(limits, band[0], value, band[1])
    places = [label.x for label in (*drawn.ticks, *drawn.labels, *drawn.further)]
    places += [x for x in (drawn.bar,) if x is not None]
    if drawn.wash:
        places += [drawn.wash[0], drawn.wash[0] + drawn.wash[1]]
    if drawn.frame:
        places += [drawn.frame.x, drawn.frame.x + drawn.frame.width]
    assert all(1.9 <= x <= 98.1 for x in places)
    assert (drawn.bar is None) == (value is None)
    assert (drawn.frame is None) == (low is None and high is None)
    assert 2 <= len(drawn.ticks) <= 9


def test_the_frame_is_open_where_nothing_was_set() -> None:
    limit = fake_scene.limit("hot", "tool_temperature", "", "high", 85, [])
    frame = rule([limit], 80, 80, 80).frame
    assert frame is not None
    assert (frame.left, frame.right) == (False, True)


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


def test_an_estimate_is_a_band_and_a_measured_value_one_number() -> None:
    view = fake_scene.view()
    step = view["steps"][1]
    band = figure(view, step)
    assert band is not None
    assert (band.low, band.likely, band.high, band.label) == ("63", "66", "69", "at the adhesive, estimated")
    assert band.note == "Not yet tried on a mock-up: a band, and no verdict."
    step["estimates"] = []
    step["estimate_note"] = ""
    measured = figure(view, step)
    assert measured is not None
    assert (measured.low, measured.high, measured.likely) == ("78", "78", "")
    assert measured.label == "tool, measured at the shank"
    assert measured.rule.wash is None


def test_a_figure_outside_what_was_set_says_so() -> None:
    view = fake_scene.view()
    step = view["steps"][1]
    step["estimates"] = []
    view["probes"][1]["channels"][0]["value"] = 85.0
    at_the_limit = figure(view, step)
    view["probes"][1]["channels"][0]["value"] = 85.1
    beyond = figure(view, step)
    step["limits"][0]["off"] = True
    off = figure(view, step)
    assert [f.judged for f in (at_the_limit, beyond, off) if f] == ["", "outside what you set", ""]


SAMPLE = {"str": "a word", "int": 90, "list": [], "dict": {}, "decimal": "21.4", "bool": True}


@pytest.mark.parametrize("kind", LISTED)
def test_every_listed_kind_has_a_sentence(kind: str) -> None:
    body = {name: SAMPLE[spec.rstrip("?")] for name, spec in NEWEST[kind].fields.items()}
    body.update({k: v for k, v in (("channel", "room.air_temperature"), ("side", "high")) if k in body})
    text = sentence({"kind": kind, "body": body, "step": None})
    assert len(text) > 10
    empty = {name: None if spec.endswith("?") else body[name] for name, spec in NEWEST[kind].fields.items()}
    assert "None" not in sentence({"kind": kind, "body": empty, "step": None})


def test_a_verdict_keeps_the_side_s_letter() -> None:
    body = {"side": "B", "place": 4, "pass": 1, "verdict": "not reached", "reason": "lifted after 4 s"}
    told = sentence({"kind": "place_judged", "body": body})
    assert told == "Side B, place 4, pass 1: not reached, lifted after 4 s."


def test_what_only_repeats_a_request_has_no_sentence() -> None:
    assert sentence({"kind": "mark_asked", "body": {}}) == ""
