"""Stories' scripts: every mistake at once, contacts spelt out, and a player that notices what went otherwise."""

from __future__ import annotations

import asyncio
import shutil
from pathlib import Path
from typing import Any, cast

import pytest

from monitor.errors import BadInput, BlotterError, ManyProblems
from monitor.link.client import Client
from monitor.link.messages import AnswerDict, Request
from monitor.link.view import View
from monitor.stories import script as module
from monitor.stories.expecting import LOOKS, unmet
from monitor.stories.player import Player, StoryError
from monitor.stories.script import Act, Script, load_story, names, read_story
from monitor.stories.summary import summary
from tests.support import fake_scene

HEAD = """
[story]
title = "A short one"
studio = "quay"
boot_id = "b"
starts_at = "2026-05-04T09:00:00Z"
lasts = "00:05:00"
[world]
seed = 1
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copy(module.FOLDER / "quay.studio.toml", tmp_path)
    return tmp_path


def read(folder: Path, body: str, head: str = HEAD) -> Script:
    path = folder / "short.toml"
    path.write_text(head + body, encoding="utf-8")
    return read_story(path)


@pytest.mark.parametrize("name", names())
def test_every_story_loads(name: str) -> None:
    story = load_story(name)
    assert story.acts
    assert [act.at_ms for act in story.acts] == sorted(act.at_ms for act in story.acts)
    assert all(probe.interval_ms for probe in story.studio.probes)


def test_strip_lining_is_one_of_them_and_begins_quickly() -> None:
    assert "strip-lining" in names()
    story = load_story("strip-lining")
    first = next(act for act in story.acts if act.ask == "mark")
    assert first.at_ms <= 45_000
    assert 85 * 60_000 <= story.lasts_ms <= 95 * 60_000


def test_an_unknown_story_names_those_there_are() -> None:
    with pytest.raises(BadInput, match="strip-lining"):
        load_story("gilding")


def test_paintings_come_first_and_a_contact_is_four_acts(folder: Path) -> None:
    story = read(
        folder,
        """
[[paintings]]
number = "1"
name = "Quince"
by = "MK"
[[do]]
at = "00:01:00"
who = "MK"
contact = { step = "$lining", place = 3, hold_s = 10 }
""",
    )
    painting, *contact = story.acts
    assert (painting.ask, painting.body["number"], painting.who) == ("add_painting", "1", "MK")
    assert [act.at_ms for act in contact] == [60_000, 60_400, 70_000, 70_400]
    assert contact[0].world == {"set_down": "place", "place": 3}
    assert contact[2].world == {"lift": True}
    assert [(a.ask, a.body["mark"], a.age_ms) for a in (contact[1], contact[3])] == [
        ("mark", "down", 400),
        ("mark", "lift", 400),
    ]


def test_every_mistake_is_told_at_once_with_its_line(folder: Path) -> None:
    body = """
