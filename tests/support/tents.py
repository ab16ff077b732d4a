"""A tent with a painting in it: the air's probe, one or two on the painting's reverse, limits on what is computed."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from monitor.bench.inputs import Asked, Break
from monitor.bench.outputs import Output, Refusal
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Level, Limit, Sheet, Stage
from monitor.bench.ticking import Fold
from tests.support.folds import OFFSET_MS, asked, limit

AIR_C, AIR_RH, REVERSE_C = "tent.air_temperature", "tent.relative_humidity", "reverse.surface_temperature"
EDGE_C, ROOM_C = "edge.surface_temperature", "room.air_temperature"
INTERVALS_MS = {AIR_C: 1000, AIR_RH: 1000, REVERSE_C: 500, EDGE_C: 500, ROOM_C: 1000, "room.relative_humidity": 1000}
AT_CANVAS = "reverse.humidity_at_canvas"
ROLES = {"tent": ("air_temperature", "relative_humidity"), "reverse": ("surface_temperature",)}


def saturation_hpa(temp_c: float) -> float:
    """Give the pressure of saturated vapour by another formula than the program's.

    Magnus form for water, WMO-No. 8, annex 4.B: 6.112 exp(17.62 t / (243.12 + t)).
    """
    return 6.112 * math.exp(17.62 * temp_c / (243.12 + temp_c))


def humidity_at(air_c: float, rh_pct: float, surface_c: float) -> float:
    """Give the humidity the air's vapour has at a surface, %RH."""
    return rh_pct * saturation_hpa(air_c) / saturation_hpa(surface_c)


def dew_point(air_c: float, rh_pct: float) -> float:
    """Give the dew point, degC: the Magnus form turned round."""
    x = math.log(rh_pct / 100 * saturation_hpa(air_c) / 6.112)
    return 243.12 * x / (17.62 - x)


PLAIN: dict[str, Callable[..., float]] = {
    "humidity_at_canvas": humidity_at,
    "dew_point": dew_point,
    "dew_point_margin": lambda air_c, rh_pct, surface_c: surface_c - dew_point(air_c, rh_pct),
    "painting_minus_air": lambda air_c, surface_c: surface_c - air_c,
}
CHANNELS = {
    "humidity_at_canvas": (AIR_C, AIR_RH, REVERSE_C),
    "dew_point": (AIR_C, AIR_RH),
    "dew_point_margin": (AIR_C, AIR_RH, REVERSE_C),
    "painting_minus_air": (AIR_C, REVERSE_C),
}


def damp(key: str = "damp", *, quantity: str = "humidity_at_canvas", role: str = "tent", **changes: Any) -> Limit:
    """Make a limit on a computed quantity: of 78, deadband 3, delays of 5 s, changed as told."""
    given: dict[str, Any] = {"deadband": 3.0, "levels": levels(78.0), **changes}
    return limit(key, role=role, quantity=quantity, **given)


def levels(*at: float) -> tuple[Level, ...]:
    """Make levels, mildest first."""
    return tuple(Level(each, "high", "project", "proposal") for each in at)


def tent_sheet(*limits: Limit, roles: dict[str, tuple[str, ...]] | None = None, painting: bool = False) -> Sheet:
    """Make a sheet of a stage `work` that lists all limits, and `rest` that lists none."""
    stages = (Stage("work", "Work", tuple(x.key for x in limits)), Stage("rest", "Rest", ()))
    return Sheet("tent", "Tent", roles or ROLES, stages, {x.key: x for x in limits}, asks_painting=painting)


def bound(role: str, *channels: str) -> dict[str, Any]:
    """Bind the probe of the channels to a role."""
    return {"role": role, "probe": channels[0].rpartition(".")[0], "touches": "as told", "channels": list(channels)}


BOUND = [bound("tent", AIR_C, AIR_RH), bound("reverse", REVERSE_C)]


def begin(
    mono_ms: int, sheet: Sheet, step: str = "s1", bindings: list[dict[str, Any]] | None = None,
    painting: str | None = None,
) -> Asked:  # fmt: skip
    """Make the request that starts a step of a sheet."""
    return asked(
        mono_ms, "step_asked", step=step, sheet=sheet.as_json(), painting=painting, bench="north",
        bindings=BOUND if bindings is None else bindings, side=None, places=None, sandwich=None, answers=[],
    )  # fmt: skip


def opened(*, offset_ms: int | None = OFFSET_MS) -> Fold:
    """Give a fold with the studio's channels and no step."""
    fold = Fold()
    fold.feed(Break(0, 1, 1, offset_ms, None))
    listed = [{"channel": c, "interval_ms": ms, "bench": "north"} for c, ms in INTERVALS_MS.items()]
    fold.feed(Asked(0, "settings_in_force", None, "station", {"engine": 1, "channels": listed}))
    return fold


def tent(*limits: Limit, bindings: list[dict[str, Any]] | None = None, **how: Any) -> Fold:
    """Give a fold in which a step with these limits has just been started, at 0 ms."""
    fold = opened()
    out = fold.feed(begin(0, tent_sheet(*limits, **how), bindings=bindings))
    assert not [o for o in out if isinstance(o, Refusal)], out
    return fold


def read(mono_ms: int, channel: str, value: float | None, quality: Quality = Quality.GOOD) -> Reading:
    """Make a reading; None is a gap."""
    return Reading(mono_ms, channel, value, Quality.ABSENT if value is None else quality)


def climate(
    fold: Fold, first_ms: int, last_ms: int, air_c: float | None, rh: float | None, reverse_c: float | None
) -> list[Output]:
    """Feed readings of the tent's air once a second and of the reverse twice, first and last included."""
    out: list[Output] = []
    for now in range(first_ms, last_ms + 1, 500):
        out += fold.feed(read(now, REVERSE_C, reverse_c))
        if now % 1000 == 0:
            out += fold.feed(read(now, AIR_C, air_c)) + fold.feed(read(now, AIR_RH, rh))
    return out
