"""Settings: the ways to be told, whether they work, and a trial of each."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request, Response

from dashboard.hub import Hub, Shown
from dashboard.pages import Pages
from dashboard.words import counted, sentence_case
from monitor.link.view import View
from monitor.link.way_view import TriedView, WayView

LIVE = {"page": "settings"}
FAILS = "does not work"

#: what a trial that came through shows, and what only eye or ear can tell
CAME = {
    "lamp": "its line was switched; look whether it lit",
    "sounder": "its line was switched; listen whether it sounded",
    "message": "the service took it; look whether it came",
    "mqtt": "the broker took it",
}
LEAST = {
    "low": "every warning",
    "medium": "warnings of medium and high priority",
    "high": "warnings of high priority",
}


@dataclass(frozen=True)
class Line:
    """One way as the page tells it.

    Attributes:
        what: what it is.
        told_of: from which priority and when it is told.
        daily: what the daily trial does with it.
        trouble: why it does not work, "" while it does.
        tried, tried_ms: what came of the last trial, and when; "" for one that was never tried.
    """

    name: str
    what: str
    told_of: str
    daily: str
    trouble: str
    given_up: str
    trying: bool
    tried: str
    tried_ms: int | None


def lines(view: View) -> list[Line]:
    """Tell every way, in the order of the configuration."""
    return [_line(way) for way in view["ways"]]


def _line(way: WayView) -> Line:
    fails = way["state"] == FAILS
    gone = counted(way["given_up"], "message was", "messages were")
    tried = way["tried"]
    return Line(
        name=way["name"],
        what=sentence_case(way["words"]),
        told_of=_told_of(way),
        daily=f"tried quietly every day at {way['daily_at']}" if way["daily_at"] else "not in the daily trial",
        trouble=way["reason"] if fails else "",
        given_up=f"{gone} given up since." if fails and way["given_up"] else "",
        trying=way["trying"],
        tried=_tried(way, tried) if tried else "",
        tried_ms=tried["at_ms"] if tried else None,
    )


def _told_of(way: WayView) -> str:
    when = {"overnight": f" overnight, {way['hours']}", "by day": f" by day, {way['hours']}"}.get(way["when"], "")
    return f"{LEAST.get(way['least'], 'warnings')}{when}"


def _tried(way: WayView, tried: TriedView) -> str:
    if tried["outcome"] == "told":
        came = CAME.get(way["way"], "told")
    else:
        again = way["state"] == FAILS and way["reason"] == tried["reason"]  # it stands there already
        came = "not told" if again else f"not told: {tried['reason']}"
    return f"{came} (daily trial)" if tried["daily"] else came


def draw(pages: Pages, shown: Shown) -> dict[str, str]:
    """Render the live parts of the page."""
    told = lines(shown.view) if shown.view else []
    return {**pages.common(shown), "ways": pages.part("ways", shown=shown, lines=told)}


def routes(pages: Pages, hub: Hub) -> APIRouter:
    """Give the page's route."""
    router = APIRouter()

    @router.get("/settings")
    def settings(request: Request) -> Response:
        return pages.page(request, "settings", draw(pages, hub.shown()), LIVE)

    return router
