"""The local sockets: framing, greeting, repeats, slow listeners, two stations on one directory."""

from __future__ import annotations

import asyncio
import stat
from collections.abc import Coroutine
from pathlib import Path
from typing import Any

import pytest

from monitor.errors import LinkError
from monitor.link import outbox, server
from monitor.link.client import Client, feed
from monitor.link.lines import pack, socket_path
from monitor.link.messages import LINE_LIMIT, PROTOCOL, AnswerDict, FeedRow, Greeting, Request
from monitor.link.server import Server

GREETING: Greeting = {"protocol": PROTOCOL, "board": "b", "boot": 1, "version": "0"}


async def echo(request: Request) -> AnswerDict:
    return {"id": request.id, "ok": True, "result": {"said": request.body}, "conflict": False, "error": None}


def stored(at_ms: int) -> FeedRow:
    return {"feed": "stored", "at_ms": at_ms, "now_ms": at_ms}


def event(seq: int) -> FeedRow:
    return {"feed": "event", "row": {"seq": seq, "text": "x" * 2000}}


def serving(tmp_path: Path, work: Any, **changes: Any) -> Any:
    async def run() -> Any:
        given = {"greeting": GREETING, "answer": echo, "first_rows": lambda: [stored(7)], **changes}
        at = Server(tmp_path, given["answer"], given["first_rows"])
        await at.start(given["greeting"])
        try:
            return await work(at)
        finally:
            await at.close()

    return asyncio.run(run())


def in_time(work: Coroutine[Any, Any, Any]) -> Any:
    return asyncio.wait_for(work, 4)


def test_a_request_is_answered_and_the_greeting_known(tmp_path: Path) -> None:
    async def work(at: Server) -> None:
        client = await Client.connect(tmp_path)
        assert client.greeting == GREETING
        answer = await client.request(Request("r1", "note", {"text": "é"}))
        assert answer["result"] == {"said": {"text": "é"}}
        await client.close()

    serving(tmp_path, work)


def test_sockets_are_the_owners_alone_and_are_removed(tmp_path: Path) -> None:
    async def work(at: Server) -> None:
        for name in ("requests.sock", "feed.sock"):
            assert stat.S_IMODE((tmp_path / name).stat().st_mode) == 0o600

    serving(tmp_path, work)
    assert not list(tmp_path.glob("*.sock"))


def test_a_stale_socket_file_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "requests.sock").write_text("left over")

    async def work(at: Server) -> None:
        client = await Client.connect(tmp_path)
        assert (await client.request(Request("r", "view")))["ok"]
        await client.close()

    serving(tmp_path, work)


def test_a_second_station_on_the_directory_is_refused(tmp_path: Path) -> None:
    async def work(at: Server) -> None:
        second = Server(tmp_path, echo, list)
        with pytest.raises(LinkError, match=r"another station runs there \(process \d+\)"):
            await second.start(GREETING)
        await second.close()
        client = await Client.connect(tmp_path)  # the first one is untouched
        assert (await client.request(Request("r", "view")))["ok"]
        await client.close()

    serving(tmp_path, work)


def test_nobody_there_is_said_with_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(LinkError, match="Start it"):
        asyncio.run(Client.connect(tmp_path))


def test_another_protocol_is_named(tmp_path: Path) -> None:
    async def work(at: Server) -> None:
        with pytest.raises(LinkError, match="it speaks protocol 99; expected protocol 1"):
            await Client.connect(tmp_path)

    serving(tmp_path, work, greeting={**GREETING, "protocol": 99})


def test_a_lost_connection_is_opened_again_and_the_request_repeated_under_its_id(tmp_path: Path) -> None:
    async def work() -> None:
        first = Server(tmp_path, echo, list)
        await first.start(GREETING)
        client = await Client.connect(tmp_path)
        await first.close()
        second = Server(tmp_path, echo, list)
        await second.start({**GREETING, "boot": 2})
        assert (await client.request(Request("r9", "view")))["id"] == "r9"
        assert client.greeting is not None
        assert client.greeting["boot"] == 2
        await second.close()
        with pytest.raises(LinkError, match="nobody answers"):
            await client.request(Request("r10", "view"))
        await client.close()

    asyncio.run(work())


def test_no_answer_in_time_is_an_error(tmp_path: Path) -> None:
    async def never(request: Request) -> AnswerDict:
        await asyncio.Event().wait()
        raise AssertionError

    async def work(at: Server) -> None:
        client = await Client.connect(tmp_path, answer_timeout_s=0.05)
        with pytest.raises(LinkError, match=r"no answer in 0\.05 s"):
            await client.request(Request("r", "view"))
        await client.close()

    serving(tmp_path, work, answer=never)


