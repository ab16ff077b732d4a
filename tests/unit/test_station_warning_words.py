"""What the view says of warnings in every state, and of many at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from monitor.bench import paced
from monitor.bench.quantities import QUANTITIES
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Guard, Level
from monitor.bench.ticking import Fold
from monitor.config import Studio
from monitor.link.view import View, WarningView
from monitor.station.view import Surroundings, build
from monitor.station.warning_words import warning_sentence
from tests.support.folds import TOOL, asked, limit, mark, running, sheet

KEY: dict[str, Any] = {"step": "s1", "limit": "hot", "channel": TOOL}
AT_ONCE: dict[str, Any] = {"on_delay_ms": 0, "off_delay_ms": 0}
PAINTING = {"number": "23-09", "name": "Harbour at low tide", "support": "linen", "beware": []}


def view(fold: Fold) -> View:
    around = Surroundings(Studio("Quay", "quay", ("north",), ()), {}, {})
    state = fold.state
    return build(around, state, state.at_ms, now_ms=state.mono_ms, stored_at_ms=None, estimates={})


def only(fold: Fold) -> WarningView:
    (warning,) = view(fold)["warnings"]
    return warning


def read(fold: Fold, second: int, value: float | None) -> None:
    fold.feed(Reading(second * 1000, TOOL, value, Quality.OPEN if value is None else Quality.GOOD))


def hot(**changes: Any) -> Fold:
    fold = running(sheet(limit(**{**AT_ONCE, **changes})))
    read(fold, 1, 90.0)
    return fold


def shelve(fold: Fold, for_s: int) -> None:
    fold.feed(asked(1500, "shelve_asked", **KEY, for_s=for_s, reason="telephone"))


def lose(fold: Fold) -> None:
    for second in (2, 3, 4):
        read(fold, second, None)
    fold.pass_time(5000)


def come_and_go(fold: Fold) -> None:
    for second in range(2, 30):
        read(fold, second, 50.0 if second % 3 else 90.0)


STATES: dict[str, tuple[Callable[[Fold], object], str]] = {
    "not yet seen": (lambda fold: None, "not yet seen"),
    "seen": (lambda fold: fold.feed(asked(1500, "see_asked", **KEY)), "seen"),
    "over": (lambda fold: read(fold, 2, 50.0), "over, not yet seen"),
    "silent": (lambda fold: shelve(fold, 60), "silent for a time"),
    "once": (lambda fold: shelve(fold, 0), "silent until it is over"),
    "unused": (lambda fold: fold.feed(asked(1500, "out_of_service_asked", **KEY, reason="x")), "probe not in use"),
    "held back": (lose, "held back: its probe gives no reading"),
    "comes and goes": (come_and_go, "comes and goes, not yet seen"),
}


@pytest.mark.parametrize("name", STATES)
def test_every_state_that_is_listed_has_its_words(name: str) -> None:
    fold = hot()
    befall, words = STATES[name]
    befall(fold)
    assert only(fold)["words"] == words


def test_what_is_held_back_says_so_and_asks_for_nothing() -> None:
    fold = hot()
    lose(fold)
    one = only(fold)
    assert (one["held_back"], one["may_be_seen"], one["over"]) == (True, False, False)
    assert one["sentence"] == (
        "North: tool temperature at spatula was last outside what you set (you set at most 65 °C); "
        "now nothing is read."
    )


def test_what_comes_and_goes_is_told_as_such_though_it_is_inside_just_now() -> None:
    fold = hot()
    come_and_go(fold)
    one = only(fold)
    assert (one["comes_and_goes"], one["over"]) == (True, False)
    assert one["sentence"] == (
        "North: tool temperature at spatula comes and goes past what you set (you set at most 65 °C); "
        "now it is 50 °C."
    )


def test_a_margin_for_the_probes_error_is_told_beside_what_was_set() -> None:
    guards = (Guard(TOOL, 1.16, "sensor-comparison", "cited"),)
    fold = running(sheet(limit(margin="k2", guards=guards, **AT_ONCE)))
    read(fold, 1, 64.0)
    one = only(fold)
    assert (one["at"], one["judged_at"]) == (65, 63.84)
    assert one["sentence"].endswith("is 64 °C; you set at most 65 °C, judged at 63.8 for the probe's error.")
    assert view(fold)["steps"][0]["limits"][0]["judged_at"] == {TOOL: [63.84]}


def test_the_sentence_names_the_painting_and_the_place_the_tool_is_on() -> None:
    template = sheet(limit(**AT_ONCE), places=True, painting=True)
    fold = Fold()
    fold.feed(asked(0, "painting_asked", **PAINTING))
    running(template, fold=fold, painting="23-09", places=3)
    fold.feed(mark(1500, "down", place=2))
    read(fold, 2, 90.0)
    assert only(fold)["sentence"].startswith("Harbour at low tide, north, place 2: tool temperature at spatula is 90")


def test_many_at_once_are_shown_as_one() -> None:
    fold = hot()
    assert view(fold)["flood"] is None
    read(fold, 2, 50.0)
    fold.state.raised_ms = [100 * n for n in range(1, 11)]  # ten were told within the second before
    read(fold, 3, 90.0)
    assert view(fold)["flood"] == {
        "count": 11, "since_ms": fold.state.at_ms(3000), "words": "11 warnings in 10 min, the most severe first",
    }  # fmt: skip


def test_what_is_worked_out_of_the_step_itself_is_told_without_a_probe(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stand-in for what later code works out: minutes past due."""
    monkeypatch.setitem(paced.PROVIDERS, "countdown", lambda state, alarm, mono_ms: mono_ms / 1000)
    late = limit("late", quantity="countdown", levels=(Level(3, "low", "project", "proposal"),), **AT_ONCE)
    fold = running(sheet(late))
    fold.pass_time(6000)
    assert only(fold)["sentence"] == "North: time past due is 5 min; you set at most 3 min."


@pytest.mark.parametrize("quantity", sorted(QUANTITIES))
def test_a_sentence_of_every_quantity_names_painting_place_and_what_was_set(quantity: str) -> None:
    fold = Fold()
    fold.feed(asked(0, "painting_asked", **PAINTING))
    running(sheet(limit(**AT_ONCE), painting=True), fold=fold, painting="23-09")
    of = {"of": "relative_humidity", "threshold": 60.0} if quantity == "minutes_above" else {}
    for inputs in ((), (TOOL,)):
        alarm = next(iter(fold.state.alarms.values()))
        alarm.limit, alarm.channel, alarm.inputs = limit(quantity=quantity, **of), f"spatula.{quantity}", inputs
        for level in (-1, 0):
            alarm.level = level
            said = warning_sentence(fold.state, alarm)
            assert said.startswith("Harbour at low tide, north: ")
            assert f"you set at most 65 {QUANTITIES[quantity].symbol}" in said
            assert "_" not in said
