"""The quantities a probe can measure and those derived from them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """One measured or derived quantity.

    Attributes:
        key: name in code and files.
        words: name on screens and in reports.
        unit: unit as written in files (degC, %RH, Pa, g).
        symbol: unit as written on screens.
        resolution: grid of stored values, in the unit; rounded at the sampler.
        derived: computed from others; may carry limits and is never in a readings file.
        decimals: as written on screens; differences of a few degrees need one.
    """

    key: str
    words: str
    unit: str
    symbol: str
    resolution: float
    derived: bool = False
    decimals: int = 0


QUANTITIES: dict[str, Quantity] = {
    q.key: q
    for q in (
        Quantity("air_temperature", "air temperature", "degC", "°C", 0.01),
        Quantity("relative_humidity", "relative humidity", "%RH", "%", 0.01),
        Quantity("tool_temperature", "tool temperature", "degC", "°C", 0.0078125),
        Quantity("bond_line_temperature", "temperature at the adhesive", "degC", "°C", 0.0078125),
        Quantity("face_temperature", "temperature of the face", "degC", "°C", 0.0078125),
        Quantity("surface_temperature", "surface temperature", "degC", "°C", 0.0078125),
        Quantity("pressure", "pressure", "Pa", "Pa", 1.0),
        Quantity("mass", "mass", "g", "g", 0.01),
        Quantity("humidity_at_canvas", "humidity at the canvas", "%RH", "%", 0.1, derived=True),
        Quantity("dew_point", "dew point", "degC", "°C", 0.1, derived=True),
        Quantity("dew_point_margin", "margin to the dew point", "degC", "°C", 0.1, derived=True, decimals=1),
        Quantity("painting_minus_air", "painting minus air", "degC", "°C", 0.1, derived=True, decimals=1),
        Quantity("rate_1h", "change in an hour", "%RH", "%", 0.1, derived=True, decimals=1),
        Quantity("change_24h", "change in 24 hours", "%RH", "%", 0.1, derived=True, decimals=1),
        Quantity(
            "temperature_change_24h", "change of temperature in 24 hours", "degC", "°C", 0.1, derived=True, decimals=1
        ),
        Quantity("departure_30d", "departure from the last 30 days", "%RH", "%", 0.1, derived=True, decimals=1),
        Quantity(
            "humidity_difference", "humidity, difference between probes", "%RH", "%", 0.1, derived=True, decimals=1
        ),
        Quantity(
            "temperature_spread",
            "temperature, difference between probes",
            "degC",
            "°C",
            0.1,
            derived=True,
            decimals=1,
        ),
        Quantity("minutes_above", "minutes above", "min", "min", 1.0, derived=True),
        Quantity("forecast_crossing", "time until a limit is passed", "min", "min", 1.0, derived=True),
        Quantity("countdown", "time past due", "min", "min", 1.0, derived=True),
        Quantity("hold_condition", "condition of the hold", "1", "", 1.0, derived=True),
    )
}

MEASURED: tuple[str, ...] = tuple(k for k, q in QUANTITIES.items() if not q.derived)


def channel_name(probe: str, quantity: str) -> str:
    """Name the channel of a probe's quantity, for instance `spatula.tool_temperature`."""
    return f"{probe}.{quantity}"


def split_channel(channel: str) -> tuple[str, str]:
    """Give probe and quantity of a channel's name."""
    probe, _, quantity = channel.rpartition(".")
    return probe, quantity
