"""The simulated world: the same bits whoever looks, a spatula that behaves like one, actions that are checked."""

from __future__ import annotations

import hashlib
import struct
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.errors import BadInput
from monitor.probes.sensed import Fault, SensedWorld
from monitor.probes.studio import World, WorldConfig, world_config

SCRIPT: list[tuple[int, dict[str, Any]]] = [
    (2_000, {"tool": "on", "set_c": 78}),
    (90_130, {"set_down": "place", "place": 1}),
    (100_000, {"humid": True, "rh_pct": 72, "over_s": 60}),
    (121_470, {"lift": True}),
    (124_000, {"set_down": "place", "place": 2}),
    (131_010, {"fault": "open thermocouple", "probe": "spatula"}),
    (140_250, {"rest": "stand"}),
    (141_000, {"mend": "spatula"}),
    (142_333, {"set_down": "place", "place": 1}),
    (160_000, {"lift": True}),
    (161_000, {"tool": "off"}),
    (170_000, {"humid": False}),
]


def play(looks: list[int], every_ms: int = 200, seed: int = 5) -> str:
    """Play the script, looking every so often and at further instants, and give the digest of what is sampled."""
    world = World(WorldConfig(seed=seed, join_probe="wire", join_place=1))
    actions = dict(SCRIPT)
    instants = sorted({*actions, *looks, *range(0, 200_001, every_ms)})
    digest = hashlib.sha256()
    for at_ms in instants:
        world.advance_to(at_ms)
        if at_ms in actions:
            world.apply(actions[at_ms])
        values = (*world.air("room"), *(world.junction_c(p) for p in ("spatula", "wire", "room")))
        if at_ms % 5000 == 0:
            digest.update(struct.pack("<6d", *values, world.cold_junction_c("spatula")))
            digest.update(repr(world.truth()).encode())
    return digest.hexdigest()


def heated(seconds: int = 120, *, seed: int = 1, base: str = "felt") -> World:
    """Give a world whose tool has been on at 78 degC for a while."""
    world = World(WorldConfig(seed=seed, base=base, join_probe="wire", join_place=1))
    world.apply({"tool": "on", "set_c": 78})
    world.advance_to(seconds * 1000)
    return world


def tips(world: World, seconds: int) -> list[float]:
    """Sample the tip at 5 Hz."""
    start = int(str(world.truth()["mono_ms"]))
    found = []
    for at_ms in range(start, start + seconds * 1000, 200):
        world.advance_to(at_ms)
        found.append(world.tool.tip_c)
    return found


def place_of(world: World, number: int) -> dict[str, float]:
    return world.places.truth()[number]


def test_same_seed_and_actions_give_the_same_bits() -> None:
    assert play([]) == play([])
    assert play([]) != play([], seed=6)


def test_bits_do_not_depend_on_who_looks_when() -> None:
    assert play([], every_ms=1000) == play([], every_ms=200)
    assert play([1, 7_777, 90_129, 90_131, 121_999, 142_334, 199_999], every_ms=500) == play([], every_ms=200)


@settings(max_examples=20)
@given(st.lists(st.integers(0, 200_000), max_size=40))
def test_bits_do_not_depend_on_any_looks(looks: list[int]) -> None:
    assert play(looks, every_ms=5000) == plain()


@cache
def plain() -> str:
    return play([], every_ms=5000)


def test_it_is_what_the_simulated_wire_feels() -> None:
    world: SensedWorld = World()
    air_c, rh_pct = world.air("room")
    assert 15.0 < air_c < 26.0
    assert 35.0 < rh_pct < 65.0
    assert world.junction_c("spatula") == pytest.approx(air_c, abs=1.5)
    assert world.cold_junction_c("spatula") > air_c  # the board warms itself
    assert world.faults("spatula") == frozenset()


def test_time_does_not_go_back() -> None:
    world = World()
    world.advance_to(1000)
    with pytest.raises(ValueError, match="at 1000 ms cannot go back to 999 ms"):
        world.advance_to(999)


def test_air_swings_with_the_day_and_wanders_slowly() -> None:
    world = World(WorldConfig(start_wall_ms=1_777_852_800_000))  # midnight UTC
    air = []
    for minute in range(3 * 24 * 60):
        world.advance_to(minute * 60_000)
        air.append((world.room.temperature_c, world.room.rh_pct))
    night = sum(t for t, _ in air[3 * 60 : 4 * 60]) / 60
    afternoon = sum(t for t, _ in air[15 * 60 : 16 * 60]) / 60
    assert 1.8 < afternoon - night < 3.4
    assert sum(h for _, h in air[15 * 60 : 16 * 60]) / 60 < sum(h for _, h in air[3 * 60 : 4 * 60]) / 60 - 4.0
    jumps = [abs(b[0] - a[0]) for a, b in pairwise(air)]
    assert 0.01 < max(jumps) < 0.4


