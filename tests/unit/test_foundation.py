"""The rules that conftest sets are themselves tried."""

from __future__ import annotations

import asyncio
import socket
import threading
import tomllib
from pathlib import Path

from hypothesis import settings

from tests.support import leftovers

ROOT = Path(__file__).parents[2]


def test_a_thread_left_running_is_named_and_gone_when_it_ends() -> None:
    before = leftovers.Held.now()
    stop = threading.Event()
    thread = threading.Thread(target=stop.wait, name="forgotten", daemon=True)
    thread.start()
    leftovers.GRACE_S, grace = 0.01, leftovers.GRACE_S
    try:
        assert leftovers.left_since(before) == ["thread 'forgotten'"]
    finally:
        leftovers.GRACE_S = grace
        stop.set()
        thread.join()
    assert leftovers.left_since(before) == []


def test_an_open_socket_is_named_until_it_is_closed() -> None:
    before = leftovers.Held.now()
    ours, theirs = socket.socketpair()
    with ours, theirs:
        assert len(leftovers.left_since(before)) == 2
    assert leftovers.left_since(before) == []


def test_shared_things_are_spared_until_the_end() -> None:
    before = leftovers.Held.now()
    with leftovers.shared():
        ours, theirs = socket.socketpair()
    with ours, theirs:
        assert leftovers.left_since(before) == []
        assert len(leftovers.left_since(before, count_shared=True)) == 2


def test_a_task_that_the_loop_had_to_cancel_is_named(task_watch: leftovers.TaskWatch) -> None:
    async def waits() -> None:
        await asyncio.Event().wait()

    kept = []

    async def leaves_it() -> None:
        kept.append(asyncio.get_running_loop().create_task(waits(), name="lost"))
        await asyncio.sleep(0)

    asyncio.run(leaves_it())
    assert [name.split(" in ")[0] for name in task_watch.left] == ["task 'lost'"]
    task_watch.left.clear()
    assert kept[0].cancelled()


def test_property_tests_are_the_same_on_every_run() -> None:
    assert settings.default is not None
    assert settings.default.derandomize
    assert settings.default.deadline is None


def test_warnings_are_errors_with_few_named_exemptions() -> None:
    options = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["pytest"]["ini_options"]
    first, *exempt = options["filterwarnings"]
    assert first == "error"
    assert len(exempt) <= 10
    for line in exempt:
        action, message, _category, module = [*line.split(":"), "", "", ""][:4]
        assert action == "ignore", line
        assert message, f"{line}: says no message"
        assert module, f"{line}: says no module"
        assert not module.startswith(("monitor", "dashboard", "tests")), f"{line}: is our own"
