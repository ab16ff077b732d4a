"""What a story may expect of the view at an instant."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from monitor.link.view import View


def unmet(expected: dict[str, Any], view: View) -> list[str]:
    """Name every expectation the view does not meet; an unknown one counts as not met."""
    wrong = []
    for key, value in expected.items():
        look = LOOKS.get(key)
        found = look(view) if look else f"no such expectation, only {', '.join(LOOKS)}"
        if found != value:
            wrong.append(f"{key} is {found!r}, expected {value!r}")
    return wrong


def _warnings(view: View) -> list[str]:
    return sorted({f"{w['limit']} {w['state']}" for w in view["warnings"]})


def _faults(view: View) -> list[str]:
    return sorted(f"{p['probe']} {p['fault']['quality']}" for p in view["probes"] if p["fault"])


def _on_place(view: View) -> int:
    places = [s["places"] for s in view["steps"] if s["places"]]
    return next((p["here"] for p in places if p["in_contact"]), 0)


def _worked(view: View) -> int:
    return sum(1 for s in view["steps"] if s["places"] for p in s["places"]["places"] if p["passes"])


LOOKS: dict[str, Callable[[View], Any]] = {
    "warnings": _warnings,
    "faults": _faults,
    "on_place": _on_place,
    "worked": _worked,
    "stages": lambda view: [f"{s['sheet']} {s['stage']}" for s in view["steps"]],
    "estimated": lambda view: any(s["estimates"] for s in view["steps"]),
}
