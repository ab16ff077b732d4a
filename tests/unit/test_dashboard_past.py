"""Look back: the chart's specification, periods, and the day-book of a period."""

from __future__ import annotations

from itertools import pairwise
from typing import Any, cast

import plotly.graph_objects as go
import pytest

from dashboard.chart import LIGHTS, Drawn, spec
from dashboard.handing_back import hand_back_sentence
from dashboard.hub import Shown
from dashboard.look_back import HOUR_MS, ROWS, Wish, choices, now_of, seen, span
from dashboard.past import Pass, Past, PastLimit, PastStep, names, passes, rows_between, steps
from dashboard.sentences import LISTED
from monitor.clock import Segment
from monitor.errors import BadInput, StoreError
from monitor.link.view import LevelView
from tests.support import fake_scene
from tests.support.fake_past import LEVELS, STEP_MS, FakePast, Piece, missing, row
from tests.support.fake_scene import NOW_MS

EVERY = list(LEVELS)


def wish(period: str = "hour", channels: list[str] | None = None, **more: Any) -> Wish:
    return Wish(period, EVERY if channels is None else channels, **more)


@pytest.mark.parametrize("light", ["day", "dim"])
@pytest.mark.parametrize("channels", [[], EVERY[:1], EVERY])
def test_the_specification_is_one_the_chart_library_accepts(light: str, channels: list[str]) -> None:
    made = seen(FakePast(), wish(channels=channels), NOW_MS, light)["spec"]
    figure = go.Figure(made["data"], made["layout"], skip_invalid=False)
    assert len(figure.data) == 2 * len(channels)


def test_each_quantity_has_its_own_strip_below_the_other() -> None:
    layout = seen(FakePast(), wish(), NOW_MS, "day")["spec"]["layout"]
    domains = [layout[axis]["domain"] for axis in ("yaxis", "yaxis2", "yaxis3")]
    assert all(upper[0] > lower[1] for upper, lower in pairwise(domains))
    assert domains[0][1] == 1
    assert domains[-1][0] == 0
    assert layout["xaxis"]["anchor"] == "y3"


def test_two_probes_of_one_quantity_share_a_strip_and_differ_by_stroke() -> None:
    pieces = [Piece(1000, 2000, 1.0, 2.0, 1.0, 2.0, 5, 0)]
    drawn = [Drawn(f"{probe}.air_temperature", cast(Any, pieces)) for probe in ("room", "tent")]
    made = spec(drawn, [], [], (0, 5000), "day")
    lines = [t for t in made["data"] if t["line"]["width"]]
    assert {t["yaxis"] for t in lines} == {"y"}
    assert len({t["line"]["dash"] for t in lines}) == 2


def piece(at: int, value: float | None, gaps: int = 0) -> Piece:
    high = None if value is None else value + 1
    return Piece(at, at + 1000, value, high, value, value, 0 if value is None else 4, gaps)


def test_gaps_and_holes_stay_open_and_excursions_stay_in() -> None:
    pieces = [piece(0, 20.0), piece(1000, 21.0), piece(2000, None, 4), piece(3000, 22.0, 1), piece(4000, 95.0),
              piece(60_000, 23.0)]  # fmt: skip
    wash, line = spec([Drawn("spatula.tool_temperature", cast(Any, pieces))], [], [], (0, 70_000), "day")["data"]
    runs: list[list[float]] = [[]]
    for value in line["y"]:
        if value is None:
            runs.append([])
        else:
            runs[-1].append(value)
    assert [run for run in runs if run] == [[20.0, 21.0, 21.0], [22.0, 22.0], [95.0, 95.0], [23.0, 23.0]]
    assert 96.0 in wash["y"]
    assert wash["y"].count(None) == 4
    assert len(wash["x"]) == len(wash["y"])
    assert len(line["x"]) == len(line["y"])


def test_a_limit_is_drawn_for_as_long_as_it_was_in_force_and_named_at_its_end() -> None:
    layout = seen(FakePast(), wish(channels=["spatula.tool_temperature"]), NOW_MS, "day")["spec"]["layout"]
    (line,) = [s for s in layout["shapes"] if s["y0"] == 85]
    assert (line["x0"], line["x1"]) == (STEP_MS, NOW_MS)
    assert line["line"]["color"] == LIGHTS["day"]["ink"]
    assert line["line"]["width"] < 1
    (label,) = [a for a in layout["annotations"] if a["text"] == "85 at most"]
    assert label["x"] == NOW_MS
    assert [a["x"] for a in layout["annotations"] if a["text"] == "23-09: Strip-lining"] == [STEP_MS]
    other = seen(FakePast(), wish(channels=["room.air_temperature"]), NOW_MS, "day")["spec"]["layout"]
    assert not [s for s in other["shapes"] if s["y0"] == 85]


