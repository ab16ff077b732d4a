"""Quantities that no sensor gives but several together do, and what each is computed from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Needs:
    """The inputs of a derived quantity.

    Attributes:
        air: quantities of one probe in the air.
        surface: whether it also needs a surface's `surface_temperature`.
    """

    air: tuple[str, ...]
    surface: bool


DERIVED: dict[str, Needs] = {
    "humidity_at_canvas": Needs(("air_temperature", "relative_humidity"), surface=True),
    "dew_point": Needs(("air_temperature", "relative_humidity"), surface=False),
    "dew_point_margin": Needs(("air_temperature", "relative_humidity"), surface=True),
    "painting_minus_air": Needs(("air_temperature",), surface=True),
}