def test_humid_hour_goes_nineteen_twentieths_of_the_way_in_its_time_and_back() -> None:
    world = World()
    before = world.room.rh_pct
    world.apply({"humid": True, "rh_pct": 72, "over_s": 600})
    world.advance_to(200_000)  # a third of the time is one time constant
    assert (world.room.rh_pct - before) / (72 - before) == pytest.approx(0.632, abs=0.05)
    world.advance_to(600_000)
    assert (world.room.rh_pct - before) / (72 - before) == pytest.approx(0.95, abs=0.03)
    world.apply({"humid": False, "over_s": 60})
    world.advance_to(900_000)
    assert world.room.rh_pct == pytest.approx(before, abs=3.0)


def test_thermostat_swings_several_degrees_about_what_was_set() -> None:
    world = heated(300)
    found = tips(world, 300)
    assert 78 - 8 < min(found) < 78 - 2
    assert 78 + 0.5 < max(found) < 78 + 8
    assert max(found) - min(found) > 3.0
    assert sum(found) / len(found) == pytest.approx(78.0, abs=2.0)


@pytest.mark.parametrize("seed", range(1, 6))
def test_tip_drops_at_contact_and_recovers(seed: int) -> None:
    world = heated(240 + seed * 7, seed=seed)
    before = world.tool.tip_c
    world.apply({"set_down": "place", "place": 1})
    found = tips(world, 60)
    drop = before - min(found[:125])  # within 25 s
    assert 5.0 <= drop <= 20.0
    assert max(found[50:]) > before - drop / 2  # half of it back between 10 s and 60 s


def test_heat_goes_down_through_the_layers_and_comes_out_again() -> None:
    world = heated()
    world.apply({"set_down": "place", "place": 1})
    world.advance_to(150_000)
    hot = place_of(world, 1)
    assert world.tool.tip_c > hot["bond_line_max_c"] > hot["face_max_c"] > world.room.temperature_c + 10
    assert hot["bond_line_min_c"] < hot["bond_line_mean_c"] < hot["bond_line_max_c"]
    assert world.junction_c("wire") == pytest.approx(hot["bond_line_middle_c"], abs=0.6)
    world.apply({"lift": True})
    world.advance_to(210_000)
    cooler = place_of(world, 1)
    assert cooler["bond_line_mean_c"] < hot["bond_line_mean_c"] - 10
    world.advance_to(3 * 3600_000)
    assert world.places.truth() == {}  # cold again


def test_every_place_begins_fresh_and_an_old_one_goes_on_from_where_it_cooled() -> None:
    world = heated()
    for place, start_s in ((1, 120), (2, 160), (1, 200)):
        world.advance_to(start_s * 1000)
        world.apply({"set_down": "place", "place": place})
        begin = place_of(world, place)["bond_line_mean_c"]
        if start_s == 200:
            assert world.room.temperature_c + 3 < begin < 60
        else:
            assert begin == pytest.approx(world.room.temperature_c, abs=1e-9)
        world.advance_to((start_s + 30) * 1000)
        world.apply({"lift": True})


def test_a_tool_gone_cold_does_not_reach_what_a_hot_one_does() -> None:
    hot, cold = heated(), heated()
    cold.apply({"tool": "off"})
    for world in (hot, cold):
        world.advance_to(300_000)
        world.apply({"set_down": "place", "place": 4})
        world.advance_to(340_000)
    assert place_of(hot, 4)["bond_line_mean_c"] > place_of(cold, 4)["bond_line_mean_c"] + 20


def test_a_harder_base_keeps_the_face_cooler() -> None:
    faces = []
    for base in ("felt", "board", "stone"):
        world = heated(base=base)
        world.apply({"set_down": "place", "place": 1})
        world.advance_to(180_000)
        faces.append(place_of(world, 1)["face_mean_c"])
    assert faces[0] > faces[1] + 3 > faces[2] + 6


def test_a_probe_lags_behind_its_tip() -> None:
    world = heated()
    world.apply({"set_down": "place", "place": 1})
    world.advance_to(121_000)
    assert world.junction_c("spatula") + 0.6 > world.tool.tip_c + 0.1


