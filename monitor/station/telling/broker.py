"""One connection to an MQTT broker: made, used, and let go without leaving anything behind.

Imported only when a broker is configured.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import logging
import ssl
from collections.abc import Awaitable
from typing import Any

from aiomqtt import Client, MqttError, Will

from monitor.station.telling.message import NotTold
from monitor.station.telling.secret_file import read_secret
from monitor.ways import BrokerConfig

quiet = logging.getLogger(f"{__name__}.library")  # what goes wrong is told by the way's health, once
quiet.setLevel(logging.CRITICAL)

KEEPALIVE_S = 20
DO = "See that the broker runs and is reached from here"


class Broker:
    """Makes connections to one broker, one at a time.

    Args:
        config: which broker.
        board: the board's name, for topics and for the broker's own records.
        within_s: how long the broker may take for an answer.
    """

    def __init__(self, config: BrokerConfig, board: str, within_s: float) -> None:
        self._config = config
        self._board = board
        self._within_s = within_s
        self._tls: ssl.SSLContext | None = None

    @property
    def where(self) -> str:
        """Name the broker."""
        return f"{self._config.host} port {self._config.port}"

    async def connect(self) -> Connection:
        """Connect and say that the board is there.

        Raises:
            NotTold: no connection. No socket and no thread is left of it.
        """
        client = self._client(await asyncio.to_thread(self._kept))
        connection = Connection(client, f"{self._config.topic}/{self._board}", self.where)
        connecting = asyncio.ensure_future(client.__aenter__())
        try:
            await connection.answered(asyncio.shield(connecting))
            await connection.put("online", {"online": True}, retain=True)
        except BaseException:
            # a connection under way sits in a thread until it succeeds or fails: it is waited for
            await asyncio.wait([connecting])
            if not connecting.cancelled() and connecting.exception() is None:
                await connection.leave()
            await connection.let_go()
            raise
        return connection

    def _kept(self) -> str | None:
        """Read password and certificates; away from the loop, which must not wait for the disk."""
        config = self._config
        if config.tls and self._tls is None:
            try:
                self._tls = ssl.create_default_context(cafile=config.ca_file or None)
            except OSError as error:
                why = (error.strerror or str(error)).lower()
                raise NotTold(config.name, f"{config.ca_file}: {why}", "certificates", "Mend the file") from error
        return read_secret(config.password_file)[0] if config.password_file else None

    def _client(self, password: str | None) -> Client:
        config = self._config
        gone = Will(f"{config.topic}/{self._board}/online", '{"online":false}', 1, retain=True)
        return Client(
            config.host, config.port, username=config.user or None, password=password, tls_context=self._tls,
            identifier=f"benchblotter-{self._board}-{config.name}", timeout=self._within_s,
            keepalive=KEEPALIVE_S, will=gone, logger=quiet,
        )  # fmt: skip


class Connection:
    """A connection; every method raises NotTold when the broker refuses, falls silent or has gone."""

    def __init__(self, client: Client, under: str, where: str) -> None:
        self._client = client
        self._under = under
        self._where = where

    async def put(self, topic: str, body: dict[str, Any], *, retain: bool = False) -> None:
        """Publish a JSON object and wait until the broker has it."""
        payload = json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode()
        await self.answered(self._client.publish(f"{self._under}/{topic}", payload, qos=1, retain=retain))

    async def lost(self) -> None:
        """Return never; NotTold when the connection is lost."""
        await self.answered(self._listen())

    async def leave(self) -> None:
        """Say that the board goes, and hang up; the broker says it by itself when that fails."""
        with contextlib.suppress(NotTold):
            await self.put("online", {"online": False}, retain=True)
        with contextlib.suppress(NotTold):
            await self.answered(self._client.__aexit__(None, None, None))
        await self.let_go()

    async def let_go(self) -> None:
        """Close the socket of a connection that came to nothing; the library leaves it to its keepalive."""
        await asyncio.sleep(0)  # what the library has asked of the loop for this socket comes first
        self._client._client._sock_close()
        if self._client._disconnected.done():
            self._client._disconnected.exception()  # looked at, so that nobody complains that it never was

    async def answered(self, work: Awaitable[Any]) -> None:
        """Wait for the broker.

        The library waits in a way that may swallow a cancellation, so it does that in a task of its own.
        """
        task = asyncio.ensure_future(work)
        try:
            await asyncio.wait([task])
        except asyncio.CancelledError:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)
            raise
        try:
            task.result()
        except (MqttError, OSError, ValueError) as error:
            raise NotTold(self._where, f"{self._where}: {_why(error)}", "an answer", DO) from error

    async def _listen(self) -> None:
        """Listen to what nobody sends: this is how the end of a connection is noticed."""
        async for _ in self._client.messages:
            pass


def _why(error: Exception) -> str:
    """Say what went wrong, in one line that begins small."""
    text = (str(error).strip() or type(error).__name__).splitlines()[0]
    text = text.partition("] ")[2] if text.startswith("[Errno ") else text
    return text[:1].lower() + text[1:]
