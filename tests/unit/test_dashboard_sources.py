"""Any limit on a screen can be followed to what was read: titles, locators, and a place for each figure."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, cast

import pytest

from dashboard.bench import draw
from dashboard.figure_words import OWN, anchor_of, plain, symbol, title_of, what_of
from dashboard.figures_told import Line, Part
from dashboard.known import Known, from_catalogue
from dashboard.limits_told import level_origin, origin, tell
from dashboard.look_back import Wish, limits_drawn, seen
from dashboard.pages import Pages
from dashboard.past import steps
from dashboard.warned import warned
from dashboard.words import grade, sentence_case, set_value
from monitor.bench.quantities import QUANTITIES
from monitor.catalogue import Catalogue, load
from monitor.link.view import LevelView, LimitView
from tests.support import fake_scene
from tests.support.fake_past import FakePast
from tests.support.fake_scene import NOW_MS


@pytest.fixture(scope="module")
def known() -> Known:
    return from_catalogue()


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load()


def parts(known: Known) -> Iterator[Part]:
    for section in known.sections:
        for group in section.groups:
            yield from group.parts


def lines(known: Known) -> dict[str, Line]:
    return {line.anchor: line for part in parts(known) for line in part.lines}


def page(known: Known) -> str:
    return Pages().part("figures", sections=known.sections)


def limits_of(catalogue: Catalogue, key: str) -> list[LimitView]:
    return [
        cast(LimitView, {
            "key": limit.key, "quantity": limit.quantity, "words": limit.words, "side": limit.side, "off": False,
            "symbol": QUANTITIES[limit.quantity].symbol, "levels": [vars(level) for level in limit.levels],
            "causes": [], "consequence": "", "what_to_do": "", "deadband": 1.0, "channels": [],
        })
        for limit in catalogue.sheet(key).limits.values()
    ]  # fmt: skip


def test_every_figure_of_the_catalogue_has_one_place_on_the_page(known: Known) -> None:
    told = re.findall(r'id="([^"]+)"', page(known))
    assert len(told) == len(set(told)), "an anchor stands twice"
    missing = [where for where in known.rows if anchor_of(where) not in told]
    assert missing == []


def test_what_the_page_links_to_is_there(known: Known) -> None:
    html = page(known)
    told = set(re.findall(r'id="([^"]+)"', html))
    links = re.findall(r'href="#([^"]+)"', html)
    assert len(links) > len(known.sections)
    assert set(links) <= told | {"main"}
    assert known.entries <= told


def test_every_published_or_cited_figure_tells_title_locator_what_was_read_and_its_test(known: Known) -> None:
    told = lines(known)
    rested = [row for row in known.rows.values() if row.grade in ("published", "cited")]
    assert len(rested) > 100
    for row in rested:
        line = told[anchor_of(row.where)]
        assert row.source in line.origin
        assert plain(row.locator).rstrip(".") in line.origin
        assert line.origin.lower().startswith(row.grade)
        assert line.read, row.where
        assert line.test, row.where


def test_nothing_of_our_own_looks_as_if_it_had_a_source(known: Known) -> None:
    told = lines(known)
    for row in known.rows.values():
        line = told.get(anchor_of(row.where))
        if line and row.source_key in OWN:
            assert line.read == ""
            assert line.origin == f"{sentence_case(grade(row.grade))}.", row.where


def test_every_level_of_every_sheet_leads_to_its_entry_or_is_our_own(known: Known, catalogue: Catalogue) -> None:
    told = lines(known)
    for key in catalogue.sheets:
        for limit, on_screen in zip(
            limits_of(catalogue, key), tell(limits_of(catalogue, key), key, known), strict=True
        ):
            for level, one in zip(limit["levels"], on_screen.levels, strict=True):
                if level["source"] in OWN:
                    assert one.entry == ""
                    continue
                line = told[one.entry]
                assert line.value.startswith(set_value(level["at"]))
                assert known.sources[level["source"]] in one.told
                assert plain(level["locator"]).rstrip(".") in one.told
                assert level["source"] not in one.told, "a key is no title"


def test_limits_of_film_and_face_lead_to_the_figures_they_were_taken_from(known: Known) -> None:
    row = known.rows["adhesive.eva-film-2010.bond_line_min_c"]
    level = cast(LevelView, {"at": 70.0, "source": row.source_key, "locator": row.locator, "grade": row.grade,
                             "note": row.note})  # fmt: skip
    assert known.entry_of(("heat-seal-spatula", "min_c", 0), level) == "adhesive.eva-film-2010.bond_line_min_c"
    assert known.entry_of(("heat-seal-spatula", "min_c", 0), {**level, "at": 71.0}) == ""


def changed(known: Known, **more: Any) -> tuple[str, str]:
    row = known.rows["sheet.room.humidity-high.levels[1]"]
    level = {"at": 60.0, "source": row.source_key, "locator": row.locator, "grade": row.grade, "note": row.note}
    one = level_origin(("room", "humidity-high", 0), cast(LevelView, {**level, **more}), "%", known)
    return one.entry, one.told


def test_a_level_the_catalogue_holds_no_more_says_so(known: Known) -> None:
    entry, told = changed(known)
    assert entry == "sheet.room.humidity-high.levels.1"
    assert "now" not in told
    for more in ({"at": 62.0}, {"locator": "p. 3"}, {"grade": "published"}, {"source": "cci-time-lapse"}):
        entry, told = changed(known, **more)
        assert entry == ""
        assert told.endswith("So it stood when the step was started; the catalogue does not hold it like this now.")


def test_an_unknown_source_is_called_unknown() -> None:
    level = cast(LevelView, {"source": "lost-book", "locator": "p. 3", "grade": "cited", "note": "", "at": 60.0})
    assert origin(level, {}) == "Cited: a source that this catalogue does not list, kept as 'lost-book', p. 3."


def test_a_warning_tells_where_its_limit_comes_from() -> None:
    known = Known(sources={"a-book": "A book, 1980"})
    step = fake_scene.heat_step()
    step["limits"][0]["levels"][0].update({"source": "a-book", "grade": "cited", "locator": "p. 4"})
    view = fake_scene.view(steps=[step])
    (one,) = warned(view, {}, known)
    assert [(o.at, o.told) for o in one.origins] == [("85 °C", "Cited: A book, 1980, p. 4.")]
    html = Pages(known).part("warnings", warnings=[one])
    assert "A book, 1980, p. 4" in html
    view["steps"] = []
    assert warned(view, {}, known)[0].origins == []


def test_the_bench_links_a_published_limit_and_no_proposal(known: Known) -> None:
    step = fake_scene.room_step()
    row = known.rows["sheet.room.humidity-high.levels[1]"]
    step["limits"] = [
        fake_scene.limit("humidity-high", "relative_humidity", "relative humidity, at most", "high", 60, [],
                         source=row.source_key, grade=row.grade, locator=row.locator, note=row.note),
        fake_scene.limit("hot", "tool_temperature", "tool temperature, at most", "high", 85, []),
    ]  # fmt: skip
    shown = cast(Any, type("Shown", (), {"view": fake_scene.view(steps=[step], warnings=[]), "now_ms": NOW_MS,
                                         "seen": {}, "answers": True}))  # fmt: skip
    html = draw(Pages(known), shown, fake_scene.BENCH, "s1", known)["bench_more"]
    assert re.findall(r'href="/sources#([^"]+)"', html) == ["sheet.room.humidity-high.levels.1"]


def test_limits_drawn_are_told_once_with_the_steps_they_are_for(known: Known) -> None:
    past = steps(FakePast())
    (one,) = limits_drawn([*past, *past], ["spatula.tool_temperature"], known)
    assert one == {"what": "Tool temperature 85 °C at most",
                   "from": [{"told": "Our proposal.", "entry": "", "whose": "23-09: Strip-lining"}]}  # fmt: skip
    assert limits_drawn(past, ["room.air_temperature"], known) == []
    wish = Wish("hour", ["spatula.tool_temperature"])
    assert seen(FakePast(), wish, NOW_MS, "day", known)["limits"] == [one]


def test_units_are_written_as_on_screens() -> None:
    units = ("degC", "%RH", "um", "W/(m2 K)", "kg/m3", "mm2/s", "s", "g/m2")
    told = ["°C", "% RH", "µm", "W/(m²\N{NO-BREAK SPACE}K)", "kg/m³", "mm²/s", "s", "g/m²"]
    assert [symbol(unit) for unit in units] == told
    assert plain("held at 65 degC.") == "held at 65 °C."


def test_figures_are_named_in_words() -> None:
    named = {
        "vapour_pressure_m20c_pa": "Vapour pressure at -20 °C", "diffusivity_25c_mm2_s": "Diffusivity at 25 °C",
        "turnover_rh_pct": "Turnover humidity", "bond_line_min_c": "At the adhesive, at least", "beware[2]": "Beware",
        "thickness_um": "Thickness",
    }  # fmt: skip
    assert {name: what_of(name) for name in named} == named
    assert [title_of(name) for name in ("n-heptane", "1-methoxy-2-propanol", "acetone")] == [
        "n-heptane", "1-methoxy-2-propanol", "Acetone",
    ]  # fmt: skip
