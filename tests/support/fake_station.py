"""A double of the station for pages: the two local sockets over a scripted view.

`python -m tests.support.fake_station DIR` serves a moving scene for looking at the pages by eye.
"""

from __future__ import annotations

import asyncio
import contextlib
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from monitor.link.lines import pack, read_message
from monitor.link.messages import FEED_SOCKET, LINE_LIMIT, PROTOCOL, REQUESTS_SOCKET, AnswerDict, Request
from monitor.link.view import View
from tests.support import fake_scene

Rule = Callable[[Request], AnswerDict | None]


def answer(request: Request, **more: Any) -> AnswerDict:
    """An answer that says yes, unless told otherwise."""
    whole: Any = {"id": request.id, "ok": True, "result": {}, "conflict": False, "error": None, **more}
    return whole


class FakeStation:
    """Speaks the link's words; `view` is what it shows, `asked` what it was asked, `rule` may answer first."""

    def __init__(self, runtime_dir: Path, view: View | None = None, *, heartbeat_s: float = 0.5) -> None:
        self.view = view or fake_scene.view()
        self.asked: list[Request] = []
        self.rule: Rule = lambda request: None
        self.now_ms = fake_scene.NOW_MS
        self._dir = runtime_dir
        self._heartbeat_s = heartbeat_s
        self._listeners: set[asyncio.StreamWriter] = set()
        self._open: set[asyncio.StreamWriter] = set()
        self._news = asyncio.Condition()
        self._given: dict[str, AnswerDict] = {}
        self._servers: list[asyncio.Server] = []
        self._heart: asyncio.Task[None] | None = None

    async def start(self) -> None:
        """Open both sockets and let the heart beat."""
        for name, serve in ((REQUESTS_SOCKET, self._requests), (FEED_SOCKET, self._feed)):
            path = self._dir / name
            path.unlink(missing_ok=True)
            self._servers.append(await asyncio.start_unix_server(serve, path, limit=LINE_LIMIT))
        self._heart = asyncio.create_task(self._beat())

    async def stop(self) -> None:
        """Go away as a killed station would: sockets gone, nothing said."""
        if self._heart:
            self._heart.cancel()
        for server in self._servers:
            server.close()
        for writer in list(self._open):
            writer.close()
            with contextlib.suppress(OSError):
                await writer.wait_closed()
        self._servers.clear()
        for name in (REQUESTS_SOCKET, FEED_SOCKET):
            (self._dir / name).unlink(missing_ok=True)

    async def until_asked(self, count: int) -> None:
        """Wait until `count` different requests have come; TimeoutError after 3 s."""
        async with self._news, asyncio.timeout(3):
            await self._news.wait_for(lambda: len(self.asked) >= count)

    async def hang(self) -> None:
        """Say nothing more, with both sockets open, as a hung station would."""
        if self._heart:
            self._heart.cancel()

    async def send(self, row: dict[str, Any]) -> None:
        """Send one feed row to every listener."""
        for writer in list(self._listeners):
            with contextlib.suppress(OSError):
                writer.write(pack(row))
                await writer.drain()

    async def show(self, **more: Any) -> None:
        """Change keys of the view and send it."""
        self.view.update(more)  # type: ignore[typeddict-item]
        self.view["revision"] += 1
        await self.send({"feed": "view", "view": self.view})

    async def read(self, channel: str, value: float | None, quality: str = "good") -> None:
        """Send one reading at the present instant."""
        await self.send({"feed": "readings", "stored": False, "rows": [[channel, self.now_ms, value, quality]]})

    async def _beat(self) -> None:
        while True:
            await self.send({"feed": "stored", "at_ms": self.now_ms, "now_ms": self.now_ms})
            await asyncio.sleep(self._heartbeat_s)
            self.now_ms += int(self._heartbeat_s * 1000)

    async def _greet(self, writer: asyncio.StreamWriter) -> None:
        self._open.add(writer)
        writer.write(pack({"protocol": PROTOCOL, "board": "quay", "boot": 1, "version": "0.1.0"}))
        await writer.drain()

    async def _feed(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        await self._greet(writer)
        writer.write(pack({"feed": "view", "view": self.view}))
        self._listeners.add(writer)
        await self._until_gone(reader, writer)

    async def _until_gone(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        with contextlib.suppress(OSError):
            await reader.read()
        self._listeners.discard(writer)
        self._open.discard(writer)
        writer.close()

    async def _requests(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        await self._greet(writer)
        with contextlib.suppress(OSError):
            while (message := await read_message(reader)) is not None:
                writer.write(pack(self._answer(Request.from_json(message))))
                await writer.drain()
                async with self._news:
                    self._news.notify_all()
        self._open.discard(writer)
        writer.close()

    def _answer(self, request: Request) -> AnswerDict:
        if request.id not in self._given:
            self.asked.append(request)
            self._given[request.id] = self.rule(request) or answer(request)
        return self._given[request.id]


async def _play(runtime_dir: Path) -> None:
    station = FakeStation(runtime_dir)
    station.rule = lambda request: print(request) or None  # type: ignore[func-returns-value]  # noqa: T201
    await station.start()
    count = 0
    while True:
        await asyncio.sleep(0.2)
        count += 1
        swing = abs(count % 100 - 50) / 10
        await station.read("spatula.tool_temperature", 76.0 + swing)
        rows = [["s2", "bond_line", 60.6 + swing, 64.1 + swing, 67.2 + swing, station.now_ms],
                ["s2", "face", 43.1 + swing, 46.0 + swing, 49.3 + swing, station.now_ms]]  # fmt: skip
        await station.send({"feed": "estimates", "rows": rows})


if __name__ == "__main__":
    asyncio.run(_play(Path(sys.argv[1])))
