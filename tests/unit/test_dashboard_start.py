"""What is entered to start a step, in the form the station expects."""

from __future__ import annotations

from typing import cast

import pytest

from dashboard.pages import Viewer
from dashboard.requests import Ask, message
from dashboard.sheet_groups import GROUPS, OWN, grouped
from dashboard.start import IN_THE_AIR, ON_A_SURFACE, ON_A_TOOL, is_hot, roles
from monitor.catalogue import load
from monitor.errors import BadInput
from monitor.link.view import ProbeView, SheetView
from tests.support import fake_scene

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


def table_sheet(**roles_of: list[str]) -> SheetView:
    asks = [{"key": "no-solvent-open", "text": "Is all solvent closed?", "choices": ["it is"]}]
    told = {"sheet": "hot-table", "title": "Hot table", "roles": roles_of, "has_places": False, "asks_painting": True}
    return cast(SheetView, {**told, "asks": asks})


def thermocouples(count: int) -> list[ProbeView]:
    one = fake_scene.probes()[1]
    named = [(f"point {n}", f"point {n}.surface_temperature") for n in range(1, count + 1)]
    return [{**one, "probe": probe, "channels": [fake_scene.channel(name, "surface temperature", "°C", 60.0)]}
            for probe, name in named]  # fmt: skip


def test_a_part_on_a_surface_may_be_served_by_several_probes() -> None:
    sheet = table_sheet(table=["surface_temperature"], tool=["tool_temperature"], room=["relative_humidity"])
    for count, several in ((1, False), (3, True)):
        view = fake_scene.view(probes=[*fake_scene.probes(), *thermocouples(count)])
        table, tool, room = roles(view, sheet)
        assert (table.several, tool.several, room.several) == (several, False, False)
        assert [p["probe"] for p in table.probes] == [f"point {n}" for n in range(1, count + 1)]
        assert (table.touches, tool.touches, room.touches) == (ON_A_SURFACE, ON_A_TOOL, IN_THE_AIR)


def test_further_probes_are_bound_at_points_of_their_own_and_none_twice() -> None:
    fields = {"sheet": "hot-table", "bench": "b", "probe.table": "point 1", "touches.table": ON_A_SURFACE[0],
              "further.table.point 1": "yes", "further.table.point 3": "yes"}  # fmt: skip
    body = message(Ask(id="0123456789ab", do="start_step", fields=fields), WHO).body
    assert body["bindings"] == [
        {"role": "table", "probe": "point 1", "touches": ON_A_SURFACE[0]},
        {"role": "table", "probe": "point 3", "touches": f"{ON_A_SURFACE[0]}, another point"},
    ]


def test_a_sheet_is_hot_if_it_sets_a_tool_down_or_wants_all_solvent_closed() -> None:
    spatula, room = fake_scene.view()["sheets"]
    assert [is_hot(sheet) for sheet in (spatula, table_sheet(table=[]), room)] == [True, True, False]


def test_every_shipped_sheet_stands_under_one_heading_and_a_sheet_of_ones_own_last() -> None:
    listed = [key for _, keys in GROUPS for key in keys]
    assert sorted(listed) == sorted(load().sheets)
    own = {**table_sheet(), "sheet": "of-my-own"}
    groups = grouped([cast(SheetView, own), table_sheet()])
    assert [(heading, [s["sheet"] for s in some]) for heading, some in groups] == [
        ("Heat", ["hot-table"]), (OWN, ["of-my-own"]),
    ]  # fmt: skip


def test_a_probe_that_could_be_in_two_places_is_not_chosen_beforehand() -> None:
    air = ["air_temperature", "relative_humidity"]
    view = fake_scene.view()
    alone = roles(view, table_sheet(room=air, tool=["tool_temperature"]))
    assert [role.likely for role in alone] == ["room", "spatula"]
    tent, room, tool = roles(view, table_sheet(tent=air, room=air, tool=["tool_temperature"]))
    assert (tent.likely, room.likely, tool.likely) == ("", "", "spatula")
    assert tent.touches[0].startswith("in the tent beside the canvas")
    nobody = roles(view, table_sheet(reverse=["surface_temperature"]))[0]
    assert (nobody.likely, nobody.probes) == ("", [])
