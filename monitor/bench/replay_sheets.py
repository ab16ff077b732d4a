"""Sheets that recorded readings are held against: nobody is there to answer, to mark or to see."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from itertools import groupby

from monitor.bench.derived import DERIVED, Source, sources, unserved
from monitor.bench.quantities import split_channel
from monitor.bench.sheets import Limit, Sheet, Stage
from monitor.bench.spells import Side
from monitor.bench.state import Binding

STAGE = Stage("replay", "replayed", ())


def of_one(limit: Limit) -> Sheet:
    """Make a sheet of one limit on a measured quantity; its role is the limit's."""
    stages = (replace(STAGE, limits=(limit.key,)),)
    roles: dict[str, tuple[str, ...]] = {limit.role: (limit.quantity,)}
    return Sheet("limit", "One limit", roles, stages, {limit.key: limit}, asks_painting=False)


def served(sheet: Sheet, channels: Collection[str]) -> Sheet:
    """Give what of a sheet these channels can serve: each probe in every role it can, all limits in one stage.

    A sheet without limits is left where they serve none. Levels are judged as set: nobody says which probes
    read, so no margin is kept for their error.
    """
    present = {split_channel(name)[1] for name in channels}
    roles = {
        role: tuple(q for q in quantities if q in present)
        for role, quantities in sheet.roles.items()
        if present.intersection(quantities)
    }
    kept = replace(sheet, roles=roles, asks_painting=False, asks=())
    limits = {
        key: replace(limit, margin="", guards=())
        for key, limit in sheet.limits.items()
        if _is_served(limit, kept, channels)
    }
    return replace(kept, stages=(replace(STAGE, limits=tuple(limits)),), limits=limits)


def _is_served(limit: Limit, sheet: Sheet, channels: Collection[str]) -> bool:
    if limit.quantity in DERIVED:
        return unserved(limit, sheet, bindings(sheet, channels)) is None
    return limit.role in sheet.roles and any(split_channel(name)[1] == limit.quantity for name in channels)


def bindings(sheet: Sheet, channels: Collection[str]) -> list[Binding]:
    """Let each probe serve every role it can; where several could give the air, one of the role's name is first."""
    found = [
        Binding(role, probe, "replayed", taken)
        for role, quantities in sheet.roles.items()
        for probe, names in groupby(sorted(channels), key=lambda name: split_channel(name)[0])
        if (taken := [name for name in names if split_channel(name)[1] in quantities])
    ]
    return sorted(found, key=lambda binding: binding.probe != binding.role)


def judged(limit: Limit, sheet: Sheet, channels: Collection[str]) -> list[Source]:
    """List what a limit judges of these channels: measured ones, or what is computed from them."""
    if limit.quantity in DERIVED:
        return sources(limit, sheet, bindings(sheet, channels))
    return [Source(name) for name in channels if split_channel(name)[1] == limit.quantity]


def side_of(limit: Limit) -> Side:
    """Give a limit's mildest level."""
    return Side(limit.levels[0].at, limit.side == "high")


def measured_on(sheet: Sheet, channel: str) -> list[Limit]:
    """List the limits of a sheet that judge a measured channel itself."""
    return [limit for limit in sheet.limits.values() if split_channel(channel)[1] == limit.quantity]
