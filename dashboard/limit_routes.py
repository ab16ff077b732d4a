"""The question about a limit as Look back asks it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import JSONResponse

from dashboard.hub import Hub
from dashboard.limit_asked import Asked, Turns, answer
from dashboard.look_back import Wish, now_of, span
from dashboard.pages import viewer
from dashboard.past import Past, steps
from monitor.errors import BadInput, StoreError


def routes(hub: Hub, past: Past) -> APIRouter:
    """Give the route; it reads, and changes nothing."""
    router, turns = APIRouter(), Turns()

    @router.get("/look-back/limit")
    def look_back_limit(
        request: Request, asked: Annotated[Asked, Depends()], period: str,
        drawn: Annotated[list[str] | None, Query()] = None,
        from_ms: int | None = None, to_ms: int | None = None, step: str | None = None,
    ) -> JSONResponse:  # fmt: skip
        light = "dim" if viewer(request).dim else "day"
        try:
            store = past.store()
            wish = Wish(period, [], from_ms, to_ms, step)
            between = span(wish, now_of(hub.shown()), steps(store))
            return JSONResponse(turns.take(lambda: answer(store, asked, between, drawn or [], light)))
        except BadInput as error:
            return JSONResponse({"sentence": str(error)}, 422)
        except StoreError as error:
            return JSONResponse({"sentence": f"Nothing can be looked back at: {error}"}, 503)

    return router
