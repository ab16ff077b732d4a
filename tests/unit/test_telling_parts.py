"""Small parts of being told: what waits, how long is waited, when the daily trial is due, what may be read."""

from __future__ import annotations

import asyncio
import itertools
import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.bench.sheets import PRIORITIES
from monitor.clock import SimulatedClock, from_iso, iso
from monitor.station.telling.health import ROW_EVERY_MS
from monitor.station.telling.message import KINDS, NotTold, matters
from monitor.station.telling.secret_file import LARGEST, read_secret
from monitor.station.telling.trials import MISSED_AFTER_MS, next_daily_ms
from monitor.station.telling.waiting import Backoff, Waiting
from monitor.ways import TellConfig, WayConfig
from tests.support.telling import Noted, health_of, message, stands


def waiting(most: int = 3, give_up_ms: int = 1000) -> tuple[Waiting, SimulatedClock, list[int]]:
    clock, gone = SimulatedClock(), list[int]()
    return Waiting(gone.append, clock.mono_ms, most, give_up_ms), clock, gone


def test_the_oldest_gives_way_when_too_many_wait() -> None:
    queue, _, gone = waiting()
    for number in range(5):
        queue.put(message(warning=str(number)))
    assert (len(queue), gone) == (3, [1, 1])
    assert asyncio.run(queue.first()).warning == "2"


def test_what_waits_too_long_is_given_up_and_what_is_told_is_taken_out() -> None:
    queue, clock, gone = waiting()
    first, second = message(warning="a"), message(warning="b")
    queue.put(first)
    clock.move_to(999)
    queue.put(second)
    assert asyncio.run(queue.first()) is first
    clock.move_to(1000)
    assert asyncio.run(queue.first()) is second
    assert gone == [1]
    queue.done(first)  # has given way meanwhile
    assert len(queue) == 1
    queue.done(second)
    assert len(queue) == 0


def test_waiting_for_the_first_ends_when_one_comes() -> None:
    async def work() -> str:
        queue, _, _ = waiting()
        first = asyncio.ensure_future(queue.first())
        await asyncio.sleep(0)
        queue.put(message(warning="late"))
        return (await first).warning

    assert asyncio.run(work()) == "late"


def test_the_wait_between_tries_doubles_up_to_its_longest_and_begins_anew() -> None:
    backoff = Backoff(lambda: 1.0, first_s=2.0, longest_s=60.0)
    assert [backoff.next_s() for _ in range(8)] == [2, 4, 8, 16, 32, 60, 60, 60]
    backoff.worked()
    assert backoff.next_s() == 2


@given(chance=st.floats(0, 1), tries=st.integers(1, 40))
def test_chance_shortens_a_wait_to_half_of_it_at_most(chance: float, tries: int) -> None:
    by_chance, whole = Backoff(lambda: chance), Backoff(lambda: 1.0)
    for _ in range(tries):
        assert 0.5 <= by_chance.next_s() / whole.next_s() <= 1


@given(happens=st.lists(st.tuples(st.integers(0, 900_000), st.sampled_from(["worked", "failed", "gave up", "look"]))))
def test_rows_of_a_way_alternate_and_are_never_many(happens: list[tuple[int, str]]) -> None:
    clock, noted = SimulatedClock(), Noted()
    health = health_of(WayConfig("lamp", "a"), noted, clock)
    written: list[int] = []
    for wait_ms, what in happens:
        clock.move_to(clock.mono_ms() + wait_ms)
        before = len(noted.rows)
        {"worked": health.worked, "failed": lambda: health.failed("why"), "gave up": health.gave_up,
         "look": health.look}[what]()  # fmt: skip
        written += [clock.mono_ms()] * (len(noted.rows) - before)
    kinds = noted.kinds()
    assert all(a != b for a, b in itertools.pairwise(kinds))
    assert kinds[:1] in ([], ["telling_failed"])
    failed = [ms for ms, kind in zip(written, kinds, strict=True) if kind == "telling_failed"]
    assert all(b - a >= ROW_EVERY_MS for a, b in itertools.pairwise(failed))


def test_how_many_were_given_up_is_told_when_it_works_again() -> None:
    noted = Noted()
    health = health_of(WayConfig("message", "phone"), noted, SimulatedClock())
    health.failed("no network")
    health.gave_up(2)
    health.worked()
    assert noted.rows[-1] == ("telling_restored", {"way": "message", "name": "phone", "given_up": 2})
    assert health.given_up == 0


LISBON = TellConfig(time_zone="Europe/Lisbon")


