"""The live stream of one page: changed parts, day-book rows in order, a beat every second.

Parts are conflated: a page gets the newest state at most four times a second (five during a
contact with estimates), never a backlog. A client that does not read is dropped by its send
timeout, one whose rows pile up by the hub; the browser then connects again and gets everything.
"""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import AsyncIterator, Callable
from typing import Any

from fastapi import APIRouter, Request, Response
from sse_starlette import EventSourceResponse, ServerSentEvent

from dashboard import bench, settings, work_in_hand
from dashboard.hub import Hub, Shown, Subscriber
from dashboard.known import Known
from dashboard.pages import Pages
from dashboard.sentences import sentence

SPACING_S = 0.25
SPACING_ESTIMATES_S = 0.2
BEAT_S = 1.0
SEND_TIMEOUT_S = 5.0

NOTHING_KNOWN = Known()
Draw = Callable[[Shown], dict[str, str]]


def page_of(pages: Pages, query: dict[str, str], known: Known = NOTHING_KNOWN) -> tuple[str, Draw]:
    """Give the key and the drawing of the page a query names; the common parts for any other."""
    kind = query.get("page", "")
    if kind == "work":
        return kind, lambda shown: work_in_hand.draw(pages, shown)
    if kind == "settings":
        return kind, lambda shown: settings.draw(pages, shown)
    if kind == "benches":
        return kind, lambda shown: bench.draw_choice(pages, shown)
    if kind == "bench":
        name, step = query.get("bench", ""), query.get("step") or None
        return f"bench/{name}/{step}", lambda shown: bench.draw(pages, shown, name, step, known)
    return "plain", pages.common


def spacing_s(shown: Shown) -> float:
    """Give the least time between two pictures of a page."""
    estimates = shown.view is not None and any(step["estimates"] for step in shown.view["steps"])
    return SPACING_ESTIMATES_S if estimates else SPACING_S


async def events(
    hub: Hub, key: str, draw: Draw, stop: asyncio.Event, monotonic_s: Callable[[], float] = time.monotonic
) -> AsyncIterator[ServerSentEvent]:
    """Give the events of one page until it goes, lags too far behind, or `stop` is set."""
    sent: dict[str, str] = {}
    beat_s = float("-inf")
    with hub.subscribed() as subscriber:
        subscriber.changed.set()
        while not stop.is_set() and not subscriber.lagging:
            if subscriber.changed.is_set():
                subscriber.changed.clear()
                for event in _rows(subscriber, hub):
                    yield event
                parts = hub.drawn(key, draw)
                changed = {name: part for name, part in parts.items() if sent.get(name) != part}
                if changed:
                    sent.update(changed)
                    yield _event("parts", changed)
            if monotonic_s() - beat_s >= BEAT_S:
                beat_s = monotonic_s()
                yield _event("beat", {"now_ms": hub.shown().now_ms})
            await _pause(subscriber, stop, spacing_s(hub.shown()))


async def _pause(subscriber: Subscriber, stop: asyncio.Event, spacing: float) -> None:
    """Wait at least `spacing`, then until something changed, but never past the next beat."""
    if await _set_within(stop, spacing) or subscriber.changed.is_set():
        return
    await _set_within(subscriber.changed, BEAT_S - spacing)


async def _set_within(event: asyncio.Event, seconds: float) -> bool:
    try:
        await asyncio.wait_for(event.wait(), seconds)
    except TimeoutError:
        return False
    return True


def _rows(subscriber: Subscriber, hub: Hub) -> list[ServerSentEvent]:
    told = []
    while subscriber.rows:
        row = subscriber.rows.popleft()
        told.append(
            _event("row", {"seq": row["seq"], "kind": row["kind"], "sentence": sentence(row, hub.name(row["step"]))})
        )
    return told


def _event(name: str, data: dict[str, Any]) -> ServerSentEvent:
    return ServerSentEvent(data=json.dumps(data, ensure_ascii=False, separators=(",", ":")), event=name)


def routes(pages: Pages, hub: Hub, stop: asyncio.Event, known: Known) -> APIRouter:
    """Give the stream's route."""
    router = APIRouter()

    @router.get("/live")
    async def live(request: Request) -> Response:
        key, draw = page_of(pages, dict(request.query_params), known)
        return EventSourceResponse(events(hub, key, draw, stop), send_timeout=SEND_TIMEOUT_S, ping=15, sep="\n")

    return router
