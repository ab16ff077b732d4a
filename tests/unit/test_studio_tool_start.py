"""A simulated tool that is warm when the story begins."""

from __future__ import annotations

import pytest

from monitor.errors import BadInput
from monitor.probes.studio import World, WorldConfig, world_config


def test_a_tool_starts_as_warm_as_the_story_says_and_so_does_its_probe() -> None:
    world = World(WorldConfig(tool_start_c=80))
    assert (world.tool.tip_c, world.tool.body_c) == (80.0, 80.0)
    assert world.junction_c("spatula") == pytest.approx(80.0, abs=1.5)
    world.apply({"tool": "on", "set_c": 82})
    coldest = 80.0
    for second in range(1, 40):
        world.advance_to(second * 1000)
        coldest = min(coldest, world.junction_c("spatula"))
    assert coldest > 72.0


def test_a_warm_tool_that_is_not_switched_on_cools() -> None:
    world = World(WorldConfig(tool_start_c=80))
    world.advance_to(600_000)
    assert world.junction_c("spatula") < 25.0


def test_without_the_key_it_is_as_warm_as_the_air() -> None:
    world = World(WorldConfig())
    assert world.tool.tip_c == world.room.temperature_c


def test_a_storys_table_may_say_it() -> None:
    assert world_config({"tool_start_c": 78}, ["spatula", "room"], 0).tool_start_c == 78


@pytest.mark.parametrize("start", [-1, 201, 80.5, "80", True])
def test_a_start_that_cannot_be_is_refused(start: object) -> None:
    with pytest.raises(BadInput, match="tool_start_c"):
        world_config({"tool_start_c": start}, ["spatula", "room"], 0)
