"""The station's end of the two local sockets."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import os
import socket
from collections.abc import Awaitable, Callable, Coroutine
from pathlib import Path
from typing import Any

from monitor.errors import BlotterError, LinkError
from monitor.link.holding import Held, hold
from monitor.link.lines import pack, read_message, socket_path
from monitor.link.messages import (
    FEED_SOCKET,
    LINE_LIMIT,
    REQUESTS_SOCKET,
    AnswerDict,
    FeedRow,
    Greeting,
    Request,
)
from monitor.link.outbox import Outbox

log = logging.getLogger(__name__)

SEND_TIMEOUT_S = 5.0
SEND_BUFFER_BYTES = 64_000

Answering = Callable[[Request], Awaitable[AnswerDict]]


def refused(request_id: str, error: BlotterError, *, conflict: bool = False) -> AnswerDict:
    """Give the answer that carries an error."""
    return {"id": request_id, "ok": False, "result": {}, "conflict": conflict, "error": error.as_json()}


class Server:
    """Listens in the runtime directory; one server a directory.

    Args:
        runtime_dir: directory of the sockets; made with mode 0700 when it is missing.
        answer: gives the answer to a request, after its commit; must not raise.
        first_rows: what a new listener of the feed is told at once.
    """

    def __init__(self, runtime_dir: Path, answer: Answering, first_rows: Callable[[], list[FeedRow]]) -> None:
        self._dir = runtime_dir
        self._answer = answer
        self._first_rows = first_rows
        self._greeting: Greeting | None = None
        self._held: Held | None = None
        self._servers: list[asyncio.Server] = []
        self._tasks: set[asyncio.Task[None]] = set()
        self._listeners: dict[Outbox, asyncio.Task[None]] = {}

    @property
    def listeners(self) -> int:
        """Give how many listen to the feed."""
        return len(self._listeners)

    def claim(self) -> None:
        """Take the directory; LinkError when another station serves it or it cannot be used."""
        if self._held is None:
            self._held = hold(self._dir)

    async def start(self, greeting: Greeting) -> None:
        """Open both sockets; each begins with the greeting. LinkError as for `claim`."""
        paths = [socket_path(self._dir, name) for name in (REQUESTS_SOCKET, FEED_SOCKET)]
        self.claim()
        self._greeting = greeting
        for path, serve in zip(paths, (self._serve_requests, self._serve_feed), strict=True):
            self._servers.append(
                await asyncio.start_unix_server(self._task_of(serve), sock=_bound(path), limit=LINE_LIMIT)
            )

    async def close(self) -> None:
        """Close the sockets and every connection, and remove their files."""
        for server in self._servers:
            server.close()
        tasks = list(self._tasks)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        for server in self._servers:
            await server.wait_closed()
        if self._held is not None:
            for name in (REQUESTS_SOCKET, FEED_SOCKET):
                (self._dir / name).unlink(missing_ok=True)
            self._held.release()
        self._servers, self._held = [], None

    def publish(self, row: FeedRow) -> None:
        """Hand a row to every listener; one that lags too far behind is dropped. Never waits."""
        for outbox, task in list(self._listeners.items()):
            if not outbox.put(row):
                self._drop(outbox, task, "lags behind")

    def _drop(self, outbox: Outbox, task: asyncio.Task[None], why: str) -> None:
        log.warning("a listener of the feed %s and was dropped", why)
        self._listeners.pop(outbox, None)
        task.cancel()

    def _task_of(
        self, serve: Callable[[asyncio.StreamReader, asyncio.StreamWriter], Coroutine[Any, Any, None]]
    ) -> Callable[[asyncio.StreamReader, asyncio.StreamWriter], None]:
        def accept(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            task = asyncio.get_running_loop().create_task(self._hold(serve, reader, writer))
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)

        return accept

    async def _hold(
        self,
        serve: Callable[[asyncio.StreamReader, asyncio.StreamWriter], Coroutine[Any, Any, None]],
        reader: asyncio.StreamReader,
        writer: asyncio.StreamWriter,
    ) -> None:
        try:
            writer.write(pack(self._greeting))
            await serve(reader, writer)
        except (OSError, asyncio.CancelledError, TimeoutError):
            pass  # the other end has gone, or lags, or the station stops
        except LinkError as error:
            log.error("a listener was given up: %s", error)
        finally:
            writer.transport.abort() if writer.transport.get_write_buffer_size() else writer.close()
            with contextlib.suppress(OSError, asyncio.CancelledError):
                await writer.wait_closed()

    async def _serve_requests(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        while True:
            try:
                message = await read_message(reader)
            except LinkError as error:
                writer.write(pack(refused("", error)))
                await writer.drain()
                return
            if message is None:
                return
            writer.write(pack(await self._answered(message)))
            await writer.drain()

    async def _answered(self, message: Any) -> AnswerDict:  # noqa: ANN401
        try:
            request = Request.from_json(message)
        except LinkError as error:
            found = message.get("id") if isinstance(message, dict) else ""
            return refused(found if isinstance(found, str) else "", error)
        return await self._answer(request)

    async def _serve_feed(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        assert task is not None
        writer.transport.set_write_buffer_limits(high=SEND_BUFFER_BYTES)
        outbox = Outbox()
        for row in self._first_rows():
            outbox.put(row)
        self._listeners[outbox] = task
        gone = asyncio.get_running_loop().create_task(reader.read())

        def left(_: asyncio.Task[bytes]) -> None:
            task.cancel()

        gone.add_done_callback(left)
        try:
            while True:
                writer.write(b"".join(pack(row) for row in await outbox.take()))
                await asyncio.wait_for(writer.drain(), SEND_TIMEOUT_S)
        finally:
            self._listeners.pop(outbox, None)
            gone.remove_done_callback(left)
            gone.cancel()
            await asyncio.gather(gone, return_exceptions=True)


def _bound(path: Path) -> socket.socket:
    """Bind a unix socket that only its owner can open; a file left by a killed station is removed."""
    path.unlink(missing_ok=True)
    bound = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    before = os.umask(0o177)
    try:
        bound.bind(str(path))
    finally:
        os.umask(before)
    return bound