def test_a_limit_is_vermilion_only_where_it_was_passed() -> None:
    pieces = [piece(0, 80.0), piece(1000, 84.5), piece(2000, 86.0), piece(3000, 80.0), piece(4000, None, 4),
              piece(5000, 90.0)]  # fmt: skip
    level = cast(LevelView, {"at": 85.0, "source": "project", "grade": "proposal", "locator": "", "note": ""})
    limit = PastLimit("spatula.tool_temperature", "tool_temperature", "high", 85.0, ("s", "hot", 0), level)
    during = PastStep("s1", "Strip-lining", "23-09", 0, 5500, (limit,))
    drawn = [Drawn("spatula.tool_temperature", cast(Any, pieces))]
    layout = spec(drawn, [during], [], (0, 9000), "day")["layout"]
    on_it = [s for s in layout["shapes"] if s["y0"] == 85 and s["type"] == "line"]
    told = [(s["x0"], s["x1"], s["line"]["color"]) for s in on_it]
    out = LIGHTS["day"]["out"]
    assert told == [(0, 5500, LIGHTS["day"]["ink"]), (1000, 3000, out), (5000, 5500, out)]


def test_passes_lie_behind_the_tool_s_curve_with_their_places() -> None:
    assert passes(FakePast()) == [Pass("s2", "spatula", 1, 1, STEP_MS + 90_000, STEP_MS + 104_000)]
    layout = seen(FakePast(), wish(), NOW_MS, "day")["spec"]["layout"]
    (wash,) = [s for s in layout["shapes"] if s["type"] == "rect"]
    assert (wash["x0"], wash["x1"], wash["yref"]) == (STEP_MS + 90_000, STEP_MS + 104_000, "y3 domain")
    assert [a["x"] for a in layout["annotations"] if a["text"] == "1"] == [STEP_MS + 97_000]
    other = seen(FakePast(), wish(channels=["room.air_temperature"]), NOW_MS, "day")["spec"]["layout"]
    assert not [s for s in other["shapes"] if s["type"] == "rect"]


class Voided(FakePast):
    """Place 1 was marked by mistake after its first pass, and place 2 is under the tool."""

    def daybook(self, **asked: Any) -> Any:
        mark = {"side": "B", "place": 1, "pass": 2, "probe": "spatula"}
        judged = {"verdict": "not known", "reason": "", "bond_line": [], "face": []}
        own = {"side": "B", "place": 1, "pass": 1, **judged}
        more = [
            row(10, "place_judged", STEP_MS + 104_000, own, step="s2"),
            row(11, "contact_started", STEP_MS + 200_000, mark, step="s2"),
            row(12, "contact_ended", STEP_MS + 210_000, mark, step="s2"),
            row(13, "place_judged", STEP_MS + 210_000, {**own, "pass": 2, "verdict": "reached"}, step="s2"),
            row(14, "contact_voided", STEP_MS + 211_000, {**mark, "reason": "mark taken back"}, step="s2"),
            row(15, "contact_started", STEP_MS + 300_000, {**mark, "place": 2, "pass": 1}, step="s2"),
        ]
        kinds = asked.get("kinds")
        return iter([*super().daybook(**asked), *(r for r in more if kinds is None or r["kind"] in kinds)])


def test_a_mark_taken_back_is_no_pass_and_a_tool_still_down_has_no_end() -> None:
    told = [(p.place, p.pass_no, p.to_ms) for p in passes(Voided())]
    assert told == [(1, 1, STEP_MS + 104_000), (2, 1, None)]


def test_handing_back_says_what_is_not_known_and_that_nothing_was_checked_by_hand() -> None:
    told = hand_back_sentence(Voided(), "23-09")
    assert told == "1 place worked on it: 1 place not known, none checked by hand."
    assert hand_back_sentence(Voided(), "24-02") == "No place of it was worked."


class TwoSteps(FakePast):
    """Rows of a step, of another and of none."""

    def daybook(self, *, step: str | None = None, **asked: Any) -> Any:
        notes = [row(20 + n, "note_written", STEP_MS + n, {"text": f"of {s}"}, step=s)
                 for n, s in enumerate(("s2", "s1", None))]  # fmt: skip
        told = [*super().daybook(), *notes]
        kinds = asked.get("kinds")
        told = [r for r in told if (kinds is None or r["kind"] in kinds) and step in (None, r["step"])]
        return iter(told[::-1] if asked.get("newest_first") else told)


def test_a_chosen_step_shows_its_own_rows_only() -> None:
    own = seen(TwoSteps(), wish("step", step="s2"), NOW_MS, "day")["rows"]
    assert [r["text"] for r in own if r["text"].startswith("Note")] == ["Note: of s2"]
    every = seen(TwoSteps(), wish("hour"), NOW_MS, "day")["rows"]
    assert {"Note: of s1", "Note: of s2", "Note: of None"} <= {r["text"] for r in every}