[[do]]
at = "soon"
world = { lift = true }
[[do]]
at = "00:01:00"
ask = "dance"
[[do]]
at = "00:01:00"
[[do]]
at = "00:09:00"
world = { lift = true }
[[do]]
at = "00:02:00"
wrold = { lift = true }
[[do]]
at = "00:03:00"
contact = { step = "$x", place = 0, hold_s = 10 }
"""
    with pytest.raises(ManyProblems) as caught:
        read(folder, body)
    told = str(caught.value)
    for part in ("'soon'", "'dance'", "has 0 of", "lies after the story's end", "Did you mean world?", "place"):
        assert part in told
    assert all("short.toml, line " in problem for problem in caught.value.problems)


@pytest.mark.parametrize(
    ("was", "is_now", "part"),
    [
        ('starts_at = "2026-05-04T09:00:00Z"', 'starts_at = "in May"', "starts_at"),
        ('lasts = "00:05:00"', "", "lasts"),
        ('title = "A short one"', 'title = ""', "title"),
        ("[world]", "[wrold]", "wrold"),
    ],
)
def test_a_head_that_is_wrong_is_told(folder: Path, was: str, is_now: str, part: str) -> None:
    with pytest.raises(ManyProblems) as caught:
        read(folder, "", HEAD.replace(was, is_now))
    assert part in str(caught.value)


# -- the player -------------------------------------------------------------------------------------


class Stage:
    """Driver and client of a story in one: remembers what was done when."""

    def __init__(self, *, yes: bool = True) -> None:
        self.yes = yes
        self.now = 0
        self.done: list[tuple[int, Any]] = []
        self.shown = fake_scene.view()

    async def run_until(self, mono_ms: int) -> None:
        self.now = mono_ms

    def act(self, action: dict[str, Any]) -> None:
        if action == {"lift": True}:
            raise BadInput("world", "nothing to lift", "a tool set down", "Mend the story.")
        self.done.append((self.now, action))

    async def request(self, request: Request) -> AnswerDict:
        if request.do == "view":
            return self._answer(request, True, {"view": self.shown})
        self.done.append((self.now, request))
        return self._answer(request, self.yes, {"step": "s7"})

    def _answer(self, request: Request, ok: bool, result: dict[str, Any]) -> AnswerDict:
        error = None if ok else {"thing": "step", "found": "gone", "expected": "a step", "do": "Look."}
        return {"id": request.id, "ok": ok, "result": result, "conflict": False, "error": error}


def play(stage: Stage, *acts: Act, strict: bool = True) -> None:
    base = load_story("strip-lining")
    story = Script("k", "t", "b", 0, 10_000, base.studio, {}, acts)
    player = Player(story, stage, cast(Client, stage), prefix="k", strict=strict)
    asyncio.run(player.play(100))


def test_acts_happen_in_time_and_steps_are_known_by_name() -> None:
    stage = Stage()
    play(
        stage,
        Act(0, 1, world={"tool": "on"}),
        Act(500, 2, who="MK", ask="start_step", body={"sheet": "x"}, keep="lining"),
        Act(900, 3, who="MK", ask="mark", body={"step": "$lining", "mark": "down"}, age_ms=400),
        Act(950, 4, who="MK", ask="note", body={"step": "$room", "text": "$5"}),
    )
    assert stage.now == 10_100
    world, start, mark, note = stage.done
    assert world == (100, {"tool": "on"})
    assert start[0] == 600
    assert (mark[1].body["step"], mark[1].age_ms, mark[1].via) == ("s7", 400, "pedal")
    assert note[1].body == {"step": "s1", "text": "$5"}
    ids = [request.id for _, request in stage.done[1:]]
    assert len(set(ids)) == 3
    assert all(name.startswith("k-") for name in ids)


@pytest.mark.parametrize(
    "act",
    [
        Act(0, 5, ask="note", body={"text": "x"}),
        Act(0, 5, expect={"worked": 99}),
        Act(0, 5, expect={"mood": "fine"}),
        Act(0, 5, world={"lift": True}),
    ],
)
def test_what_goes_otherwise_ends_a_strict_story_and_is_logged_in_a_demo(
    act: Act, caplog: pytest.LogCaptureFixture
) -> None:
    with pytest.raises(StoryError, match="line 5"):
        play(Stage(yes=False), act)
    assert issubclass(StoryError, BlotterError)
    play(Stage(yes=False), act, strict=False)
    assert "line 5" in caplog.text


@pytest.mark.parametrize(
    ("expected", "met"),
    [
        ({"worked": 6}, True),
        ({"worked": 5}, False),
        ({"on_place": 7}, True),
        ({"faults": ["store room checksum"]}, True),
        ({"warnings": ["tool-hot unacknowledged"]}, True),
        ({"warnings": []}, False),
        ({"stages": ["room watch", "heat-seal-spatula places"]}, True),
        ({"estimated": True}, True),
        ({"mood": None}, False),
    ],
)
def test_expectations_look_at_the_view(expected: dict[str, Any], met: bool) -> None:
    view: View = fake_scene.view()
    assert (unmet(expected, view) == []) is met
    assert set(LOOKS) == {"warnings", "faults", "on_place", "worked", "stages", "estimated"}


def test_an_empty_story_comes_to_nothing() -> None:
    base = load_story("strip-lining")
    told = summary(Script("k", "Nothing", "b", 0, 60_000, base.studio, {}, ()), [])
    assert told[0] == "Nothing: 1 min of studio time, 0 rows in the day-book"
    assert "warnings: none" in told
