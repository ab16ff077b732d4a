"""Plays a story: moves the studio's time, lets the world act, and lets the people ask through the link."""

from __future__ import annotations

import logging
from typing import Any, Protocol

from monitor.errors import BlotterError
from monitor.link.client import Client
from monitor.link.messages import AnswerDict, Request
from monitor.link.view import View
from monitor.stories.expecting import unmet
from monitor.stories.script import Act, Script

log = logging.getLogger(__name__)

ROOM = "$room"


class StoryError(BlotterError):
    """A story did not go as its script says."""


class Driver(Protocol):
    """Who owns the studio's time and its simulated world."""

    async def run_until(self, mono_ms: int) -> None:
        """Return when the studio's clock stands at, or has passed, `mono_ms`."""
        ...

    def act(self, action: dict[str, Any]) -> None:
        """Let something happen in the simulated world."""
        ...


class Player:
    """Plays one story.

    Args:
        script: what is done when.
        driver: moves time and world.
        client: the people's way to the station.
        prefix: begins every request's id; the same prefix asks the same things.
        strict: an answer that is no, or an expectation unmet, ends the story; otherwise it is logged.
    """

    def __init__(self, script: Script, driver: Driver, client: Client, *, prefix: str, strict: bool) -> None:
        self._script = script
        self._driver = driver
        self._client = client
        self._prefix = prefix
        self._strict = strict
        self._steps: dict[str, str] = {}
        self._asked = 0

    async def play(self, start_ms: int) -> None:
        """Play every act; `start_ms` is the story's start on the studio's monotonic clock.

        Raises:
            StoryError: strict, and something did not go as written.
            LinkError: the station has gone.
        """
        for act in self._script.acts:
            await self._driver.run_until(start_ms + act.at_ms)
            if act.world is not None:
                self._happen(act)
            elif act.expect is not None:
                await self._expect(act)
            else:
                await self._ask(act)
        await self._driver.run_until(start_ms + self._script.lasts_ms)

    def _happen(self, act: Act) -> None:
        try:
            self._driver.act(act.world or {})
        except BlotterError as error:
            self._wrong(act, str(error), "an act the world can do")

    async def _ask(self, act: Act) -> None:
        body = {key: await self._named(value) for key, value in act.body.items()}
        via = "pedal" if act.ask == "mark" else "browser:story"
        answer = await self._send(Request(self._id(), act.ask, body, act.who, via, None, act.age_ms))
        if not answer["ok"]:
            error = answer["error"] or {}
            self._wrong(act, f"{act.ask} was refused: {error.get('thing')}: {error.get('found')}", "yes")
        elif act.keep:
            self._steps[f"${act.keep}"] = str(answer["result"]["step"])

    async def _expect(self, act: Act) -> None:
        wrong = unmet({key: await self._named(v) for key, v in (act.expect or {}).items()}, await self._view())
        if wrong:
            self._wrong(act, "; ".join(wrong), "what the script expects")

    async def _named(self, value: Any) -> Any:  # noqa: ANN401
        """Put a step's number in place of its name."""
        if not isinstance(value, str) or not value.startswith("$"):
            return value
        if value not in self._steps:
            running = {f"${step['sheet']}": step["id"] for step in (await self._view())["steps"]}
            self._steps.update({name: step for name, step in running.items() if name not in self._steps})
        return self._steps.get(value, value)

    async def _view(self) -> View:
        answer = await self._send(Request(self._id(), "view"))
        view: View = answer["result"]["view"]
        return view

    async def _send(self, request: Request) -> AnswerDict:
        return await self._client.request(request)

    def _id(self) -> str:
        self._asked += 1
        return f"{self._prefix}-{self._asked}"

    def _wrong(self, act: Act, found: str, expected: str) -> None:
        error = StoryError(
            f"story {self._script.key}, line {act.line}", found, expected, "Mend the story or the code."
        )
        if self._strict:
            raise error
        log.warning("%s", error)
