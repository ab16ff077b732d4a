"""Where the figures come from: the catalogue on one page, with a place for each figure that limits point to."""

from __future__ import annotations

from functools import cache

from fastapi import APIRouter, Request, Response
from markupsafe import Markup

from dashboard.hub import Hub
from dashboard.known import Known
from dashboard.pages import Pages


def routes(pages: Pages, hub: Hub, known: Known) -> APIRouter:
    """Give the page's route; the figures are drawn once, for they don't change while it runs."""
    router = APIRouter()

    @cache
    def figures() -> Markup:
        return Markup(pages.part("figures", sections=known.sections))  # rendered escaped

    @router.get("/sources")
    def sources(request: Request) -> Response:
        return pages.page(
            request, "sources", pages.common(hub.shown()), {"page": "plain"},
            sections=known.sections, figures=figures(),
        )  # fmt: skip

    return router
