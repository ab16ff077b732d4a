"""MQTT: how the board stands, retained, and one message a warning, as plain JSON of quality 1.

Topics, each under `TOPIC/BOARD/`, where TOPIC is configured (`benchblotter` when it isn't):

- `online`, retained: {"online": true}; false after the station has gone, in order or not.
- `state`, retained: {"board", "at", "unseen", "warnings": [{"warning", "priority", "sentence",
  "state", "unseen", "at"}]}, anew whenever it changes, after the commit.
- `warning`, not retained: one message for each that is told (`Message.as_json`), kind
  "limit passed", "due" or "over".
- `test`, not retained: the same with kind "test".

`at` is ISO 8601 in UTC, or null while the board does not know the time. A message whose
receipt was lost with the connection is sent again, so a listener may hear it twice.
"""

from __future__ import annotations

import asyncio
import contextlib
from typing import Any

from monitor.clock import iso
from monitor.station.telling.broker import DO, Broker, Connection
from monitor.station.telling.health import Health
from monitor.station.telling.message import TEST, Message, NotTold
from monitor.station.telling.waiting import Backoff, Waiting
from monitor.station.telling.way import Standing
from monitor.ways import BrokerConfig

WITHIN_S = 4.0  # for each word of the broker


class MqttWay:
    """Tells one broker, over one connection that is made again whenever it is lost.

    Args:
        config, health: which broker, and how it fares.
        board: the board's name, for the topics.
        waiting, backoff: what has not been told yet, and how long to wait between tries.
        within_s: how long the broker may take for an answer.
    """

    at_once = False
    words = "MQTT broker: how the board stands, and each warning"

    def __init__(
        self,
        config: BrokerConfig,
        health: Health,
        board: str,
        waiting: Waiting,
        backoff: Backoff,
        within_s: float = WITHIN_S,
    ) -> None:
        self.config = config
        self.health = health
        self._board = board
        self._broker = Broker(config, board, within_s)
        self._waiting = waiting
        self._backoff = backoff
        self._within_s = within_s
        self._connection: Connection | None = None
        self._asking: set[asyncio.Future[Connection]] = set()
        self._wanted = asyncio.Event()  # someone waits for a connection: try now
        self._state = Standing()
        self._state_new = asyncio.Event()

    @property
    def key(self) -> str:
        """Give its kind."""
        return self.config.way

    def tell(self, message: Message) -> None:
        """Queue a message."""
        self._waiting.put(message)

    def stands(self, standing: Standing | None) -> None:
        """Keep how things stand, to be published."""
        if standing is not None:
            self._state = standing.above(self.config.least)
            self._state_new.set()

    async def attempt(self, message: Message, *, quiet: bool) -> bool:
        """Publish a trial now, always; NotTold when there is no connection or no answer in time."""
        del quiet
        try:
            async with asyncio.timeout(2 * self._within_s):
                await _publish(self._connection or await self._try_now(), message)
        except TimeoutError as error:
            found = f"{self._broker.where}: no answer in {2 * self._within_s:g} s"
            self.health.failed(f"{found}. {DO}")
            raise NotTold(self.config.name, found, "an answer", DO) from error
        except NotTold as error:
            self.health.failed(error.reason)
            raise
        self.health.worked()
        return True

    async def run(self) -> None:
        """Keep a connection for ever; what goes wrong with it is told once and tried again later."""
        while True:
            self._wanted.clear()
            try:
                await self._session()
            except NotTold as error:
                self.health.failed(error.reason)
                self._answer(error)
            self._waiting.forget_old()
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(self._backoff.next_s()):
                    await self._wanted.wait()

    def close(self) -> None:
        """Do nothing: the connection ends with its task."""

    async def _try_now(self) -> Connection:
        """Give a connection, tried for at once; NotTold when it fails."""
        asking: asyncio.Future[Connection] = asyncio.get_running_loop().create_future()
        self._asking.add(asking)
        self._wanted.set()
        try:
            return await asking
        finally:
            self._asking.discard(asking)

    def _answer(self, found: Connection | NotTold) -> None:
        for asking in self._asking:
            if not asking.done():
                asking.set_exception(found) if isinstance(found, NotTold) else asking.set_result(found)

    async def _session(self) -> None:
        """Connect and tell until the connection is lost, which is NotTold."""
        connection = await self._broker.connect()
        self._connection = connection
        self._state_new.set()
        self.health.worked()
        self._backoff.worked()
        self._answer(connection)
        working = (connection.lost(), self._send_state(connection), self._send_waiting(connection))
        tasks = [asyncio.ensure_future(work) for work in working]
        try:
            done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
            for task in done:
                task.result()
        finally:
            self._connection = None
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
            await connection.leave()

    async def _send_state(self, connection: Connection) -> None:
        while True:
            await self._state_new.wait()
            self._state_new.clear()
            await connection.put("state", self._as_json(self._state), retain=True)

    async def _send_waiting(self, connection: Connection) -> None:
        while True:
            message = await self._waiting.first()
            await _publish(connection, message)
            self._waiting.done(message)

    def _as_json(self, standing: Standing) -> dict[str, Any]:
        return {
            "board": self._board,
            "at": _iso(standing.at_ms),
            "unseen": sum(1 for w in standing.warnings if w.unseen),
            "warnings": [
                {"warning": w.warning, "priority": w.priority, "sentence": w.sentence, "state": w.words,
                 "unseen": w.unseen, "at": _iso(w.at_ms)}
                for w in standing.warnings
            ],
        }  # fmt: skip


async def _publish(connection: Connection, message: Message) -> None:
    await connection.put("test" if message.kind == TEST else "warning", message.as_json())


def _iso(at_ms: int | None) -> str | None:
    return None if at_ms is None else iso(at_ms)
