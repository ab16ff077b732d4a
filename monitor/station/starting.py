"""What a station records at its start: the clock segment, the settings in force, and the watch of the room."""

from __future__ import annotations

from typing import Any

from monitor import __version__
from monitor.bench.engine import ENGINE_VERSION
from monitor.bench.quantities import channel_name
from monitor.bench.sheets import Sheet
from monitor.config import Studio
from monitor.probes.probe import Probe
from monitor.station.completing import step_body
from monitor.station.desk import Desk

ROOM_SHEET = "room"
ROOM_TOUCHES = "hangs in the room's air"


def record_start(
    desk: Desk, studio: Studio, probes: list[Probe], sheets: dict[str, Sheet], migrated: tuple[str, str] | None
) -> None:
    """Record settings and start, and begin the room's watch if no step was ever started here.

    Args:
        migrated: the store's versions before and now, if its form was changed since the last start.
    """
    if migrated is not None:
        desk.note("store_migrated", {"from": migrated[0], "to": migrated[1]})
    channels = settings(studio, probes)
    desk.ask("settings_in_force", {"engine": ENGINE_VERSION, "channels": channels}, by=None, via="station")
    sources = [{"probe": probe.name, "source": probe.source} for probe in probes]
    desk.note("station_started", {"version": __version__, "engine": ENGINE_VERSION, "sources": sources})
    room = sheets.get(ROOM_SHEET)
    if room is not None and desk.state.steps_ever == 0:
        watch_room(desk, studio, probes, room)


def settings(studio: Studio, probes: list[Probe]) -> list[dict[str, Any]]:
    """List every channel with its interval and bench."""
    configured = {probe.name: probe for probe in studio.probes}
    return [
        {
            "channel": channel_name(probe.name, quantity),
            "interval_ms": configured[probe.name].interval_ms,
            "bench": configured[probe.name].bench,
        }
        for probe in probes
        for quantity in probe.quantities
    ]


def watch_room(desk: Desk, studio: Studio, probes: list[Probe], room: Sheet) -> None:
    """Begin the watch of the room at the first bench whose probe serves the sheet's role."""
    measures = {probe.name: set(probe.quantities) for probe in probes}
    role, needed = next(iter(room.roles.items()))
    for bench in studio.benches:
        for probe in studio.probes:
            if probe.bench == bench and measures[probe.name] >= set(needed):
                binding = {"role": role, "probe": probe.name, "touches": ROOM_TOUCHES}
                body = step_body(desk.state, room, bench, [binding])
                desk.ask("step_asked", body, by=None, via="station")
                return