@pytest.mark.parametrize(
    ("now", "last", "due"),
    [
        # nine in Lisbon is nine UTC in winter, eight in summer
        ("2026-01-12T08:00:00Z", "2026-01-11T09:00:10Z", "2026-01-12T09:00:00Z"),
        ("2026-01-12T09:00:11Z", "2026-01-12T09:00:10Z", "2026-01-13T09:00:00Z"),
        ("2026-07-12T09:00:00Z", "2026-07-12T08:00:10Z", "2026-07-13T08:00:00Z"),
        # the clocks go forward on 29 March and back on 25 October 2026
        ("2026-03-28T10:00:00Z", "2026-03-28T09:00:10Z", "2026-03-29T08:00:00Z"),
        ("2026-10-24T10:00:00Z", "2026-10-24T08:00:10Z", "2026-10-25T09:00:00Z"),
        # missed, or never made: soon
        ("2026-01-12T09:30:00Z", "2026-01-11T09:00:10Z", "2026-01-12T09:31:00Z"),
        ("2026-01-12T08:00:00Z", None, "2026-01-12T08:01:00Z"),
        ("2026-01-12T08:00:00Z", "2026-01-11T08:59:00Z", "2026-01-12T08:01:00Z"),
        # the clock was set back behind the last one
        ("2026-01-12T08:00:00Z", "2026-01-14T09:00:10Z", "2026-01-12T09:00:00Z"),
    ],
)
def test_when_the_daily_trial_is_due(now: str, last: str | None, due: str) -> None:
    got = next_daily_ms(from_iso(now), from_iso(last) if last else None, 540, LISBON.local)
    assert iso(got) == iso(from_iso(due))


@given(
    now_ms=st.integers(from_iso("2026-01-01T00:00:00Z"), from_iso("2027-12-31T00:00:00Z")),
    last_before_h=st.none() | st.floats(-72, 200),
    minute=st.integers(0, 1439),
    zone=st.sampled_from(["Europe/Lisbon", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia"]),
)
def test_the_daily_trial_is_due_within_a_day_and_never_twice_the_same_day(
    now_ms: int, last_before_h: float | None, minute: int, zone: str
) -> None:
    tell = TellConfig(time_zone=zone)
    last_ms = None if last_before_h is None else now_ms - int(last_before_h * 3_600_000)
    due = next_daily_ms(now_ms, last_ms, minute, tell.local)
    assert now_ms < due <= now_ms + 25 * 3_600_000
    following = next_daily_ms(due + 1000, due, minute, tell.local)
    if due - now_ms != MISSED_AFTER_MS:
        assert following - due >= 22 * 3_600_000
        due_local = tell.local(due)
        assert abs(due_local.hour * 60 + due_local.minute - minute) in (0, 30, 60), (
            "to the minute, but for a lost hour"
        )
    assert following > due


def test_what_matters() -> None:
    assert [matters(p, "medium") for p in PRIORITIES] == [False, True, True]
    assert matters("a priority of a later version", "high")


@pytest.mark.parametrize("kind", KINDS)
def test_a_message_is_plain_json(kind: str) -> None:
    told = json.loads(json.dumps(message(kind).as_json()))
    assert told.keys() == {"kind", "priority", "sentence", "what_to_do", "at", "bench", "board", "warning"}
    assert told["at"] == "2026-04-24T03:06:40.000Z"


def test_leaving_out_what_is_too_mild_keeps_the_rest() -> None:
    both = stands()
    assert both.above("high") == both
    assert stands(priority="low").above("medium").warnings == ()


def secret(folder: Path, content: bytes = b"# mine\n\nword\nsecond\n", mode: int = 0o600) -> str:
    path = folder / "secret"
    path.write_bytes(content)
    path.chmod(mode)
    return str(path)


def test_a_secret_is_read_without_comments(tmp_path: Path) -> None:
    assert read_secret(secret(tmp_path)) == ["word", "second"]


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o644, 0o660, 0o602, 0o601])
def test_a_secret_that_others_may_touch_is_refused(tmp_path: Path, mode: int) -> None:
    path = secret(tmp_path, b"word\n", mode)
    with pytest.raises(NotTold) as caught:
        read_secret(path)
    assert caught.value.reason == f"{path} may be read by others (mode 0{mode:03o}). Do: chmod 600 {path}"


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"", "is empty"), (b"# only this\n", "is empty"), (b"x" * (LARGEST + 1), "is larger"), (b"\xff\n", "UTF-8")],
)
def test_a_secret_of_another_form_is_refused(tmp_path: Path, content: bytes, said: str) -> None:
    with pytest.raises(NotTold, match=said):
        read_secret(secret(tmp_path, content))


def test_a_secret_that_is_no_file_or_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotTold, match="no such file or directory"):
        read_secret(str(tmp_path / "none"))
    with pytest.raises(NotTold):
        read_secret(str(tmp_path))


def test_a_secret_of_another_user_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = secret(tmp_path)
    monkeypatch.setattr(os, "geteuid", lambda: 4711)
    with pytest.raises(NotTold, match="belongs to another user"):
        read_secret(path)
