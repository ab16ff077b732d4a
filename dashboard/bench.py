"""The Bench: one step at two metres, or what is there while no step runs."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response

from dashboard.figure import figure
from dashboard.hub import Hub, Shown
from dashboard.known import Known
from dashboard.limits_told import tell
from dashboard.pages import Pages
from dashboard.seam import goes_on, reasons, seam, still_open, tally
from monitor.link.view import ProbeView, StepView, View

LIVE_CHOICE = {"page": "benches"}
AT_WORK = (
    "bench_head", "bench_figure", "bench_seam", "bench_more", "bench_sheet", "bench_controls", "bench_open",
)  # fmt: skip
AT_REST = ("bench_head", "bench_rest")
HOT = "Hot tool: in the hand or on its stand. This is no safety device."
SOLVENT = "Solvent vapour ignites. This is no safety device and measures no vapour."
COLD = "This is no safety device."


def live(bench: str, step: str | None) -> dict[str, str]:
    """Give the query by which a bench's page listens."""
    return {"page": "bench", "bench": bench, "step": step or ""}


def steps_at(view: View | None, bench: str) -> list[StepView]:
    """Give the steps of paintings that run at a bench, then the watches there."""
    here = [s for s in view["steps"] if s["bench"] == bench] if view else []
    return sorted(here, key=lambda s: s["painting"] is None)


def chosen(view: View | None, bench: str, step: str | None) -> StepView | None:
    """Give the step a bench's page shows: the one asked for, else the first of a painting."""
    here = steps_at(view, bench)
    asked = next((s for s in here if s["id"] == step), None)
    return asked or next((s for s in here if s["painting"] is not None), None)


def draw(pages: Pages, shown: Shown, bench: str, step_id: str | None, known: Known) -> dict[str, str]:
    """Render the live parts of a bench's page."""
    view = shown.view
    step = chosen(view, bench, step_id)
    others = [s for s in steps_at(view, bench) if s is not step]
    context: dict[str, Any] = {
        "shown": shown, "bench": bench, "step": step, "others": others, "now_ms": shown.now_ms,
        "probes": [p for p in view["probes"] if p["bench"] == bench] if view else [],
    }  # fmt: skip
    context["faults"] = faults_of(context["probes"], step, view)
    if step is not None and view is not None:
        places = step["places"]
        context |= {
            "figure": figure(view, step),
            "spots": seam(step),
            "goes_on": goes_on(step),
            "tally": tally(places) if places else "",
            "reasons": reasons(places) if places else [],
            "limits": tell(step["limits"], step["sheet"], known),
            "open": still_open(step),
            "foremost": foremost(step),
            "cautions": cautions(step),
        }
    names = AT_WORK if step else AT_REST
    empty = dict.fromkeys((*AT_WORK, *AT_REST), "")
    return {**pages.common(shown), **empty, **{name: pages.part(name, **context) for name in names}}


def cautions(step: StepView) -> list[str]:
    """Give the cautions of a step, without those that only repeat what to beware of."""
    painting = step["painting"]
    told = {f"{painting['name']}: {text}." for text in painting["beware"]} if painting else set()
    return [caution for caution in step["say"]["cautions"] if caution not in told]


def foremost(step: StepView) -> str:
    """Give the one caution that is always in sight above the large control."""
    hot = any(c.endswith(".tool_temperature") for b in step["bindings"] for c in b["channels"])
    first = step["say"]["cautions"][:1]
    if hot or step["places"] or any(text.startswith("Hot tools burn") for text in first):
        return HOT
    return SOLVENT if any(text.startswith("Solvent vapour ignites") for text in first) else COLD


def faults_of(here: list[ProbeView], step: StepView | None, view: View | None) -> list[ProbeView]:
    """Give the probes that have a fault and matter here: at this bench, or bound to the step."""
    bound = {b["probe"] for b in step["bindings"]} if step else {p["probe"] for p in here}
    return [p for p in view["probes"] if p["fault"] and p["probe"] in bound] if view else []


def draw_choice(pages: Pages, shown: Shown) -> dict[str, str]:
    """Render the live parts of the page that chooses a bench."""
    view = shown.view
    probes = view["probes"] if view else []
    rows = [
        (bench, steps_at(view, bench), [p for p in probes if p["bench"] == bench])
        for bench in (view["benches"] if view else [])
    ]
    faults = [p for p in probes if p["fault"]]
    choice = pages.part("benches", shown=shown, rows=rows, faults=faults, now_ms=shown.now_ms)
    return {**pages.common(shown), "benches": choice}


def routes(pages: Pages, hub: Hub, known: Known) -> APIRouter:
    """Give the page's routes."""
    router = APIRouter()

    @router.get("/bench")
    async def benches(request: Request) -> Response:
        return pages.page(request, "benches", draw_choice(pages, hub.shown()), LIVE_CHOICE)

    @router.get("/bench/{name}")
    async def bench(request: Request, name: str, step: str | None = None) -> Response:
        view = hub.shown().view
        if view is not None and name not in view["benches"]:
            told = {"sentence": f"There is no bench {name!r} in this studio.", "benches": view["benches"]}
            missing = pages.page(request, "no_bench", pages.common(hub.shown()), {"page": "plain"}, **told)
            missing.status_code = 404
            return missing
        return pages.page(request, "bench", draw(pages, hub.shown(), name, step, known), live(name, step), bench=name)

    return router
