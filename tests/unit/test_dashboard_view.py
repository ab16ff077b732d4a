"""What the station's view adds for the pages: why a limit warns, when, and whether an estimate still runs."""

from __future__ import annotations

from collections.abc import Mapping

from monitor.bench.inputs import Break
from monitor.bench.outputs import Estimate
from monitor.bench.readings import Quality, Reading
from monitor.bench.ticking import Fold
from monitor.catalogue.loader import load
from monitor.config import ProbeConfig, Studio
from monitor.link.view import View
from monitor.station.completing import step_body
from monitor.station.view import Surroundings, build
from tests.support.folds import asked, settings

TOOL, ROOM_C, ROOM_RH = "spatula.tool_temperature", "room.air_temperature", "room.relative_humidity"
OFFSET_MS = 1_777_885_200_000
STUDIO = Studio(
    "Studio on the quay", "quay", ("north bench",), (ProbeConfig("spatula", "north bench", "max31856", "spi", 1000),)
)


def fold() -> Fold:
    """Give a heat step with its tool down on place 1 and the tool read for five seconds."""
    sheet = load().sheets["heat-seal-spatula"]
    made = Fold()
    made.feed(Break(0, 1, 1, OFFSET_MS, None))
    made.feed(settings(0, channels=(TOOL, ROOM_C, ROOM_RH)))
    made.feed(asked(1, "painting_asked", number="23-09", name="Harbour", support="linen", beware=[]))
    bound = [{"role": "tool", "probe": "spatula", "touches": "x"}, {"role": "room", "probe": "room", "touches": "y"}]
    body = step_body(
        made.state, sheet, "north bench", bound, painting="23-09", side="B", places=3,
        sandwich=load().sandwich("strip-on-margin"),
        answers=[{"key": q.key, "text": q.text, "answer": (q.choices or ("words",))[0]} for q in sheet.asks],
    )  # fmt: skip
    made.feed(asked(2, "step_asked", **body))
    made.feed(asked(3, "stage_asked", step="s1", stage="places"))
    for channel, value in ((ROOM_C, 21.0), (ROOM_RH, 50.0), (TOOL, 78.0)):
        made.feed(Reading(4, channel, value, Quality.GOOD))
    made.feed(asked(5, "mark_asked", step="s1", mark="down", place=None, age_ms=0))
    return made


def shown(made: Fold, now: int, estimates: Mapping[tuple[str, str], Estimate] | None = None) -> View:
    state = made.state
    around = Surroundings(STUDIO, load().sheets, {})
    return build(around, state, state.at_ms, now_ms=now, stored_at_ms=None, estimates=estimates or {})


def test_a_limit_says_why_it_warns_and_a_level_what_is_noted_of_it() -> None:
    (step,) = shown(fold(), 10)["steps"]
    cold = next(x for x in step["limits"] if x["key"] == "tool-too-cold")
    assert "tool switched off, unplugged or cut out" in cold["causes"]
    assert cold["consequence"].startswith("The film cannot get warmer than the tool")
    assert cold["what_to_do"].startswith("Lift, look at plug")
    assert "a set-down cools the tip" in cold["levels"][0]["note"]
    film = next(x for x in step["limits"] if x["quantity"] == "bond_line_temperature")
    assert film["levels"][0]["note"].startswith("nap bond")


def test_a_warning_tells_when_the_value_went_past_and_when_it_came() -> None:
    made = fold()
    for ms in range(1000, 16_000, 1000):
        made.feed(Reading(ms, TOOL, 50.0, Quality.GOOD))
    (warning,) = shown(made, 15_000)["warnings"]
    assert warning["began_ms"] == OFFSET_MS + 1000
    assert warning["since_ms"] == OFFSET_MS + 11_000
    assert (warning["side"], warning["at"]) == ("low", 65.0)
    assert warning["consequence"]
    assert warning["causes"]


def test_places_tell_whether_the_tool_may_be_set_down_on_them_now() -> None:
    made = fold()
    told = shown(made, 10)["steps"][0]["places"]
    assert told is not None
    assert told["workable"]
    made.feed(asked(2000, "mark_asked", step="s1", mark="lift", place=None, age_ms=0))
    made.feed(asked(2001, "stage_asked", step="s1", stage="cooling"))
    told = shown(made, 2002)["steps"][0]["places"]
    assert told is not None
    assert not told["workable"]


def test_a_lost_estimate_leaves_no_band_behind() -> None:
    made, estimates = fold(), {}
    for ms in (200, 400, 600):
        for one in made.feed(Reading(ms, TOOL, 78.0, Quality.GOOD)):
            if isinstance(one, Estimate):
                estimates[one.step, one.depth] = one
    assert len(shown(made, 600, estimates)["steps"][0]["estimates"]) == 2
    made.feed(Reading(5000, TOOL, 78.0, Quality.GOOD))  # four seconds without a reading
    (step,) = shown(made, 5000, estimates)["steps"]
    assert step["estimates"] == []
    assert step["estimate_note"].startswith("No estimate for this contact")
