"""Start a step: which sheet, which painting, at which bench, which probe in which part and where it touches."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request, Response

from dashboard.hub import Hub
from dashboard.known import Known
from dashboard.pages import Pages
from monitor.link.view import ProbeView, SheetView, View


@dataclass(frozen=True)
class Role:
    """A part a probe plays in a sheet: quantities it needs, probes that can give them, where they may touch."""

    key: str
    quantities: list[str]
    probes: list[ProbeView]
    touches: tuple[str, ...]


ON_A_TOOL = ("clamped to the outside of the shank, above the sole", "on the tool's housing")
IN_THE_AIR = ("hangs at the bench",)


def roles(view: View, sheet: SheetView) -> list[Role]:
    """Give the roles of a sheet, each with the probes that measure all it needs."""
    needs = sheet["roles"].items()
    return [
        Role(
            key, needed, [p for p in view["probes"] if _gives(p, needed)],
            ON_A_TOOL if "tool_temperature" in needed else IN_THE_AIR,
        )
        for key, needed in needs
    ]  # fmt: skip


def _gives(probe: ProbeView, needed: list[str]) -> bool:
    return set(needed) <= {channel["quantity"] for channel in probe["channels"]}


def routes(pages: Pages, hub: Hub, known: Known) -> APIRouter:
    """Give the page's routes; `known` has the layers to choose from."""
    router = APIRouter()

    @router.get("/start")
    async def start(request: Request, sheet: str = "", painting: str = "", bench: str = "") -> Response:
        shown = hub.shown()
        view = shown.view
        sheets = view["sheets"] if view else []
        asked = next((s for s in sheets if s["sheet"] == sheet), None)
        return pages.page(
            request, "start", pages.common(shown), {"page": "plain"},
            view=view, sheet=asked, roles=roles(view, asked) if view and asked else [],
            painting=painting, bench=bench, layers=known.layers,
        )  # fmt: skip

    return router
