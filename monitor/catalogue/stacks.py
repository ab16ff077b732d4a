"""A sandwich as the day-book carries it: whole numbers and texts, each figure with its source."""

from __future__ import annotations

from typing import TYPE_CHECKING

from monitor.figures import Figure, Grade

if TYPE_CHECKING:
    from monitor.catalogue.model import Catalogue, Entry, Sandwich

WEAKEST_FIRST: tuple[Grade, ...] = (
    Grade.PROPOSAL, Grade.RECALLED, Grade.COMMON_PRACTICE, Grade.COMPUTED, Grade.CITED, Grade.PUBLISHED,
    Grade.OWN_TEST,
)  # fmt: skip

# Figure of the catalogue -> (key in the record, units of the record per unit of the catalogue).
LAYER_KEYS: dict[str, tuple[str, int]] = {
    "thickness_um": ("thickness_um", 1),
    "conductivity_w_mk": ("conductivity_mw_mk", 1000),
    "density_kg_m3": ("density_kg_m3", 1),
    "heat_capacity_j_kgk": ("heat_capacity_j_kgk", 1),
}


def stack_json(catalogue: Catalogue, sandwich: Sandwich) -> dict[str, object]:
    """Give the layers tool side first, the two depths by index and the temperatures asked for.

    `min_c` is None where only an own test tells it. `source` and `grade` of a layer are those of
    its weakest figure; `figures` holds each one's own.
    """
    film = catalogue.adhesives[sandwich.film]
    conductance = sandwich.figures["conductance_w_m2k"]
    body: dict[str, object] = {
        "name": sandwich.key,
        "words": sandwich.name,
        "film": sandwich.film,
        "film_words": film.name,
        "layers": [_layer(catalogue.layers[key]) for key in sandwich.layers],
        "bond_line_after": sandwich.bond_line,
        "face_after": sandwich.face,
        "conductance_w_m2k": {
            "low": whole(conductance.low), "likely": whole(conductance.value), "high": whole(conductance.high),
            **_origin(conductance),
        },
        "underside_w_m2k": whole(sandwich.value("underside_w_m2k")),
        "min_c": whole(film.value("bond_line_min_c")),
        "max_c": whole(film.value("bond_line_max_c")),
        "ceiling_c": whole(sandwich.value("face_ceiling_c")),
        "hold_s": whole(film.value("hold_spatula_s")),
    }  # fmt: skip
    told = {
        "min_c": film.figures.get("bond_line_min_c"), "max_c": film.figures.get("bond_line_max_c"),
        "ceiling_c": sandwich.figures.get("face_ceiling_c"), "hold_s": film.figures.get("hold_spatula_s"),
        "underside_w_m2k": sandwich.figures.get("underside_w_m2k"),
    }  # fmt: skip
    body["figures"] = {key: _origin(figure) for key, figure in told.items() if figure}
    return body


def whole(value: float | None, scale: int = 1) -> int | None:
    """Give a figure as the whole number of the record; the loader lets no other through."""
    return None if value is None else round(value * scale)


def _layer(layer: Entry) -> dict[str, object]:
    weakest = min(layer.figures.values(), key=lambda f: WEAKEST_FIRST.index(f.grade))
    figures: dict[str, object] = {}
    body: dict[str, object] = {"key": layer.key, "words": layer.name}
    for key, (name, scale) in LAYER_KEYS.items():
        figure = layer.figures[key]
        body[name] = whole(figure.value, scale)
        figures[name] = {**_origin(figure), "low": whole(figure.low, scale), "high": whole(figure.high, scale)}
    return {**body, "source": weakest.source, "grade": str(weakest.grade), "figures": figures}


def _origin(figure: Figure) -> dict[str, object]:
    return {
        "source": figure.source, "grade": str(figure.grade), "locator": figure.locator, "note": figure.note,
    }  # fmt: skip
