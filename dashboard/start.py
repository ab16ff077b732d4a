"""Start a step: which sheet, which painting, at which bench, which probe in which part and where it touches."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fastapi import APIRouter, Request, Response

from dashboard.hub import Hub
from dashboard.known import Known
from dashboard.pages import Pages
from dashboard.sheet_groups import grouped
from monitor.link.view import ProbeView, SheetView, View


@dataclass(frozen=True)
class Role:
    """A part a probe plays in a sheet: quantities it needs, probes that can give them, where they may touch.

    Attributes:
        several: more than one probe may serve it, each at a point of its own.
        likely: the probe it is most likely to be; "" where a person has to say which.
    """

    key: str
    quantities: list[str]
    probes: list[ProbeView]
    touches: tuple[str, ...]
    several: bool
    likely: str = ""


ON_A_TOOL = ("clamped to the outside of the shank, above the sole", "on the tool's housing")
ON_A_SURFACE = (
    "on the top of the table or mat, beside the painting", "on a trial piece of the same build, beside the painting",
    "at the bare margin or the reverse, where nothing presses",
)  # fmt: skip
IN_THE_AIR = ("hangs at the bench",)
OF_ROLE: dict[str, tuple[str, ...]] = {
    "tent": ("in the tent beside the canvas, touching nothing", "in the tent, at its coldest wall"),
    "edge": ("in a cut-out at the edge of the pack",),
    "reverse": ("at the reverse, where nothing presses", "at the bare margin, where nothing presses"),
}
"""Where the probe of a role touches, for roles whose place the sheet's name tells."""


def roles(view: View, sheet: SheetView) -> list[Role]:
    """Give the roles of a sheet, each with the probes that measure all it needs."""
    found = [_role(view, key, needed) for key, needed in sheet["roles"].items()]
    return [replace(role, likely=_likely(role, found)) for role in found]


def _role(view: View, key: str, needed: list[str]) -> Role:
    probes = [p for p in view["probes"] if _gives(p, needed)]
    surface = "surface_temperature" in needed
    touches = ON_A_TOOL if "tool_temperature" in needed else ON_A_SURFACE if surface else IN_THE_AIR
    return Role(key, needed, probes, OF_ROLE.get(key, touches), surface and len(probes) > 1)


def _likely(role: Role, all_roles: list[Role]) -> str:
    """Give the first probe that fits, unless another role could have it too: the room's air is not the tent's."""
    names = {probe["probe"] for probe in role.probes}
    contested = any(names & {p["probe"] for p in other.probes} for other in all_roles if other is not role)
    return role.probes[0]["probe"] if role.probes and not contested else ""


def is_hot(sheet: SheetView) -> bool:
    """Tell whether a sheet works with heat: it sets a tool down, or asks that no solvent is open."""
    return sheet["has_places"] or any(ask["key"] == "no-solvent-open" for ask in sheet["asks"])


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
            view=view, groups=grouped(sheets), sheet=asked, roles=roles(view, asked) if view and asked else [],
            hot=bool(asked and is_hot(asked)), painting=painting, bench=bench, layers=known.layers,
            entries=known.entries,
        )  # fmt: skip

    return router
