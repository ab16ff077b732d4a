"""Phones and mailboxes: each message by a short-lived child process, killed when it hangs."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
import sys
from collections.abc import Awaitable, Callable, Sequence
from typing import Any

from monitor.station.telling.health import Health
from monitor.station.telling.message import DUE, OVER, PASSED, TEST, Message, NotTold
from monitor.station.telling.waiting import Backoff, Waiting
from monitor.station.telling.way import Standing
from monitor.ways import MessageConfig, TellConfig

CHILD = (sys.executable, "-P", "-m", "monitor.station.telling.message_child")
DEADLINE_S = 30.0
KEPT_APART = ("NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID")  # the service manager listens to the station alone
LONGEST_ANSWER = 4096
TITLES = {PASSED: "Outside what you set", DUE: "Due", OVER: "Over", TEST: "A trial"}


class MessageWay:
    """Tells one phone or mailbox.

    Args:
        config, health: whom, and how it fares.
        tell: for the studio's local time.
        waiting, backoff: what has not been told yet, and how long to wait between tries.
        command: the child.
        deadline_s: it is killed after this time.
        pause: waits between two tries.
    """

    at_once = False
    words = "message to a phone or a mailbox"

    def __init__(
        self,
        config: MessageConfig,
        health: Health,
        tell: TellConfig,
        waiting: Waiting,
        backoff: Backoff,
        command: Sequence[str] = CHILD,
        deadline_s: float = DEADLINE_S,
        pause: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        self.config = config
        self.health = health
        self._tell = tell
        self._waiting = waiting
        self._backoff = backoff
        self._command = command
        self._deadline_s = deadline_s
        self._pause = pause

    @property
    def key(self) -> str:
        """Give its kind."""
        return self.config.way

    def tell(self, message: Message) -> None:
        """Queue a message."""
        self._waiting.put(message)

    def stands(self, standing: Standing | None) -> None:
        """Do nothing: a phone is told what happens, not how things stand."""

    async def attempt(self, message: Message, *, quiet: bool) -> bool:
        """Send a message now, once; a quiet one only where that is configured. NotTold when it fails."""
        if quiet and not self.config.self_test:
            return False
        try:
            await self._send(message)
        except NotTold as error:
            self.health.failed(error.reason)
            raise
        self.health.worked()
        return True

    async def run(self) -> None:
        """Send what waits, one after the other, and try again what was not sent."""
        while True:
            message = await self._waiting.first()
            try:
                await self.attempt(message, quiet=False)
            except NotTold:
                await self._pause(self._backoff.next_s())
            else:
                self._backoff.worked()
                self._waiting.done(message)

    def close(self) -> None:
        """Do nothing: a child ends with its task."""

    def _asked(self, message: Message) -> dict[str, Any]:
        when = None if message.at_ms is None else f"{self._tell.local(message.at_ms):%H:%M}"
        lines = [message.sentence, message.what_to_do, when and f"At {when}, board {message.board}."]
        title = f"{TITLES[message.kind]}: {message.bench}" if message.bench else TITLES[message.kind]
        return {
            "url_file": self.config.url_file,
            "title": title,
            "body": "\n".join(line for line in lines if line),
            "kind": message.kind,
        }

    async def _send(self, message: Message) -> None:
        answer = await self._child(json.dumps(self._asked(message)).encode())
        try:
            told = json.loads(answer)
            right, reason = told["told"] is True, str(told["reason"])
        except (ValueError, TypeError, KeyError):
            right, reason = False, "the child that sends messages ended without an answer"
        if not right:
            raise NotTold(self.config.name, reason, "a message that is taken", "")

    async def _child(self, asked: bytes) -> bytes:
        """Run the child; NotTold when it can't be started or hangs. It never outlives this call."""
        try:
            child = await asyncio.create_subprocess_exec(
                *self._command, stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
                stderr=asyncio.subprocess.DEVNULL, start_new_session=True, limit=LONGEST_ANSWER,
                env={k: v for k, v in os.environ.items() if k not in KEPT_APART},
            )  # fmt: skip
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            raise NotTold(self.config.name, f"no child could be started: {why}", "a child", "") from error
        try:
            async with asyncio.timeout(self._deadline_s):
                answer, _ = await child.communicate(asked)
        except TimeoutError as error:
            found = f"no answer from the service in {self._deadline_s:g} s"
            raise NotTold(self.config.name, found, "an answer", "See that this machine reaches it") from error
        finally:
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(child.pid, signal.SIGKILL)
            await asyncio.shield(child.wait())
        return answer
