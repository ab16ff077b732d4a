"""What the dashboard lets through, and how a gesture becomes a request."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import httpx
import pytest

from dashboard import assets, requests
from dashboard.app import Settings, create_app
from dashboard.guard import BODY_LIMIT
from dashboard.pages import Viewer
from dashboard.requests import Ask, Asking, message, told
from monitor.errors import BadInput
from monitor.link.messages import AnswerDict, Request
from tests.support import fake_past
from tests.support.fake_station import FakeStation, answer

HERE = "http://127.0.0.1:8460"
SAME = {"origin": HERE, "sec-fetch-site": "same-origin", "content-type": "application/json"}
WHO = Viewer("0a1b2c3d", "MK", ("MK",), False)


@pytest.fixture(scope="session")
def data_dir(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("data")


def over(
    work: Callable[[httpx.AsyncClient, FakeStation], Awaitable[None]], runtime: Path, data: Path, *, up: bool = True
) -> None:
    """Run `work` against the application, with or without a station."""

    async def running() -> None:
        station = FakeStation(runtime)
        app = create_app(Settings(runtime, data, fake_past.FakePast))
        if up:
            await station.start()
        async with app.router.lifespan_context(app):
            transport = httpx.ASGITransport(app=app)
            async with httpx.AsyncClient(transport=transport, base_url=HERE) as client:
                await work(client, station)
        if up:
            await station.stop()
            others = asyncio.all_tasks() - {asyncio.current_task()}
            await asyncio.gather(*others, return_exceptions=True)

    asyncio.run(running())


def asked(**more: Any) -> dict[str, Any]:
    plain = {"id": "0123456789ab", "do": "undo", "fields": {"step": "s2"}, "expects": 31, "age_ms": 120}
    return {**plain, **more}


@pytest.mark.parametrize(
    ("change", "status", "says"),
    [
        ({"origin": "http://elsewhere.example"}, 403, "another page"),
        ({"origin": "null"}, 403, "another page"),
        ({"sec-fetch-site": "cross-site"}, 403, "another page"),
        ({"sec-fetch-site": "same-site"}, 403, "another page"),
        ({"origin": None, "sec-fetch-site": None}, 403, "another page"),
        ({"origin": "http://127.0.0.1:9999"}, 403, "another page"),
        ({"host": "studio.example:8460"}, 403, "127.0.0.1 or localhost"),
        ({"host": "[::1"}, 403, "127.0.0.1 or localhost"),
        ({"content-type": "text/plain"}, 415, "not JSON"),
        ({"content-type": "application/x-www-form-urlencoded"}, 415, "not JSON"),
    ],
)
def test_a_post_from_elsewhere_is_refused_with_a_sentence(
    tmp_path: Path, data_dir: Path, change: dict[str, str | None], status: int, says: str
) -> None:
    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        for address in ("/ask", "/initials"):
            headers = {k: v for k, v in {**SAME, **change}.items() if v is not None}
            response = await client.post(address, json=asked(), headers=headers)
            assert response.status_code == status
            assert says in response.json()["sentence"]
        assert station.asked == []

    over(work, tmp_path, data_dir)


def test_a_post_from_here_reaches_the_station_once(tmp_path: Path, data_dir: Path) -> None:
    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        client.cookies.update({"blotter_browser": "0a1b2c3d", "blotter_initials": "MK"})
        for _ in range(2):
            response = await client.post("/ask", json=asked(), headers=SAME)
            assert response.json() == {"ok": True, "conflict": False, "sentence": "", "result": {}}
        assert station.asked == [Request("0123456789ab", "undo", {"step": "s2"}, "MK", "browser:0a1b2c3d", 31, 120)]

    over(work, tmp_path, data_dir)


def test_a_body_may_not_be_long(tmp_path: Path, data_dir: Path) -> None:
    async def chunks() -> Any:
        yield b"{" + b" " * BODY_LIMIT

    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        response = await client.post("/ask", content=b" " * (BODY_LIMIT + 1), headers=SAME)
        assert response.status_code == 413
        response = await client.post("/ask", content=chunks(), headers=SAME)
        assert response.status_code == 411
        assert station.asked == []

    over(work, tmp_path, data_dir)


@pytest.mark.parametrize(
    "body",
    [
        {"id": "short"},
        {"do": "suppress"},
        {"do": "start_step"},
        {"age_ms": -1},
        {"more": 1},
        {"fields": {"a": 1}},
        {"expects": "x"},
    ],
)
def test_what_cannot_be_used_is_answered_with_a_sentence(
    tmp_path: Path, data_dir: Path, body: dict[str, Any]
) -> None:
    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        response = await client.post("/ask", json=asked(**body), headers=SAME)
        assert response.status_code == 422
        assert response.json()["sentence"].startswith("Not done")
        assert station.asked == []

    over(work, tmp_path, data_dir)


def test_without_a_station_the_answer_is_503_and_names_no_path(tmp_path: Path, data_dir: Path) -> None:
    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        response = await client.post("/ask", json=asked(), headers=SAME)
        assert response.status_code == 503
        assert "The station does not answer" in response.json()["sentence"]
        assert str(tmp_path) not in response.text
        page = await client.get("/")
        assert page.status_code == 200
        assert "The station does not answer" in page.text

    over(work, tmp_path, data_dir, up=False)


def test_every_answer_carries_a_strict_policy_and_pages_nothing_inline(tmp_path: Path, data_dir: Path) -> None:
    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        for address in (
            "/",
            "/bench",
            "/bench/north%20bench",
            "/start?sheet=room",
            "/look-back",
            "/static/live.js",
            "/no",
        ):
            response = await client.get(address)
            policy = response.headers["content-security-policy"]
            assert "default-src 'none'" in policy
            assert "unsafe" not in policy
            assert response.headers["x-content-type-options"] == "nosniff"
            if response.headers["content-type"].startswith("text/html"):
                assert not re.search(r"<[^>]+\s(style|on\w+)=", response.text), address
                assert not re.search(r"<script(?![^>]*\ssrc=)", response.text), address
                assert not re.search(r"""(src|href)=["'](https?:)?//""", response.text), address

    over(work, tmp_path, data_dir)


