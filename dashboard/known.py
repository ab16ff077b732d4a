"""What pages take from the catalogue: layers to choose from, and the titles of sources."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from dashboard.words import grade


@dataclass(frozen=True)
class Layers:
    """Layers a step may be started with.

    Attributes:
        key: name in a request.
        title: what lies between tool and base.
        film: the film by its name, formula included.
        asks: what is asked at the adhesive and at the face, each figure with its grade.
    """

    key: str
    title: str
    film: str
    asks: str


@dataclass(frozen=True)
class Known:
    """Layers, and each source's title by its key."""

    layers: tuple[Layers, ...] = ()
    sources: Mapping[str, str] = field(default_factory=dict)


def from_catalogue() -> Known:
    """Read the built-in catalogue; ManyProblems when it has faults."""
    from monitor.catalogue.loader import load

    catalogue = load()
    layers = tuple(_layers(catalogue.sandwich(key)) for key in sorted(catalogue.sandwiches))
    return Known(layers, {key: source.title for key, source in catalogue.sources.items()})


def _layers(told: Mapping[str, Any]) -> Layers:
    return Layers(told["name"], told["words"], told["film_words"], asks(told))


def asks(told: Mapping[str, Any]) -> str:
    """Write what a sandwich asks, for instance `at the adhesive 70 °C at least (cited)`."""
    parts = [
        f"{where} {told[key]} °C {bound} ({grade(told['figures'][key]['grade'])})"
        for key, where, bound in (
            ("min_c", "at the adhesive", "at least"),
            ("max_c", "there", "at most"),
            ("ceiling_c", "at the face", "at most"),
        )
        if told[key] is not None
    ]
    if told["min_c"] is None:
        parts.insert(0, "at the adhesive: only a mock-up tells")
    return "; ".join(parts)
