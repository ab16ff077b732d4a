"""Figures, the rule and the seam as pages write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard import words
from dashboard.bench import COLD, HOT, SOLVENT, foremost
from dashboard.drawing import rule
from dashboard.known import Known
from dashboard.limits_told import Origin, tell
from dashboard.sentences import LISTED, sentence
from monitor.bench.kinds import NEWEST
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
        (5_400_000, "1 h 30 min"),
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
    (told,) = tell([high], "heat-seal-spatula", Known(sources={"a-book": "A book, 1980"}))
    assert [level.told for level in told.levels] == ["Our proposal.", "Cited: A book, 1980, p. 4."]


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


@given(low=st.integers(-20, 120).map(float), span=st.integers(1, 60), value=finite)
def test_the_two_labels_of_the_rule_never_meet_even_on_a_telephone(low: float, span: float, value: float) -> None:
    limits = [
        fake_scene.limit("low", "tool_temperature", "", "low", low, []),
        fake_scene.limit("high", "tool_temperature", "", "high", round(low + span, 1), []),
    ]
    drawn = rule(limits, value, value, value)
    least, most = drawn.labels
    assert drawn.frame is not None
    assert (least.anchor, least.x) == ("end", drawn.frame.x)
    assert most.anchor == "start"
    assert most.x == pytest.approx(drawn.frame.x + drawn.frame.width, abs=0.02)
    width = 3.58  # px of one per cent on a telephone 390 px wide; a letter takes 10 px
    assert least.x * width >= 10 * len(least.text) - 24
    assert (100 - most.x) * width >= 10 * len(most.text) - 24


def test_the_frame_is_open_where_nothing_was_set() -> None:
    limit = fake_scene.limit("hot", "tool_temperature", "", "high", 85, [])
    frame = rule([limit], 80, 80, 80).frame
    assert frame is not None
    assert (frame.left, frame.right) == (False, True)


def test_one_caution_is_always_in_sight() -> None:
    assert foremost(fake_scene.heat_step()) == HOT
    assert HOT == "Hot tool: in the hand or on its stand. This is no safety device."
    assert foremost(fake_scene.room_step()) == COLD
    for first, told in (("Hot tools burn and start fires.", HOT), ("Solvent vapour ignites: no flame.", SOLVENT)):
        step = fake_scene.room_step()
        step["say"]["cautions"] = [first, "Anything else."]
        assert foremost(step) == told


def test_limits_tell_source_grade_note_causes_and_what_to_do_in_words() -> None:
    limit = fake_scene.limit(
        "damp", "relative_humidity", "relative humidity, at most", "high", 65, [], source="iic", grade="cited",
        locator="p. 3", note="said of collections at rest", causes=["wet weather", "an open window"],
        consequence="The canvas moves.", what_to_do="Stop after this place.",
    )  # fmt: skip
    (told,) = tell([limit], "room", Known(sources={"iic": "Declaration, 2014"}))
    assert told.title == "Relative humidity, at most"
    assert told.levels == [Origin("65 %", "Cited: Declaration, 2014, p. 3. Said of collections at rest.", "")]
    assert told.causes == "Wet weather; an open window."
    assert (told.consequence, told.what_to_do) == ("The canvas moves.", "Stop after this place.")
    own = fake_scene.limit("hot", "tool_temperature", "tool temperature, at most", "high", 85, [])
    assert tell([own], "room", Known(sources={"project": "x"}))[0].levels == [Origin("85 °C", "Our proposal.", "")]


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


CONTACT = {
    "side": "B", "place": 15, "pass": 1, "probe": "spatula", "ended_by": "mark", "milliseconds": 14_000,
    "readings": 70, "gaps": 1, "tool_low": "80.6", "tool_mean": "80.9", "tool_high": "81.2",
}  # fmt: skip


def test_sentences_count_and_span_as_people_do() -> None:
    told = sentence({"kind": "contact_ended", "body": CONTACT})
    assert told == "Tool off side B, place 15, pass 1 after 14 s; tool 81 °C, 1 gap."
    more = {**CONTACT, "gaps": 2, "tool_low": "76.2"}
    assert sentence({"kind": "contact_ended", "body": more}).endswith("tool 76 to 81 °C, 2 gaps.")
    voided = {**CONTACT, "reason": "mark taken back"}
    assert sentence({"kind": "contact_voided", "body": voided}) == "Mark taken back: side B, place 15, pass 1."


def test_sentences_name_the_painting_where_the_row_tells_the_step() -> None:
    finished = {"kind": "step_finished", "body": {"sheet": "x", "seconds": 5520}}
    assert sentence(finished, "Harbour at low tide") == "Step finished after 1 h 32 min, Harbour at low tide."
    assert sentence(finished) == "Step finished after 1 h 32 min."
    seen = {"kind": "alarm_returned", "body": {"channel": "room.relative_humidity"}}
    assert sentence(seen, "Winter road") == "Relative humidity (room): inside what you set again, Winter road."
    note = {"kind": "note_written", "body": {"text": "cold"}}
    assert sentence(note, "Winter road") == "Note: cold"
