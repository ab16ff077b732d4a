"""The asker's end of the two local sockets: requests that may be repeated, and the live feed."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncGenerator
from pathlib import Path
from typing import Any, Literal, TypedDict, cast

from monitor.errors import LinkError
from monitor.link.lines import pack, read_message, socket_path
from monitor.link.messages import (
    FEED_SOCKET,
    LINE_LIMIT,
    PROTOCOL,
    REQUESTS_SOCKET,
    AnswerDict,
    FeedRow,
    Greeting,
    Request,
)

ANSWER_TIMEOUT_S = 10.0
SILENCE_S = 2.5  # the feed's heartbeat comes every second
AGAIN_S = 0.25


class FeedFound(TypedDict):
    """The feed has (again) reached a station; a whole view follows."""

    feed: Literal["found"]
    greeting: Greeting


class FeedLost(TypedDict):
    """The station cannot be reached; told once, then the feed goes on trying."""

    feed: Literal["lost"]
    error: dict[str, str]


Heard = FeedRow | FeedFound | FeedLost
_Streams = tuple[asyncio.StreamReader, asyncio.StreamWriter, Greeting]


class Client:
    """Asks the station. One request at a time; a lost connection is opened again and the request repeated.

    Repeating is harmless: the station answers a known id with the answer it gave before.
    """

    def __init__(self, runtime_dir: Path, answer_timeout_s: float = ANSWER_TIMEOUT_S) -> None:
        self._dir = runtime_dir
        self._timeout_s = answer_timeout_s
        self._streams: _Streams | None = None
        self._turn = asyncio.Lock()

    @classmethod
    async def connect(cls, runtime_dir: Path, answer_timeout_s: float = ANSWER_TIMEOUT_S) -> Client:
        """Connect at once; LinkError when no station serves the directory."""
        client = cls(runtime_dir, answer_timeout_s)
        client._streams = await _open(runtime_dir, REQUESTS_SOCKET)
        return client

    @property
    def greeting(self) -> Greeting | None:
        """Give what the station greeted with, or None while there is no connection."""
        return self._streams[2] if self._streams else None

    async def request(self, request: Request) -> AnswerDict:
        """Ask and wait for the answer, which comes after the commit.

        Raises:
            LinkError: the station is not there, or has not answered in time. What was asked
                may then have been recorded or not; the same id may be asked again.
        """
        async with self._turn:
            for last in (False, True):
                try:
                    return await asyncio.wait_for(self._ask(request), self._timeout_s)
                except TimeoutError as error:
                    await self._hang_up()
                    raise LinkError(
                        "station", f"no answer in {self._timeout_s:g} s", "an answer", "Ask again; it counts once."
                    ) from error
                except (OSError, EOFError) as error:
                    await self._hang_up()
                    if last:
                        raise _not_there(self._dir) from error
                except BaseException:
                    await self._hang_up()
                    raise
        raise AssertionError("the loop either answers or raises")

    async def close(self) -> None:
        """Close the connection."""
        async with self._turn:
            await self._hang_up()

    async def _ask(self, request: Request) -> AnswerDict:
        if self._streams is None:
            self._streams = await _open(self._dir, REQUESTS_SOCKET)
        reader, writer, _ = self._streams
        writer.write(pack(request.as_json()))
        await writer.drain()
        answer = await read_message(reader)
        if answer is None:
            raise EOFError
        return cast(AnswerDict, answer)

    async def _hang_up(self) -> None:
        if self._streams is not None:
            writer = self._streams[1]
            self._streams = None
            await _closed(writer)


async def feed(
    runtime_dir: Path, *, again_s: float = AGAIN_S, silence_s: float = SILENCE_S
) -> AsyncGenerator[Heard, None]:
    """Listen for ever: rows as they come, `found` at each connection, `lost` once when there is none.

    A station that says nothing for `silence_s` counts as lost too: its heartbeat comes every second.
    Close the generator (`aclose`) to stop listening.
    """
    told = False
    while True:
        try:
            reader, writer, greeting = await _open(runtime_dir, FEED_SOCKET)
        except LinkError as error:
            if not told:
                yield {"feed": "lost", "error": error.as_json()}
            told = True
            await asyncio.sleep(again_s)
            continue
        try:
            told = False
            yield {"feed": "found", "greeting": greeting}
            while (row := await _heard(reader, silence_s)) is not None:
                yield row
        finally:
            await _closed(writer)
        yield {"feed": "lost", "error": _not_there(runtime_dir).as_json()}
        told = True
        await asyncio.sleep(again_s)


async def _heard(reader: asyncio.StreamReader, silence_s: float) -> FeedRow | None:
    """Give the next row, or None when the station has gone, hangs or talks nonsense."""
    with contextlib.suppress(OSError, TimeoutError, LinkError):
        return cast(FeedRow | None, await asyncio.wait_for(read_message(reader), silence_s))
    return None


async def _open(runtime_dir: Path, name: str) -> _Streams:
    path = socket_path(runtime_dir, name)
    try:
        reader, writer = await asyncio.open_unix_connection(str(path), limit=LINE_LIMIT)
    except OSError as error:
        raise _not_there(runtime_dir) from error
    try:
        greeting: Any = await asyncio.wait_for(read_message(reader), SILENCE_S)
        if greeting is None:
            raise _not_there(runtime_dir)
        if not isinstance(greeting, dict) or greeting.get("protocol") != PROTOCOL:
            found = greeting.get("protocol") if isinstance(greeting, dict) else greeting
            raise LinkError(
                f"station in {runtime_dir}",
                f"it speaks protocol {found}",
                f"protocol {PROTOCOL}",
                "Restart the station and the dashboard after an update.",
            )
    except (OSError, TimeoutError) as error:
        await _closed(writer)
        raise _not_there(runtime_dir) from error
    except BaseException:
        await _closed(writer)
        raise
    return reader, writer, cast(Greeting, greeting)


async def _closed(writer: asyncio.StreamWriter) -> None:
    writer.close()
    with contextlib.suppress(OSError, asyncio.CancelledError):
        await writer.wait_closed()


def _not_there(runtime_dir: Path) -> LinkError:
    return LinkError(
        "station",
        f"nobody answers in {runtime_dir}",
        "a running station",
        "Start it (benchblotter station) and ask again; a repeated request counts once.",
    )
