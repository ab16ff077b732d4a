"""The words of the settings page, and that a trial goes over a connection of its own."""

from __future__ import annotations

import asyncio
import tempfile
from pathlib import Path
from typing import Any

import pytest

from dashboard.requests import Asking
from dashboard.sentences import sentence
from dashboard.settings import Line, lines
from monitor.link.messages import TEST_WAY, AnswerDict, Request
from tests.support import fake_scene
from tests.support.fake_station import FakeStation, answer


def line(number: int, **more: Any) -> Line:
    ways = fake_scene.ways()
    return lines(fake_scene.view(ways=[{**ways[number], **more}]))[0]


def test_a_way_that_works() -> None:
    told = line(0)
    assert told.what == "Lamp: steady while a warning stands"
    assert told.told_of == "every warning"
    assert told.daily == "tried quietly every day at 09:00"
    assert told.trouble == told.given_up == ""
    assert told.tried == "its line was switched; look whether it lit (daily trial)"


def test_a_way_that_does_not_work_says_why_once_and_what_was_given_up() -> None:
    told = line(1)
    assert told.told_of == "warnings of high priority overnight, 19:00 to 07:00"
    assert told.daily == "not in the daily trial"
    assert told.trouble.startswith("no answer from the service")
    assert told.given_up == "2 messages were given up since."
    assert told.tried == "not told"
    assert line(1, reason="another").tried.startswith("not told: no answer")
    assert line(1, given_up=1).given_up == "1 message was given up since."


@pytest.mark.parametrize(
    ("way", "came"),
    [("sounder", "its line was switched; listen whether it sounded"),
     ("message", "the service took it; look whether it came"), ("mqtt", "the broker took it")],
)  # fmt: skip
def test_only_what_is_known_of_a_trial_is_said(way: str, came: str) -> None:
    tried = {"at_ms": 5, "outcome": "told", "reason": "", "daily": False}
    assert line(0, way=way, tried=tried).tried == came


def test_the_hours_of_the_day() -> None:
    told = line(0, when="by day", hours="07:00 to 19:00", least="medium")
    assert told.told_of == "warnings of medium and high priority by day, 07:00 to 19:00"


def test_the_day_book_tells_of_ways_in_sentences() -> None:
    way = {"way": "message", "name": "phone of MK"}
    assert [
        sentence({"kind": kind, "body": body, "step": None})
        for kind, body in (
            ("telling_failed", {**way, "reason": "no network. Look at it"}),
            ("telling_restored", {**way, "given_up": 2}),
            ("telling_restored", {**way, "given_up": 0}),
            ("telling_tested", {**way, "outcome": "told", "reason": ""}),
            ("telling_tested", {**way, "outcome": "not told", "reason": "no network"}),
            ("self_tested", {"ways": [{**way, "outcome": "not tried", "reason": ""},
                                      {"way": "lamp", "name": "lamp", "outcome": "told", "reason": ""}]}),
        )
    ] == [
        "Way to be told phone of MK (message) does not work: no network. Look at it.",
        "Way to be told phone of MK (message) works again; 2 messages were given up meanwhile.",
        "Way to be told phone of MK (message) works again.",
        "Way to be told phone of MK (message) was tried: told.",
        "Way to be told phone of MK (message) was tried: not told, no network.",
        "Daily trial of the ways to be told: phone of MK not tried; lamp told.",
    ]  # fmt: skip


def test_a_mark_does_not_wait_for_a_trial() -> None:
    async def work(folder: Path) -> None:
        station = FakeStation(folder)
        marked = asyncio.Event()

        def rule(request: Request) -> AnswerDict | None:
            if request.do == "mark":
                marked.set()
            return answer(request)

        station.rule = rule
        await station.start()
        asking = Asking(folder)
        try:
            async with asking._aside._turn:  # a trial is under way
                trial = asyncio.ensure_future(asking.ask(Request("trial-0001", TEST_WAY, {"name": "lamp"})))
                status, _ = await asking.ask(Request("mark-00001", "mark", {"step": "s2", "mark": "up"}))
                assert status == 200
                assert marked.is_set()
                assert not trial.done()
            assert (await trial)[0] == 200
        finally:
            await asking.close()
            await station.stop()

    with tempfile.TemporaryDirectory(prefix="rig-") as folder:
        asyncio.run(work(Path(folder)))
