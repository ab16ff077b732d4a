"""The running steps as the view shows them."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from monitor.bench.judged import judged
from monitor.bench.outputs import Estimate
from monitor.bench.quantities import QUANTITIES
from monitor.bench.sheets import Limit
from monitor.bench.state import Place, Places, State, Step
from monitor.link.view import (
    BandView,
    BindingView,
    LevelView,
    LimitView,
    PaintingView,
    PlacesView,
    PlaceView,
    StepView,
)
from monitor.station.computed_told import computed_views
from monitor.station.saying import estimate_note, next_stage, say

DEPTHS = {"bond_line": "at the adhesive", "face": "at the face"}


class StepViews:
    """Builds the views of all running steps.

    Args:
        state: the fold's state; only read.
        at: gives UTC ms of a monotonic instant, None while the time is not known.
        estimates: the last estimate of each (step, depth).
    """

    def __init__(
        self, state: State, at: Callable[[int | None], int | None], estimates: Mapping[tuple[str, str], Estimate]
    ) -> None:
        self._state = state
        self._at = at
        self._estimates = estimates

    def all(self) -> list[StepView]:
        """Give every running step, in the order of their start."""
        return [self._step(step) for step in self._state.steps.values()]

    def _step(self, step: Step) -> StepView:
        following = next_stage(step)
        return {
            "id": step.id,
            "sheet": step.sheet.key,
            "title": step.sheet.title,
            "painting": self._painting(step),
            "bench": step.bench,
            "stage": step.stage,
            "stage_words": step.stage_now().title,
            "next_stage": following[0] if following else None,
            "next_stage_words": following[1] if following else "",
            "revision": step.revision,
            "started_ms": self._at(step.started_ms),
            "started_by": step.by,
            "bindings": [_binding(b.role, b.probe, b.touches, b.channels) for b in step.bindings],
            "limits": [*(self._limit(step, limit) for limit in step.sheet.limits.values()), *film_limits(step)],
            "computed": computed_views(self._state, step, self._at),
            "places": self._places(step.places, step.stage_now().has_contacts) if step.places else None,
            "estimates": self._bands(step),
            "estimate_note": estimate_note(self._state, step),
            "answers": [list(pair) for pair in step.answers],
            "say": say(self._state, step),
        }

    def _painting(self, step: Step) -> PaintingView | None:
        painting = self._state.paintings.get(step.painting or "")
        if painting is None:
            return None
        return {
            "number": painting.number,
            "name": painting.name,
            "support": painting.support,
            "beware": list(painting.beware),
        }

    def _limit(self, step: Step, limit: Limit) -> LimitView:
        return {
            "key": limit.key,
            "quantity": limit.quantity,
            "words": limit.words,
            "side": limit.side,
            "symbol": QUANTITIES[limit.quantity].symbol,
            "deadband": limit.deadband,
            "levels": [
                {"at": v.at, "priority": v.priority, "source": v.source, "locator": v.locator, "grade": v.grade,
                 "note": v.note}
                for v in limit.levels
            ],
            "channels": [source.channel for source in judged(self._state, step, limit)],
            "off": limit.key not in step.stage_now().limits,
            "causes": list(limit.causes),
            "consequence": limit.consequence,
            "what_to_do": limit.what_to_do,
            "time_to_respond_s": limit.time_to_respond_s,
            "judged_at": {g.channel: [limit.judged_at(v, g.channel) for v in limit.levels] for g in limit.guards},
        }  # fmt: skip

    def _places(self, places: Places, workable: bool) -> PlacesView:
        contact = places.contact
        count = len(places.places)
        here = contact.place if contact else min(places.here, count)
        return {
            "side": places.side,
            "count": count,
            "here": here,
            "pass_no": contact.pass_no if contact else places.places[here - 1].passes + 1,
            "in_contact": contact is not None,
            "contact_since_ms": self._at(contact.started_ms) if contact else None,
            "workable": workable,
            "places": [_place(number, place) for number, place in enumerate(places.places, start=1)],
        }

    def _bands(self, step: Step) -> list[BandView]:
        """Give the bands of the contact in hand; none once its estimate was lost."""
        if step.id not in self._state.estimators:
            return []
        return [
            {"depth": e.depth, "words": DEPTHS[e.depth], "p05": e.p05, "p50": e.p50, "p95": e.p95,
             "at_ms": self._at(e.mono_ms)}
            for depth in DEPTHS
            if (e := self._estimates.get((step.id, depth))) is not None
        ]  # fmt: skip


FILM_LIMITS = (
    ("min_c", "bond_line_temperature", "low"),
    ("max_c", "bond_line_temperature", "high"),
    ("ceiling_c", "face_temperature", "high"),
)


def film_limits(step: Step) -> list[LimitView]:
    """Give what the film asks and what lies in front bears, from the layers the step was started with.

    They frame the estimate on screen and warn of nothing: an estimate not tried on a mock-up is not judged.
    """
    layers = step.sandwich or {}
    return [
        {
            "key": key,
            "quantity": quantity,
            "words": f"{QUANTITIES[quantity].words}, {'at least' if side == 'low' else 'at most'}",
            "side": side,
            "symbol": QUANTITIES[quantity].symbol,
            "deadband": 0.0,
            "levels": [_film_level(layers[key], layers["figures"][key])],
            "channels": [],
            "off": False,
            "causes": [],
            "consequence": "",
            "what_to_do": "",
            "time_to_respond_s": 0,
            "judged_at": {},
        }
        for key, quantity, side in FILM_LIMITS
        if layers.get(key) is not None
    ]


def _film_level(at: int, figure: dict[str, str]) -> LevelView:
    return {
        "at": float(at),
        "priority": "none",
        "source": figure["source"],
        "locator": figure["locator"],
        "grade": figure["grade"],
        "note": figure["note"],
    }


def _binding(role: str, probe: str, touches: str, channels: list[str]) -> BindingView:
    return {"role": role, "probe": probe, "touches": touches, "channels": list(channels)}


def _place(number: int, place: Place) -> PlaceView:
    return {
        "place": number,
        "verdict": place.verdict,
        "reason": place.reason,
        "passes": place.passes,
        "seconds": place.ms / 1000,
        "tool_low": place.low,
        "tool_high": place.high,
    }
