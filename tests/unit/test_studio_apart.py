"""The simulated world is computed apart from everything that later estimates are computed with."""

from __future__ import annotations

import importlib
import pkgutil
import subprocess
import sys
from types import ModuleType
from typing import Any

import numpy as np
import pytest

import monitor.science
from monitor.probes.studio import World

LOADED = """
import sys
from monitor.probes.studio import World
world = World()
world.apply({"tool": "on", "set_c": 78})
world.advance_to(60_000)
world.apply({"set_down": "place", "place": 1})
world.advance_to(65_000)
print(*(name for name in sys.modules if name.startswith("monitor.")))
"""


def pressed() -> bytes:
    """Give the bytes of a world in which a tool was pressed on the work."""
    world = World()
    world.apply({"tool": "on", "set_c": 78})
    found = []
    for second in range(100):
        world.advance_to(second * 1000)
        if second == 60:
            world.apply({"set_down": "place", "place": 1})
        found += [world.junction_c("spatula"), *world.air("room")]
    return repr((found, world.truth())).encode()


def science() -> list[ModuleType]:
    """Import every module of the pure formulas."""
    found = pkgutil.walk_packages(monitor.science.__path__, "monitor.science.")
    return [importlib.import_module(m.name) for m in found]


def other(value: object) -> Any:
    """Give a different value of a constant's own kind, or None when it is no number."""
    if isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        return value * 3 + 1
    if isinstance(value, np.ndarray) and value.dtype.kind == "f":
        return value * 3.0 + 1.0
    if isinstance(value, tuple) and value and all(other(v) is not None for v in value):
        return tuple(other(v) for v in value)
    return None


def spoiled(*_: object, **__: object) -> Any:
    raise AssertionError("the world used a formula of monitor.science")


def spoil(module: ModuleType, patch: pytest.MonkeyPatch) -> int:
    """Change every numeric constant of a module, break every function and class it defines; count them."""
    changed = 0
    for name, value in list(vars(module).items()):
        if name.startswith("__"):
            continue
        own = callable(value) and str(getattr(value, "__module__", None)).startswith("monitor.science")
        instead = spoiled if own else other(value)
        if instead is not None:
            patch.setattr(module, name, instead)
            changed += 1
    return changed


def test_no_constant_or_formula_of_science_moves_a_byte(monkeypatch: pytest.MonkeyPatch) -> None:
    before = pressed()
    changed = {module.__name__: spoil(module, monkeypatch) for module in science()}
    assert changed["monitor.science.conduction"] >= 3
    with pytest.raises(AssertionError, match="used a formula"):
        vars(importlib.import_module("monitor.science.conduction"))["Modes"]()
    assert pressed() == before


def test_a_world_runs_without_loading_any_formula_of_science() -> None:
    done = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, check=True)
    loaded = done.stdout.split()
    assert "monitor.probes.studio.layers" in loaded
    assert [m for m in loaded if m.startswith("monitor.science") or m == "monitor.bench.adhesive"] == []


def test_changing_the_worlds_own_figures_does_move_it(monkeypatch: pytest.MonkeyPatch) -> None:
    before = pressed()
    monkeypatch.setattr("monitor.probes.studio.places.PRESSED_W_M2K", 411.0)
    assert pressed() != before
