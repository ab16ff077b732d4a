"""Rules that hold for every test, and the fixtures that all groups share."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator

import pytest
from hypothesis import HealthCheck, settings

from monitor.clock import SimulatedClock, from_iso
from tests.support import leftovers
from tests.support.stories import StoryRun, play

#: A test that takes longer carries the marker `long`; seconds.
LONG_S = 5.0

settings.register_profile(
    "blotter", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("blotter")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Fail a test that is long and does not say so."""
    report = yield
    if call.when == "call" and report.passed and call.duration > LONG_S and not item.get_closest_marker("long"):
        report.outcome = "failed"
        report.longrepr = (
            f"{item.nodeid} took {call.duration:.1f} s; expected at most {LONG_S:.0f} s. "
            "Make it shorter, or mark it with @pytest.mark.long."
        )
    return report


@pytest.fixture(scope="session", autouse=True)
def _nothing_left_at_the_end() -> Iterator[None]:
    before = leftovers.Held.now()
    yield
    left = leftovers.left_since(before, count_shared=True)
    assert not left, f"the run left behind: {', '.join(left)}. Close what the shared fixtures opened."


@pytest.fixture(autouse=True)
def task_watch(monkeypatch: pytest.MonkeyPatch) -> Iterator[leftovers.TaskWatch]:
    """Fail a test that leaves threads, sockets or tasks behind."""
    watch = leftovers.TaskWatch()
    watch.install(monkeypatch)
    before = leftovers.Held.now()
    yield watch
    left = watch.left + leftovers.left_since(before)
    assert not left, f"the test left behind: {', '.join(left)}. Close, join or await them before it ends."


@pytest.fixture
def clock() -> SimulatedClock:
    """Give a clock that stands at 9 o'clock on 4 May 2026 until the test moves it."""
    return SimulatedClock(start_wall_ms=from_iso("2026-05-04T09:00:00Z"))


@pytest.fixture(scope="session")
def story_run(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], StoryRun]:
    """Give the finished run of a story by name; it is played at its first use only."""
    runs: dict[str, StoryRun] = {}

    def run(name: str) -> StoryRun:
        if name not in runs:
            runs[name] = play(name, tmp_path_factory.mktemp("story") / name)
        return runs[name]

    return run
