"""What the dashboard keeps of the feed, and what it sends to open pages."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any

from dashboard.hub import KEPT_ROWS, Hub, Shown
from dashboard.pages import Pages, channels_of, room_line
from dashboard.stream import SPACING_ESTIMATES_S, SPACING_S, events, page_of, spacing_s
from tests.support import fake_scene
from tests.support.fake_scene import NOW_MS


class Seconds:
    """Monotonic seconds that stand still."""

    now = 100.0

    def __call__(self) -> float:
        return self.now


def hub_with_view(seconds: Seconds | None = None, **more: Any) -> Hub:
    hub = Hub(Path("nowhere"), seconds or Seconds())
    hub.take({"feed": "view", "view": fake_scene.view(**more)})
    return hub


def value(hub: Hub, channel: str) -> float | None:
    view = hub.shown().view
    assert view is not None
    return channels_of(view)[channel]["value"]


def test_readings_and_estimates_freshen_the_view() -> None:
    hub = hub_with_view()
    hub.take({"feed": "readings", "stored": False, "rows": [["spatula.tool_temperature", NOW_MS + 200, 80.1, "good"],
                                                            ["never.declared", NOW_MS, 1.0, "good"]]})  # fmt: skip
    hub.take(
        {"feed": "estimates", "rows": [["s2", "face", 50.0, 52.0, 54.0, NOW_MS + 200], ["s9", "face", 1, 2, 3, 4]]}
    )
    view = hub.shown().view
    assert value(hub, "spatula.tool_temperature") == 80.1
    assert view is not None
    assert [b["p50"] for b in view["steps"][1]["estimates"]] == [66.1, 52.0]


def test_an_older_view_does_not_take_a_newer_reading_back() -> None:
    hub = hub_with_view()
    hub.take({"feed": "readings", "stored": False, "rows": [["room.air_temperature", NOW_MS + 900, 22.0, "good"]]})
    hub.take({"feed": "view", "view": fake_scene.view()})
    assert value(hub, "room.air_temperature") == 22.0


def test_a_gap_is_never_filled_with_the_last_value() -> None:
    hub = hub_with_view()
    hub.take({"feed": "readings", "stored": False, "rows": [["room.air_temperature", NOW_MS + 900, None, "bus"]]})
    assert value(hub, "room.air_temperature") is None


def test_silence_is_told_after_two_seconds_and_ends_with_the_next_row() -> None:
    seconds = Seconds()
    hub = hub_with_view(seconds)
    seconds.now += 2.0
    hub.notice_silence()
    assert hub.shown().answers
    seconds.now += 0.25
    hub.notice_silence()
    assert not hub.shown().answers
    hub.take({"feed": "stored", "at_ms": NOW_MS, "now_ms": NOW_MS + 4000})
    assert hub.shown().answers
    assert hub.shown().now_ms == NOW_MS + 4000


def test_a_lost_station_is_told_at_once_and_a_heartbeat_alone_shows_nothing() -> None:
    hub = Hub(Path("nowhere"), Seconds())
    hub.take({"feed": "stored", "at_ms": None, "now_ms": None})
    assert not hub.shown().answers
    hub = hub_with_view()
    hub.take({"feed": "lost", "error": {}})
    assert not hub.shown().answers


def test_pages_are_drawn_once_a_version() -> None:
    hub, drawn = hub_with_view(), []

    def draw(shown: Shown) -> dict[str, str]:
        drawn.append(shown.version)
        return {"a": str(shown.version)}

    hub.drawn("page", draw)
    hub.drawn("page", draw)
    hub.take({"feed": "stored", "at_ms": 1, "now_ms": 2})
    hub.drawn("page", draw)
    assert len(drawn) == 2


def event_row(seq: int) -> dict[str, Any]:
    return {
        "feed": "event",
        "row": {"seq": seq, "kind": "note_written", "step": None, "body": {"text": f"note {seq}"}},
    }


async def gather(hub: Hub, count: int, between: Any) -> list[tuple[str, Any]]:
    """Take `count` events of a page; `between` is called once after the first."""
    stop = asyncio.Event()
    key, draw = page_of(Pages(), {"page": "work"})
    stream, told = events(hub, key, draw, stop), []
    async with asyncio.timeout(4):
        async for event in stream:
            told.append((str(event.event), json.loads(event.data)))
            if len(told) == 1:
                between()
            if len(told) >= count:
                stop.set()
    return told


def test_a_page_gets_everything_then_what_changed_with_rows_in_order() -> None:
    hub = hub_with_view()

    def between() -> None:
        for n in range(40):  # forty readings within one spacing: one picture
            hub.take(
                {
                    "feed": "readings",
                    "stored": False,
                    "rows": [["room.air_temperature", NOW_MS + n, 30.0 + n, "good"]],
                }
            )
        hub.take(event_row(1))  # type: ignore[arg-type]
        hub.take(event_row(2))  # type: ignore[arg-type]

    told = asyncio.run(gather(hub, 5, between))
    assert [name for name, _ in told] == ["parts", "beat", "row", "row", "parts"]
    assert told[0][1].keys() == {"notice", "room", "warnings", "work"}
    assert [body["sentence"] for name, body in told if name == "row"] == ["Note: note 1", "Note: note 2"]
    assert told[4][1].keys() == {"room"}
    assert "69" in told[4][1]["room"]
    assert hub.open_pages == 0


def test_a_page_that_lags_is_dropped() -> None:
    hub = hub_with_view()

    def flood() -> None:
        for seq in range(KEPT_ROWS + 1):
            hub.take(event_row(seq))  # type: ignore[arg-type]

    told = asyncio.run(gather(hub, 10_000, flood))
    assert len(told) <= KEPT_ROWS + 3
    assert hub.open_pages == 0


def test_pictures_come_at_most_four_times_a_second_and_five_with_estimates() -> None:
    hub = hub_with_view(steps=[fake_scene.room_step()])
    assert spacing_s(hub.shown()) == SPACING_S == 0.25
    assert spacing_s(hub_with_view().shown()) == SPACING_ESTIMATES_S == 0.2


def test_the_room_is_inside_outside_or_nothing_is_said() -> None:
    view = fake_scene.view(warnings=[])
    humidity = view["probes"][0]["channels"][1]
    told = {}
    for percent in (60.0, 60.2, 39.9, None):
        humidity["value"] = percent
        line = room_line(view)
        assert line is not None
        told[percent] = (line.judged, line.colour)
    assert told == {
        60.0: ("inside what you set", ""),
        60.2: ("outside what you set", "out"),
        39.9: ("outside what you set", "out"),
        None: ("", ""),
    }
    for channel in view["probes"][0]["channels"]:
        channel["value"] = None
    line = room_line(view)
    assert line is not None
    assert line.figures == "no reading"
    assert room_line(fake_scene.view(steps=[])) is None


def test_every_page_can_be_drawn_with_anything_or_nothing_known() -> None:
    pages = Pages()
    scenes = [
        None,
        fake_scene.view(),
        fake_scene.view(steps=[], warnings=[], paintings=[], probes=[], sheets=[], benches=[]),
        fake_scene.view(time_known=False, at_ms=None),
    ]
    queries = [{"page": "work"}, {"page": "benches"}, {"page": "bench", "bench": "north bench"}, {"page": "other"}]
    queries += [{"page": "bench", "bench": "north bench", "step": "s1"}, {"page": "bench", "bench": "long table"}]
    for view in scenes:
        for query in queries:
            _, draw = page_of(pages, query)
            for answers in (True, False):
                parts = draw(Shown(view, answers, None if view is None else view["at_ms"], 1))
                assert all("None" not in part for part in parts.values()), (query, parts)
                assert ("does not answer" in parts["notice"]) is not answers