def test_faults_come_add_up_and_are_mended() -> None:
    world = World()
    world.apply({"fault": "open thermocouple", "probe": "spatula"})
    world.apply({"fault": "chip reset", "probe": "spatula"})
    assert world.faults("spatula") == {Fault.OPEN_THERMOCOUPLE, Fault.CHIP_RESET}
    assert world.faults("room") == frozenset()
    world.apply({"mend": "spatula"})
    assert world.faults("spatula") == frozenset()


@pytest.mark.parametrize(
    ("action", "says"),
    [
        ({}, "0 things to do"),
        ({"dance": True}, "0 things to do"),
        ({"lift": True, "tool": "off"}, "2 things to do"),
        ({"tool": "warm"}, "tool = 'warm'; expected tool = 'on' or 'off'"),
        ({"tool": ["on"]}, r"tool = \['on'\]"),
        ({"tool": "on"}, "no 'set_c'"),
        ({"tool": "on", "set_c": "78"}, "set_c = '78'; expected a number from 30 to 200"),
        ({"tool": "on", "set_c": float("nan")}, "set_c = nan"),
        ({"tool": "on", "set_c": True}, "set_c = True"),
        ({"tool": "on", "set_c": 780}, "set_c = 780"),
        ({"tool": "off", "set_c": 78}, "unknown key 'set_c'"),
        ({"set_down": "place"}, "no 'place'"),
        ({"set_down": "place", "place": 1.5}, "place = 1.5; expected a whole number"),
        ({"lift": 1}, "lift = 1; expected lift = True"),
        ({"lift": True}, "the tool stands on no place"),
        ({"rest": "table"}, "rest = 'table'; expected rest = 'stand'"),
        ({"humid": True, "rh_pct": 72}, "no 'over_s'"),
        ({"humid": True, "rh_pct": 72, "over_s": 0}, "over_s = 0"),
        ({"fault": "tired", "probe": "room"}, "fault = 'tired'; expected one of absent, bad checksum"),
        ({"fault": "absent", "probe": "moon"}, "'moon'; expected one of room, spatula"),
        ({"mend": "moon"}, "'moon'; expected one of room, spatula"),
        ({"mend": 3}, "mend = 3; expected a name"),
    ],
)
def test_a_bad_action_is_named_and_changes_nothing(action: dict[str, object], says: str) -> None:
    world = World()
    before = repr(world.truth())
    with pytest.raises(BadInput, match=says):
        world.apply(action)
    assert repr(world.truth()) == before
    assert world.faults("room") == frozenset()


def test_a_tool_that_stands_on_the_work_cannot_be_set_down_again() -> None:
    world = heated(10)
    world.apply({"set_down": "place", "place": 3})
    with pytest.raises(BadInput, match="the tool stands on place 3; expected a tool that was lifted"):
        world.apply({"set_down": "place", "place": 4})
    world.apply({"rest": "stand"})
    assert world.truth()["place"] is None


def test_a_config_that_cannot_be_is_refused() -> None:
    with pytest.raises(BadInput, match="'ice'; expected one of felt, board, stone"):
        WorldConfig(base="ice")
    with pytest.raises(BadInput, match="'room' twice"):
        WorldConfig(tool_probe="room")


def test_a_probe_that_is_not_there_is_refused() -> None:
    world = World(WorldConfig(other_probes=("tent",)))
    world.air("tent")
    for feel in (world.air, world.junction_c, world.cold_junction_c, world.faults):
        with pytest.raises(BadInput, match="'moon'; expected one of room, spatula, tent"):
            feel("moon")


def test_a_story_names_the_parts_its_probes_play() -> None:
    probes = ["air", "iron", "tent", "wire"]
    table = {
        "seed": 7,
        "tool_probe": "iron",
        "room_probe": "air",
        "join_probe": "wire",
        "join_place": 2,
        "base": "board",
    }
    config = world_config({**table, "base": "board"}, probes, 1000)
    assert config == WorldConfig(7, 1000, "iron", "air", ("tent",), "wire", 2, "board")
    assert world_config({}, ["room", "spatula"], 0) == WorldConfig(start_wall_ms=0)


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ({"weather": "fine"}, "'weather': unknown; expected one of seed, tool_probe"),
        ({"seed": "7"}, "'seed': '7'; expected a whole number"),
        ({"seed": True}, "'seed': True; expected a whole number"),
        ({"base": 3}, "'base': 3; expected a name"),
        ({"tool_probe": "moon"}, "'tool_probe': 'moon'; expected one of room, spatula"),
    ],
)
def test_a_wrong_table_is_refused(table: dict[str, object], says: str) -> None:
    with pytest.raises(BadInput, match=says):
        world_config(table, ["room", "spatula"], 0)