def test_rows_name_the_painting_of_their_step() -> None:
    class Named(FakePast):
        def daybook(self, **asked: Any) -> Any:
            added = row(0, "painting_added", 1, {"number": "23-09", "name": "Harbour at low tide"})
            kinds = asked.get("kinds")
            first = [added] if kinds and "painting_added" in kinds else []
            told = list(super().daybook(**asked))
            return iter([*told, *first] if asked.get("newest_first") else [*first, *told])

    assert names(Named()) == {"s2": "Harbour at low tide"}
    told = [r["text"] for r in seen(Named(), wish(), NOW_MS, "day")["rows"]]
    assert "Warning seen: tool temperature (spatula), Harbour at low tide." in told


def test_periods() -> None:
    every = steps(FakePast())
    assert span(wish("hour"), NOW_MS, every) == (NOW_MS - HOUR_MS, NOW_MS)
    assert span(wish("custom", from_ms=5, to_ms=9), None, every) == (5, 9)
    assert span(wish("step", step="s2"), NOW_MS, every) == (STEP_MS, NOW_MS)


@pytest.mark.parametrize(
    ("asked", "now_ms", "says"),
    [
        (wish("custom", from_ms=9, to_ms=9), NOW_MS, "Enter from and to"),
        (wish("custom"), NOW_MS, "Enter from and to"),
        (wish("step", step="s9"), NOW_MS, "not in the day-book"),
        (wish("fortnight"), NOW_MS, "fortnight"),
        (wish("day"), None, "the time is not set"),
        (wish(channels=["tent.mass"]), NOW_MS, "never measured"),
        (wish(channels=EVERY * 3), NOW_MS, "8 at most"),
    ],
)
def test_a_wish_that_cannot_be_met_says_why(asked: Wish, now_ms: int | None, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        seen(FakePast(), asked, now_ms, "day")


def test_the_day_book_tells_a_period_oldest_first_in_sentences() -> None:
    told = seen(FakePast(), wish("custom", from_ms=STEP_MS, to_ms=STEP_MS + 110_000), NOW_MS, "day")
    assert [r["text"] for r in told["rows"]] == [
        "Strip-lining started on 23-09, side B, 16 places.",
        "Tool down on side B, place 1, pass 1.",
        "Tool off side B, place 1, pass 1 after 14 s; tool 76 to 79 °C.",
    ]
    assert told["rows"][0]["by"] == "MK"
    assert not told["more"]


class Undated(FakePast):
    """A store whose first rows were written before the board knew the time."""

    def segments(self) -> list[Segment]:
        return [Segment(1, 1, 0, 1_000_000, True), Segment(2, 2, 0, 0, False)]

    def daybook(self, **asked: Any) -> Any:
        told = [
            row(1, "note_written", None, {"text": "early"}, mono_ms=500, segment=1),
            row(2, "note_written", None, {"text": "never dated"}, mono_ms=500, segment=2),
            *(row(n, "note_written", 1_000_600 + n, {"text": str(n)}) for n in range(3, ROWS + 20)),
        ]
        return iter(told[::-1] if asked.get("newest_first") else told)


def test_a_row_without_a_time_is_dated_through_its_segment() -> None:
    found = rows_between(Undated(), 1_000_000, 1_000_604, list(LISTED), ROWS)
    assert [(at, r["body"]["text"]) for at, r in found] == [(1_000_500, "early"), (1_000_603, "3"), (1_000_604, "4")]


def test_a_long_period_lists_its_newest_rows_and_says_so() -> None:
    found = rows_between(Undated(), 0, 2_000_000, list(LISTED), ROWS)
    assert len(found) == ROWS
    assert found[-1][1]["seq"] == ROWS + 19


def test_now_is_the_studio_s_time_or_the_machine_s_before_any_station_answered() -> None:
    view = fake_scene.view()
    assert now_of(Shown(view, True, NOW_MS, 1)) == NOW_MS
    assert now_of(Shown(None, False, None, 0), lambda: 12.5) == 12_500
    assert now_of(Shown(view, True, None, 1), lambda: 12.5) is None


def test_the_store_is_opened_once_and_again_after_it_was_missing() -> None:
    past = Past(missing)
    with pytest.raises(StoreError, match="migrate"):
        past.store()
    opened: list[FakePast] = []

    def opening() -> FakePast:
        opened.append(FakePast())
        return opened[-1]

    past = Past(opening)
    assert past.store() is past.store()
    assert len(opened) == 1
    assert ("spatula.tool_temperature", "spatula, tool temperature") in choices(past.store())
