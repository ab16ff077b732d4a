"""Quantities that no sensor gives but several together do: what each is computed from, and from which probes.

A limit on one of them names the role of the air. The surface is the one role of the sheet that gives
`surface_temperature`; each of its probes gives a channel of its own, `<surface's probe>.<quantity>`.
The air is that of the first bound probe of its role that gives all that is needed. A quantity of the
air alone belongs to the air's probe.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

from monitor.bench.quantities import channel_name, split_channel
from monitor.bench.sheets import Limit, Sheet
from monitor.science import humidity

SURFACE = "surface_temperature"


@dataclass(frozen=True)
class Needs:
    """The inputs of a derived quantity.

    Attributes:
        air: quantities of one probe in the air.
        surface: whether it also needs a surface's `surface_temperature`.
        each: instead of these, this quantity of every probe of the role, of two at least.
    """

    air: tuple[str, ...]
    surface: bool
    each: str = ""


DERIVED: dict[str, Needs] = {
    "humidity_at_canvas": Needs(("air_temperature", "relative_humidity"), surface=True),
    "dew_point": Needs(("air_temperature", "relative_humidity"), surface=False),
    "dew_point_margin": Needs(("air_temperature", "relative_humidity"), surface=True),
    "painting_minus_air": Needs(("air_temperature",), surface=True),
    "humidity_difference": Needs((), surface=False, each="relative_humidity"),
    "temperature_spread": Needs((), surface=False, each="surface_temperature"),
}


@lru_cache(maxsize=256)
def _dew_point_c(air_c: float, rh_pct: float) -> float:
    """Give the dew point; kept, because two quantities ask for the same one, and a surface's reading leaves it."""
    return humidity.dew_point_c(air_c, rh_pct)


FORMULAS: dict[str, Callable[..., float]] = {
    "humidity_at_canvas": humidity.rh_at_temperature_pct,
    "dew_point": _dew_point_c,
    "dew_point_margin": lambda air_c, rh_pct, surface_c: surface_c - _dew_point_c(air_c, rh_pct),
    "painting_minus_air": lambda air_c, surface_c: surface_c - air_c,
    "humidity_difference": lambda *each: max(each) - min(each),
    "temperature_spread": lambda *each: max(each) - min(each),
}
"""Each takes its air's quantities in the order of its needs, then the surface's temperature; or every probe's."""

RISES_WITH_HUMIDITY: dict[str, bool] = {"humidity_at_canvas": True, "dew_point": True, "dew_point_margin": False}
"""Which way they go with the air's humidity: a clipped humidity bounds them on that side.

The difference between probes is at least so much, at whichever end of its scale one is clipped.
"""


@dataclass(frozen=True, slots=True)
class Source:
    """A channel that a limit of a step judges.

    Attributes:
        channel: its name.
        inputs: the channels it is computed from, in the order its formula takes them; none for a measured one.
    """

    channel: str
    inputs: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """Say what it is computed from, naming the probes; "" for a measured channel."""
        return computed_from(self.channel, self.inputs)


def computed_from(channel: str, inputs: Sequence[str]) -> str:
    """Say what a derived channel is computed from, naming the probes; "" for a measured one."""
    if not inputs:
        return ""
    probes = list(dict.fromkeys(split_channel(name)[0] for name in inputs))
    words = _COMPUTED.get(split_channel(channel)[1], "")
    return words.format(air=probes[0], surface=probes[-1], probes=" and ".join(probes))


_COMPUTED = {
    "humidity_at_canvas": "computed: the air of {air} at {surface}'s temperature",
    "dew_point": "computed from the air of {air}",
    "dew_point_margin": "computed: {surface} less the dew point of {air}",
    "painting_minus_air": "computed: {surface} less the air of {air}",
    "humidity_difference": "computed: the dampest less the driest of {probes}",
    "temperature_spread": "computed: the warmest less the coldest of {probes}",
    "rate_1h": "computed from {probes}: the last 5 minutes less those an hour before",
    "change_24h": "computed from {probes}: highest less lowest, minute by minute",
    "temperature_change_24h": "computed from {probes}: highest less lowest, minute by minute",
    "departure_30d": "computed from {probes}: the last 5 minutes less the mean of the 30 days before now",
    "minutes_above": "counted from {probes}, minute by minute since the stage began",
}


class Bound(Protocol):
    """A probe's part in a step, as the state or a record has it."""

    @property
    def role(self) -> str:
        """Give the role it serves."""
        ...

    @property
    def channels(self) -> Sequence[str]:
        """Give its channels."""
        ...


def sources(limit: Limit, sheet: Sheet, bindings: Sequence[Bound]) -> list[Source]:
    """List the derived channels a limit judges, in the order of the bindings; none if it cannot be served."""
    needs = DERIVED.get(limit.quantity)
    if needs is not None and needs.each:
        return _differences(limit, needs.each, bindings)
    air = None if needs is None else _air(needs, limit.role, bindings)
    if needs is None or air is None:
        return []
    if not needs.surface:
        return [Source(channel_name(split_channel(air[0])[0], limit.quantity), air)]
    roles = surface_roles(sheet)
    surfaces = [c for b in bindings if [b.role] == roles for c in b.channels if split_channel(c)[1] == SURFACE]
    return [Source(channel_name(split_channel(c)[0], limit.quantity), (*air, c)) for c in dict.fromkeys(surfaces)]


def unserved(limit: Limit, sheet: Sheet, bindings: Sequence[Bound]) -> tuple[str, str] | None:
    """Say why a limit on a derived quantity cannot be judged, and what was expected; None if it can."""
    needs = DERIVED.get(limit.quantity)
    if needs is None:
        return f"it judges {limit.quantity}, which this version does not compute", ", ".join(DERIVED)
    if needs.each:
        return None  # with one probe there is nothing to compare, and nothing wrong
    roles = surface_roles(sheet)
    if needs.surface and len(roles) != 1:
        return f"roles with a surface: {', '.join(roles) or 'none'}", f"one role that gives {SURFACE}"
    if _air(needs, limit.role, bindings) is None:
        return f"no probe of role {limit.role} gives the air", f"one that gives {' and '.join(needs.air)}"
    if not sources(limit, sheet, bindings):
        return f"no probe of role {roles[0]} gives {SURFACE}", "one that does"
    return None


def inputs_of(quantity: str) -> tuple[str, ...]:
    """List the measured quantities that a limit's quantity is had from; itself where it is measured."""
    needs = DERIVED.get(quantity)
    if needs is None:
        return (quantity,)
    if needs.each:
        return (needs.each,)
    return (*needs.air, SURFACE) if needs.surface else needs.air


def surface_roles(sheet: Sheet) -> list[str]:
    """List the roles of a sheet whose probes lie on a surface."""
    return [role for role, quantities in sheet.roles.items() if SURFACE in quantities]


def _differences(limit: Limit, quantity: str, bindings: Sequence[Bound]) -> list[Source]:
    names = [c for b in bindings if b.role == limit.role for c in b.channels if split_channel(c)[1] == quantity]
    each = tuple(dict.fromkeys(names))
    return [Source(channel_name(limit.role, limit.quantity), each)] if len(each) > 1 else []


def _air(needs: Needs, role: str, bindings: Sequence[Bound]) -> tuple[str, ...] | None:
    for binding in bindings:
        given = {split_channel(c)[1]: c for c in binding.channels}
        if binding.role == role and set(needs.air) <= set(given):
            return tuple(given[quantity] for quantity in needs.air)
    return None