def test_an_unknown_bench_names_those_there_are(tmp_path: Path, data_dir: Path) -> None:
    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        while (await client.get("/bench/x")).status_code != 404:  # until the first view has come
            await asyncio.sleep(0)
        page = await client.get("/bench/x")
        assert "There is no bench" in page.text
        assert "north bench" in page.text

    over(work, tmp_path, data_dir)


def test_names_from_people_are_escaped(tmp_path: Path, data_dir: Path) -> None:
    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        page = await client.get(
            "/start", params={"sheet": "heat-seal-spatula", "bench": '"><script>alert(1)</script>'}
        )
        assert "<script>alert" not in page.text

    over(work, tmp_path, data_dir)


def test_initials_are_kept_in_a_strict_cookie(tmp_path: Path, data_dir: Path) -> None:
    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        good = await client.post("/initials", json={"initials": " jt "}, headers=SAME)
        assert good.json() == {"ok": True, "initials": "JT"}
        cookies = good.headers.get_list("set-cookie")
        assert len(cookies) == 2
        assert all("SameSite=strict" in c and "HttpOnly" in c for c in cookies)
        for bad in ("", "J2", "a b"):
            refused = await client.post("/initials", json={"initials": bad}, headers=SAME)
            assert refused.status_code == 422
            assert "one to four letters" in refused.json()["sentence"]

    over(work, tmp_path, data_dir)


def test_the_chart_script_is_compressed_once_and_served_for_ever(tmp_path: Path, data_dir: Path) -> None:
    first = assets.chart_script(data_dir / "dashboard")
    stamp = first.compressed.stat().st_mtime_ns
    assert assets.chart_script(data_dir / "dashboard") == first
    assert first.compressed.stat().st_mtime_ns == stamp

    async def work(client: httpx.AsyncClient, station: FakeStation) -> None:
        response = await client.get(first.address, headers={"accept-encoding": "gzip"})
        assert response.headers["content-encoding"] == "gzip"
        assert response.headers["cache-control"] == "public, max-age=31536000, immutable"
        assert int(response.headers["content-length"]) < 1_600_000
        assert response.content == first.plain.read_bytes()

    over(work, tmp_path, data_dir)


def test_a_data_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file in the way")
    with pytest.raises(BadInput, match="--data"):
        assets.chart_script(tmp_path / "data" / "dashboard")


def test_a_refusal_says_what_is_and_what_to_do_without_the_step_s_number() -> None:
    error = {"thing": "step s2", "found": "the tool is on place 2", "expected": "the tool lifted",
             "do": "Mark it lifted first."}  # fmt: skip
    _, content = told(answer(Request("1", "finish_step"), ok=False, error=error))
    assert content["sentence"] == "Not done: the tool is on place 2. Mark it lifted first."


@pytest.mark.parametrize(
    ("do", "fields", "says"),
    [
        (
            "start_step",
            {"sheet": "x", "bench": "b", "probe.tool": "spatula", "touches.tool": " "},
            "where probe spatula touches",
        ),
        ("start_step", {"sheet": "x", "bench": "b", "places": "0"}, "whole number from 1 to 200"),
        ("start_step", {"sheet": "x", "bench": "b", "places": "many"}, "whole number from 1 to 200"),
        ("add_painting", {"number": "", "name": "Boats"}, "number of the painting"),
        ("note", {"text": "  "}, "note: nothing entered"),
        ("shelve", {}, "request: 'shelve'"),
    ],
)
def test_what_is_missing_is_named(do: str, fields: dict[str, str], says: str) -> None:
    with pytest.raises(BadInput, match=re.escape(says)):
        message(Ask(id="0123456789ab", do=do, fields=fields), WHO)


def test_a_conflict_and_a_refusal_are_told_apart() -> None:
    error = {"thing": "step s2", "found": "JT finished it", "expected": "revision 31", "do": "Look again."}
    asked_for = Request("1", "mark")
    conflict: AnswerDict = answer(asked_for, ok=False, conflict=True, error=error)
    status, content = told(conflict)
    assert (status, content["conflict"]) == (409, True)
    assert "JT finished it" in content["sentence"]
    status, content = told(answer(asked_for, ok=False, error=error))
    assert (status, content["conflict"]) == (422, False)


def test_every_verb_that_pages_ask_is_a_verb_of_the_link() -> None:
    from monitor.link.messages import TEST_WAY, VERBS

    assert set(requests.SHAPES) <= {*VERBS, TEST_WAY}


def test_asking_goes_on_after_the_station_came_back(tmp_path: Path) -> None:
    async def running() -> list[int]:
        asking, station = Asking(tmp_path), FakeStation(tmp_path)
        statuses = [(await asking.ask(Request("1", "note")))[0]]
        await station.start()
        statuses.append((await asking.ask(Request("1", "note")))[0])
        await asking.close()
        await station.stop()
        others = asyncio.all_tasks() - {asyncio.current_task()}
        await asyncio.gather(*others, return_exceptions=True)
        return statuses

    assert asyncio.run(running()) == [503, 200]
