"""Small sheets, requests and folds that tests of the bench share."""

from __future__ import annotations

from typing import Any

from monitor.bench.inputs import Asked, Break
from monitor.bench.outputs import Draft, Output, Refusal
from monitor.bench.sheets import Level, Limit, Sheet, Stage
from monitor.bench.ticking import Fold

TOOL = "spatula.tool_temperature"
ROOM_C = "room.air_temperature"
ROOM_RH = "room.relative_humidity"
OFFSET_MS = 1_777_885_200_000

SANDWICH: dict[str, Any] = {
    "name": "test strip",
    "film": "test film",
    "underside_w_m2k": 8,
    "bond_line_after": 1,
    "face_after": 2,
    "conductance_w_m2k": {"low": 60, "likely": 150, "high": 500, "source": "project", "grade": "proposal"},
    "layers": [
        {
            "key": k,
            "words": k,
            "thickness_um": t,
            "conductivity_mw_mk": c,
            "density_kg_m3": d,
            "heat_capacity_j_kgk": h,
        }
        for k, t, c, d, h in (
            ("strip", 400, 70, 600, 1350),
            ("film", 65, 300, 950, 2300),
            ("canvas", 500, 80, 700, 1350),
            ("base", 18000, 130, 700, 1700),
        )
    ],
}


def limit(key: str = "hot", *, role: str = "tool", quantity: str = "tool_temperature", **changes: Any) -> Limit:
    """Make a limit of 65 with deadband 1 and delays of 5 s, changed as told."""
    given: dict[str, Any] = {
        "side": "high", "deadband": 1.0, "on_delay_ms": 5000, "off_delay_ms": 5000,
        "levels": (Level(65, "high", "project", "proposal"),),
    }  # fmt: skip
    return Limit(key, role, quantity, **{**given, **changes})


def sheet(*limits: Limit, places: bool = False, painting: bool = False) -> Sheet:
    """Make a sheet of one stage `work` that lists all limits, and `rest` that lists none."""
    return Sheet(
        "test", "Test sheet", {"tool": ("tool_temperature",)},
        (Stage("work", "Work", tuple(x.key for x in limits), has_contacts=places), Stage("rest", "Rest", ())),
        {x.key: x for x in limits}, asks_painting=painting,
    )  # fmt: skip


def asked(mono_ms: int, kind: str, *, by: str | None = "MK", expects: int | None = None, **body: Any) -> Asked:
    """Make a request as the station would complete it."""
    age_ms = body.get("age_ms", 0)
    return Asked(mono_ms, kind, by, "browser:test", body, expects, age_ms)


def settings(mono_ms: int = 0, interval_ms: int = 1000, channels: tuple[str, ...] = (TOOL, ROOM_C)) -> Asked:
    """Make the settings row of a small studio."""
    listed = [{"channel": c, "interval_ms": interval_ms, "bench": "north"} for c in channels]
    return Asked(mono_ms, "settings_in_force", None, "station", {"engine": 1, "channels": listed})


def start(
    mono_ms: int, template: Sheet, *, step: str = "s1", places: int | None = None, sandwich: Any = None,
    answers: Any = None, painting: str | None = None, channels: tuple[str, ...] = (TOOL,),
) -> Asked:  # fmt: skip
    """Make the request that starts a step of a sheet on bench north."""
    bound = [{"role": "tool", "probe": "spatula", "touches": "tool's shank", "channels": list(channels)}]
    return asked(
        mono_ms, "step_asked", step=step, sheet=template.as_json(), painting=painting, bench="north",
        bindings=bound, side="B" if places else None, places=places, sandwich=sandwich, answers=answers or [],
    )  # fmt: skip


def running(template: Sheet, *, interval_ms: int = 1000, fold: Fold | None = None, **how: Any) -> Fold:
    """Give a fold in which a step of the sheet has just been started, at 0 ms."""
    fold = fold or Fold()
    fold.feed(Break(0, 1, 1, OFFSET_MS, None))
    fold.feed(settings(interval_ms=interval_ms))
    out = fold.feed(start(0, template, **how))
    assert not [o for o in out if isinstance(o, Refusal)], out
    return fold


def mark(mono_ms: int, what: str, *, place: int | None = None, age_ms: int = 0) -> Asked:
    """Make a mark on step s1."""
    return asked(mono_ms, "mark_asked", step="s1", mark=what, place=place, age_ms=age_ms)


def drafts(out: list[Output], *kinds: str) -> list[Draft]:
    """Pick the day-book drafts, of the given kinds if any are given."""
    return [o for o in out if isinstance(o, Draft) and (not kinds or o.kind in kinds)]
