"""What the station promises those who ask: answered after the commit, once, in order, with who changed what."""

from __future__ import annotations

import asyncio
import shutil
from contextlib import aclosing
from pathlib import Path

import pytest

from monitor.clock import SimulatedClock
from monitor.link.client import Client, feed
from monitor.link.messages import Request
from monitor.station.housekeeping import Housekeeping, tidy_file
from monitor.store.where import FILE_NAME
from tests.support.stations import NINE_MS, bench

PATIENCE_S = 20


@pytest.fixture
def data(migrated_folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(migrated_folder, tmp_path / "data"))


def note(number: int, request_id: str = "") -> Request:
    return Request(request_id or f"n{number}", "note", {"text": f"note {number}"}, "MK", "browser:test")


def test_an_answer_comes_after_its_rows_are_stored(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            assert (await at.client.request(note(1)))["ok"]
            asked, written = list(at.store.daybook())[-2:]
            assert (asked["kind"], written["kind"]) == ("note_asked", "note_written")
            assert (asked["by"], asked["via"], asked["verified"]) == ("MK", "browser:test", False)

    asyncio.run(work())


def test_the_same_id_counts_once_though_it_is_asked_at_once_and_again(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            others = [await Client.connect(at.runtime) for _ in range(4)]
            answers = await asyncio.gather(*(other.request(note(1, "same")) for other in others))
            answers.append(await at.client.request(note(1, "same")))
            assert all(answer == answers[0] for answer in answers)
            assert len(at.rows("note_written")) == 1
            for other in others:
                await other.close()

    asyncio.run(work())


def test_many_people_ask_at_once_and_each_is_answered(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            people = [await Client.connect(at.runtime) for _ in range(5)]
            answers = await asyncio.gather(*(p.request(note(i)) for i in range(20) for p in [people[i % 5]]))
            assert all(answer["ok"] for answer in answers)
            texts = [row["body"]["text"] for row in at.rows("note_written")]
            assert sorted(texts) == sorted(f"note {i}" for i in range(20))
            for person in people:
                await person.close()

    asyncio.run(work())


def test_a_request_whose_asker_hangs_up_is_still_recorded_and_a_repeat_is_told(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            impatient = await Client.connect(at.runtime)
            asking = asyncio.create_task(impatient.request(note(1, "gone")))
            while not at.station._requests._pending:
                await asyncio.sleep(0)
            asking.cancel()
            await asyncio.gather(asking, return_exceptions=True)
            assert (await at.client.request(note(1, "gone")))["ok"]
            assert len(at.rows("note_written")) == 1

    asyncio.run(work())


def test_a_conflict_says_who_changed_what(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            step = await at.heat_step()
            seen = at.station.desk.state.steps[step].revision
            assert (await at.ask("mark", by="TB", step=step, mark="down"))["ok"]
            body = {"step": step, "mark": "down"}
            answer = await at.client.request(Request("late", "mark", body, "MK", "browser:test", expects=seen))
            assert (answer["ok"], answer["conflict"]) == (False, True)
            assert "TB" in str(answer["error"])
            assert "mark" in str(answer["error"])

    asyncio.run(work())


def test_a_refused_request_leaves_no_row_and_the_same_answer(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            before = len(at.kinds())
            wrong = Request("w", "finish_step", {"step": "s9"}, "MK", "browser:test")
            first, again = await at.client.request(wrong), await at.client.request(wrong)
            assert first == again
            assert first["ok"] is False
            assert first["error"] is not None
            assert set(first["error"]) == {"thing", "found", "expected", "do"}
            assert len(at.kinds()) == before

    asyncio.run(work())


def test_the_view_can_be_asked_for_and_leaves_no_row(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            before = len(at.kinds())
            answer = await at.client.request(Request("v", "view"))
            view = answer["result"]["view"]
            assert view["studio"] == "Studio of a test"
            assert [step["sheet"] for step in view["steps"]] == ["room"]
            assert len(at.kinds()) == before

    asyncio.run(work())


def test_the_feed_tells_readings_first_and_events_after_their_commit(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at, aclosing(feed(at.runtime)) as rows:
            assert (await anext(rows))["feed"] == "found"
            assert (await anext(rows))["feed"] in ("view", "stored")
            await at.station.run_until(2_500)
            assert (await at.client.request(note(1)))["ok"]
            heard: list[str] = []
            async for row in rows:
                heard.append(row["feed"])
                if row["feed"] == "event" and row["row"]["kind"] == "note_written":
                    stored = list(at.store.daybook(kinds=["note_written"]))
                    assert stored == [row["row"]]
                    break
            assert "readings" in heard
            assert "stored" in heard

    asyncio.run(asyncio.wait_for(work(), PATIENCE_S))


def test_a_station_that_stops_takes_no_more_requests_and_writes_its_end_last(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            await at.station._requests.close(1.0)
            answer = await at.client.request(note(1))
            assert answer["ok"] is False
            assert "stopping" in str(answer["error"])
            store = at.store
            await at.station.stop("asked to stop")
            last = list(store.daybook())[-1]
            assert (last["kind"], last["body"]) == ("station_stopped", {"reason": "asked to stop"})

    asyncio.run(work())


def test_housekeeping_forgets_old_answers_and_empties_the_log(data: Path) -> None:
    async def work() -> None:
        async with bench(data) as at:
            assert (await at.client.request(note(1, "old")))["ok"]
            later = SimulatedClock(start_wall_ms=NINE_MS + 25 * 3_600_000)
            keeping = Housekeeping(at.store, data / FILE_NAME, later)
            keeping.start()
            keeping.declare()
            jobs = keeping._scheduler.get_jobs()
            assert {job.id for job in jobs} == {"prune", "tidy"}
            assert all(job.coalesce for job in jobs)
            keeping.stop()
            assert at.store.answer("old") is not None
            await keeping.prune()
            assert at.store.answer("old") is None
            await keeping.tidy()
            assert (data / f"{FILE_NAME}-wal").stat().st_size == 0

    asyncio.run(work())


def test_tidying_leaves_a_store_as_it_was(data: Path) -> None:
    async def work() -> list[str]:
        async with bench(data) as at:
            await at.client.request(note(1))
            before = at.kinds()
            tidy_file(data / FILE_NAME)
            assert at.kinds() == before
            return before

    assert asyncio.run(work())
