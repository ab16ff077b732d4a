"""The station's view of a painting in a tent, built from a fold."""

from __future__ import annotations

from typing import Any

from monitor.bench.sheets import Limit
from monitor.bench.ticking import Fold
from monitor.config import ProbeConfig, Studio
from monitor.link.view import StepView, View
from monitor.station.view import Surroundings, build
from tests.support import tents
from tests.support.folds import OFFSET_MS, asked

STUDIO = Studio(
    "Studio of a test", "test", ("north",),
    (
        ProbeConfig("tent", "north", "sht45", "i2c-1", 1000, 0x44),
        ProbeConfig("reverse", "north", "max31856", "spi-0.0", 500, 0, "T", "surface_temperature"),
    ),
)  # fmt: skip


def work(*limits: Limit, bindings: list[dict[str, Any]] | None = None, **how: Any) -> Fold:
    """Give a fold in which a painting lies in a tent."""
    fold = tents.opened()
    fold.feed(asked(0, "painting_asked", number="26-01", name="Two boats drying", support="", beware=[]))
    fold.feed(tents.begin(0, tents.tent_sheet(*limits, painting=True, **how), painting="26-01", bindings=bindings))
    return fold


def view(fold: Fold) -> View:
    around = Surroundings(STUDIO, {}, {})

    def at(ms: int | None) -> int | None:
        return None if ms is None else ms + OFFSET_MS

    return build(around, fold.state, at, now_ms=fold.state.mono_ms, stored_at_ms=None, estimates={})


def step(fold: Fold) -> StepView:
    return view(fold)["steps"][0]