@pytest.mark.parametrize(
    ("line", "found"),
    [
        (b"{nonsense\n", "no JSON"),
        (b"[1]\n", "a list"),
        (b'{"id":"r","do":"view","colour":1}\n', "unknown field 'colour'"),
        (b'{"id":"r"}\n', "no field 'do'"),
        (b'{"id":"r","do":"view","age_ms":"1"}\n', "'1'"),
        (b"x" * (LINE_LIMIT + 10) + b"\n", "a longer line"),
    ],
)
def test_a_wrong_line_is_answered_with_what_is_wrong(tmp_path: Path, line: bytes, found: str) -> None:
    async def work(at: Server) -> str:
        reader, writer = await asyncio.open_unix_connection(str(tmp_path / "requests.sock"))
        await reader.readline()
        writer.write(line)
        answer = (await reader.readline()).decode()
        writer.close()
        await writer.wait_closed()
        return answer

    answer = serving(tmp_path, work)
    assert '"ok":false' in answer
    assert found in answer


def test_a_message_over_the_limit_is_refused_before_it_is_sent() -> None:
    with pytest.raises(LinkError, match="at most 1000000"):
        pack("x" * LINE_LIMIT)


def test_a_directory_too_long_for_a_socket_is_named() -> None:
    with pytest.raises(LinkError, match="Choose a shorter directory"):
        socket_path(Path("/" + "d" * 120), "feed.sock")


def test_a_file_in_the_way_of_the_directory_is_named(tmp_path: Path) -> None:
    (tmp_path / "run").write_text("")
    with pytest.raises(LinkError, match="a directory that can be written"):
        asyncio.run(Server(tmp_path / "run" / "x", echo, list).start(GREETING))


def test_the_feed_tells_found_first_rows_events_and_lost(tmp_path: Path) -> None:
    async def work(at: Server) -> None:
        heard = feed(tmp_path, again_s=0.01)
        assert await in_time(anext(heard)) == {"feed": "found", "greeting": GREETING}
        assert await in_time(anext(heard)) == stored(7)
        at.publish(event(1))
        assert (await in_time(anext(heard)))["row"]["seq"] == 1
        await at.close()
        assert (await in_time(anext(heard)))["feed"] == "lost"
        again = Server(tmp_path, echo, list)
        await again.start(GREETING)
        assert (await in_time(anext(heard)))["feed"] == "found"
        await heard.aclose()
        await again.close()

    serving(tmp_path, work)


def test_a_station_that_falls_silent_counts_as_lost(tmp_path: Path) -> None:
    async def work(at: Server) -> None:
        heard = feed(tmp_path, silence_s=0.05)
        assert [(await in_time(anext(heard)))["feed"] for _ in range(3)] == ["found", "stored", "lost"]
        await heard.aclose()

    serving(tmp_path, work)


def test_a_slow_listener_is_dropped_and_never_holds_the_others_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server, "SEND_TIMEOUT_S", 0.05)

    async def work(at: Server) -> None:
        reader, writer = await asyncio.open_unix_connection(str(tmp_path / "feed.sock"), limit=1000)
        await reader.readline()
        quick = feed(tmp_path)
        assert (await in_time(anext(quick)))["feed"] == "found"
        assert (await in_time(anext(quick)))["feed"] == "stored"
        assert len(at._listeners) == 2
        seq = 0
        while len(at._listeners) == 2:
            seq += 1
            at.publish(event(seq))
            assert (await in_time(anext(quick)))["row"]["seq"] == seq
        await quick.aclose()
        writer.close()

    serving(tmp_path, work)


def test_an_outbox_keeps_the_newest_reading_of_each_channel_and_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(outbox, "MOST_QUEUED", 2)

    async def work() -> None:
        box = outbox.Outbox()
        for at_ms in (1, 2, 3):
            assert box.put({"feed": "readings", "stored": False, "rows": [["a.x", at_ms, 1.0, "good"]]})
        assert box.put({"feed": "readings", "stored": False, "rows": [["b.x", 3, None, "bus"]]})
        rows = await box.take()
        assert rows == [
            {"feed": "readings", "stored": False, "rows": [["a.x", 3, 1.0, "good"], ["b.x", 3, None, "bus"]]}
        ]
        assert [box.put(event(n)) for n in (1, 2, 3)] == [True, True, False]

    asyncio.run(work())


def test_a_listener_that_reads_nothing_is_dropped_though_everything_for_it_is_conflated(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server, "SEND_TIMEOUT_S", 0.05)
    big: Any = {"feed": "view", "view": {"studio": "x" * 100_000}}

    async def work(at: Server) -> None:
        reader, writer = await asyncio.open_unix_connection(str(tmp_path / "feed.sock"), limit=1000)
        await reader.readline()
        while at.listeners:
            at.publish(big)
            await asyncio.sleep(0)
        writer.close()

    serving(tmp_path, lambda at: in_time(work(at)))
