"""Work in hand: a line for every painting, those with a running step first."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from dashboard import words
from dashboard.handing_back import hand_back_sentence
from dashboard.hub import Hub, Shown
from dashboard.pages import Pages
from dashboard.past import Past
from dashboard.seam import goes_on, tally
from monitor.errors import StoreError
from monitor.link.view import PaintingView, StepView, View

LIVE = {"page": "work"}


@dataclass(frozen=True)
class Line:
    """One line of the ledger: who the painting is, what is now and then, and where to go.

    `at_rest` tells that no step runs on it, so that it may be handed back.
    """

    key: str
    number: str
    name: str
    about: str
    beware: list[str]
    now: str
    then: str
    verb: str
    address: str
    at_rest: bool = False


def lines(view: View, now_ms: int | None) -> list[Line]:
    """Give the ledger: steps that warn, steps with the tool down, other steps, then paintings at rest."""
    running = [s for s in view["steps"] if s["painting"] is not None]
    at_work = {s["painting"]["number"] for s in running if s["painting"]}
    at_rest = sorted((p for p in view["paintings"] if p["number"] not in at_work), key=lambda p: p["number"])
    by_due = sorted(running, key=lambda s: _due(view, s))
    return [_step_line(s, now_ms) for s in by_due] + [_rest_line(p) for p in at_rest]


def _due(view: View, step: StepView) -> tuple[bool, bool, int]:
    warns = any(w["step"] == step["id"] and w["may_be_seen"] for w in view["warnings"])
    places = step["places"]
    return not warns, not (places and places["in_contact"]), step["started_ms"] or 0


def _step_line(step: StepView, now_ms: int | None) -> Line:
    painting = step["painting"]
    assert painting is not None
    places = step["places"]
    side = f", side {places['side']}" if places and places["side"] else ""
    now = f"place {places['here']} of {places['count']}" if places and goes_on(step) else step["say"]["sentence"]
    started = f"for {words.lasting(now_ms - step['started_ms'])}" if now_ms and step["started_ms"] else ""
    then = [tally(places) if places else "", f"stage: {step['stage_words']}", started]
    return Line(
        key=step["id"],
        number=painting["number"],
        name=painting["name"],
        about=f"{step['title']}{side}; {step['bench']}",
        beware=painting["beware"],
        now=now,
        then=" · ".join(part for part in then if part),
        verb="To the bench",
        address=words.bench_url(step["bench"], step["id"]),
    )


def _rest_line(painting: PaintingView) -> Line:
    return Line(
        key=painting["number"],
        number=painting["number"],
        name=painting["name"],
        about=painting["support"],
        beware=painting["beware"],
        now="nothing running",
        then="",
        verb="Start a step",
        address="/start?" + urlencode({"painting": painting["number"]}),
        at_rest=True,
    )


def draw(pages: Pages, shown: Shown) -> dict[str, str]:
    """Render the live parts of the page."""
    view = shown.view
    told = lines(view, shown.now_ms) if view else []
    faults = [p for p in view["probes"] if p["fault"]] if view else []
    work = pages.part("work", shown=shown, lines=told, faults=faults, now_ms=shown.now_ms)
    return {**pages.common(shown), "work": work}


def routes(pages: Pages, hub: Hub, past: Past) -> APIRouter:
    """Give the page's routes."""
    router = APIRouter()

    @router.get("/")
    async def work_in_hand(request: Request) -> Response:
        return pages.page(request, "work_in_hand", draw(pages, hub.shown()), LIVE)

    @router.get("/hand-back/open")
    def still_open(number: str) -> JSONResponse:
        try:
            return JSONResponse({"sentence": hand_back_sentence(past.store(), number)})
        except StoreError:
            return JSONResponse({"sentence": "What was done on it cannot be read now."})

    return router
