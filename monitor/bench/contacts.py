"""Tracker: what the tool does on the numbered places of a side, from marks and readings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from monitor.bench.adhesive import BOND_LINE, verdict
from monitor.bench.events import decimal
from monitor.bench.outputs import Draft, Estimate, Output
from monitor.bench.readings import Reading
from monitor.bench.state import Contact, Place, Places, State, Step
from monitor.bench.watches import Watch, tool_channels

if TYPE_CHECKING:
    from monitor.bench.fan import Estimator

BRIDGE_MS = 1000
"""Readings no further apart than this are joined by a straight line; more is a gap (proposal)."""
LEFT_DOWN_MS = 30 * 60 * 1000
"""A contact whose lift is not marked for this long is ended (proposal)."""
RECENT_MS = 2000
"""A mark may be dated back by at most this; readings younger than it are not yet counted."""
ROOM_QUANTITY = "air_temperature"


class Contacts:
    """Follows contacts in hand with the readings of the tool's probe."""

    def reading(self, state: State, watch: Watch, item: Reading, out: list[Output]) -> None:
        """Let a tool reading count for the contact in hand and step its estimate."""
        for step in watch.tools:
            if step.places is None:
                continue
            _keep_recent(step.places, item)
            contact = step.places.contact
            if contact is None:
                continue
            contact.recent.append([item.mono_ms, item.value])
            _count_up_to(contact, item.mono_ms - RECENT_MS)
            if item.value is None:
                continue
            if item.mono_ms - contact.read_ms > BRIDGE_MS:
                state.estimators.pop(step.id, None)
            contact.read_ms = item.mono_ms
            estimator = state.estimators.get(step.id)
            bands = estimator.take(item.mono_ms, item.value) if estimator else None
            for depth, band in (bands or {}).items():
                row = _estimate(step, step.places.side, contact, item.mono_ms, depth, band)
                _remember(contact, row)
                out.append(row)

    def tick(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """End contacts whose lift nobody has marked for too long."""
        for step in state.steps.values():
            contact = step.places.contact if step.places else None
            if contact is not None and contact.started_ms + LEFT_DOWN_MS <= mono_ms:
                end(state, step, contact.started_ms + LEFT_DOWN_MS, "left down", None, "station", out)

    def due(self, state: State) -> int | None:
        """Give the instant at which the oldest contact in hand counts as left down."""
        down = [s.places.contact for s in state.steps.values() if s.places and s.places.contact]
        return min((contact.started_ms + LEFT_DOWN_MS for contact in down), default=None)

    def broken(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """End contacts in hand: what happened since the last reading is not known."""
        for step in state.steps.values():
            if step.places and step.places.contact:
                end(state, step, max(mono_ms, step.places.contact.started_ms), "break", None, "station", out)
            if step.places:
                step.places.recent = []


def _keep_recent(places: Places, item: Reading) -> None:
    places.recent.append([item.mono_ms, item.value])
    while places.recent[0][0] < item.mono_ms - RECENT_MS:
        places.recent.pop(0)


def _estimate(
    step: Step, side: str, contact: Contact, mono_ms: int, depth: str, band: tuple[float, float, float]
) -> Estimate:
    return Estimate(mono_ms, step.id, side, contact.place, contact.pass_no, depth, *band)


def _remember(contact: Contact, row: Estimate) -> None:
    kept = contact.bond_line if row.depth == BOND_LINE else contact.face
    if not kept or row.p50 >= float(kept[1]):
        kept[:] = [decimal(v, 1) for v in (row.p05, row.p50, row.p95)]


def _count_up_to(contact: Contact, mono_ms: int) -> None:
    while contact.recent and contact.recent[0][0] <= mono_ms:
        at, value = contact.recent.pop(0)
        if value is None:
            contact.gaps += 1
            continue
        _count_gap(contact, at)
        contact.counted_ms = at
        contact.readings += 1
        contact.total += value
        contact.low = value if contact.low is None else min(contact.low, value)
        contact.high = value if contact.high is None else max(contact.high, value)


def _count_gap(contact: Contact, mono_ms: int) -> None:
    """Count the time since the last value as a gap, if it is too long to be bridged."""
    span = mono_ms - contact.counted_ms
    if span > BRIDGE_MS:
        contact.gap_ms += span


def begin(state: State, step: Step, place: int, mono_ms: int, by: str | None, via: str) -> Draft:
    """Set the tool down on a place; start the estimate where the sandwich and the room are known."""
    places = step.places
    assert places is not None
    channels = tool_channels(step)
    probe = channels[0].rpartition(".")[0] if channels else ""
    contact = Contact(place, places.places[place - 1].passes + 1, probe, mono_ms, read_ms=mono_ms, counted_ms=mono_ms)
    contact.recent = [list(pair) for pair in places.recent if pair[0] >= mono_ms]
    places.contact = contact
    start_c = _room_c(state, step)
    if step.sandwich is not None and start_c is not None:
        _begin_estimate(state, step, contact, start_c)
    return _draft(step, contact, "contact_started", mono_ms, {}, by, via)


def _begin_estimate(state: State, step: Step, contact: Contact, start_c: float) -> None:
    """Begin the estimate, and step it through what was read between the set-down and its mark."""
    from monitor.bench.fan import Estimator, fan

    assert step.sandwich is not None
    estimator: Estimator = Estimator(fan(step.sandwich), start_c)
    state.estimators[step.id] = estimator
    for at, value in contact.recent:
        if value is None:
            continue
        if at - contact.read_ms > BRIDGE_MS:
            del state.estimators[step.id]
            return
        contact.read_ms = at
        estimator.take(at, value)


def elsewhere(state: State, step: Step) -> Step | None:
    """Give another step on which a tool of this one is down already."""
    mine = set(tool_channels(step))
    for other in state.steps.values():
        down = other.places is not None and other.places.contact is not None
        if other is not step and down and mine.intersection(tool_channels(other)):
            return other
    return None


def _room_c(state: State, step: Step) -> float | None:
    for binding in step.bindings:
        for name in binding.channels:
            channel = state.channels.get(name)
            if channel and name.endswith(f".{ROOM_QUANTITY}") and not channel.stale and channel.value is not None:
                return channel.value
    return None


def _draft(
    step: Step, contact: Contact, kind: str, mono_ms: int, body: dict[str, Any], by: str | None, via: str
) -> Draft:
    assert step.places is not None
    place = {"side": step.places.side, "place": contact.place, "pass": contact.pass_no, "probe": contact.probe}
    return Draft(kind, mono_ms, {**place, **body}, step=step.id, bench=step.bench, by=by, via=via)


def end(state: State, step: Step, mono_ms: int, ended_by: str, by: str | None, via: str, out: list[Output]) -> None:
    """Lift the tool: write what its probe read, judge the place and go to the next."""
    places = step.places
    assert places is not None
    assert places.contact is not None
    contact, places.contact = places.contact, None
    places.lifted_ms = mono_ms
    state.estimators.pop(step.id, None)
    _count_up_to(contact, mono_ms)
    _count_gap(contact, mono_ms)
    mean = contact.total / contact.readings if contact.readings else None
    body: dict[str, Any] = {
        "ended_by": ended_by, "milliseconds": mono_ms - contact.started_ms,
        "readings": contact.readings, "gaps": contact.gaps,
        "tool_low": _text(contact.low), "tool_mean": _text(mean), "tool_high": _text(contact.high),
    }  # fmt: skip
    out.append(_draft(step, contact, "contact_ended", mono_ms, body, by, via))
    word, reason = _judge(step, places, contact, ended_by, _outside(state, step, contact))
    judged = {
        "side": places.side, "place": contact.place, "pass": contact.pass_no, "verdict": word,
        "reason": reason, "bond_line": contact.bond_line, "face": contact.face,
    }  # fmt: skip
    out.append(Draft("place_judged", mono_ms, judged, step=step.id, bench=step.bench))
    _keep(places, contact, mono_ms, word, reason)


def _text(value: float | None) -> str | None:
    return None if value is None else decimal(value, 1)


def _judge(step: Step, places: Places, contact: Contact, ended_by: str, outside: str) -> tuple[str, str]:
    if ended_by == "break":
        return "not known", "broken off: the station was not running"
    if ended_by == "left down":
        return "not known", f"no lift was marked for {LEFT_DOWN_MS // 60_000} min"
    if not contact.readings:
        return "not known", "no reading from the tool at all"
    peak = None
    if contact.bond_line:
        low, middle, high = (float(v) for v in contact.bond_line)
        peak = _estimate(step, places.side, contact, 0, BOND_LINE, (low, middle, high))
    return verdict(peak, contact.gap_ms, outside)


def _outside(state: State, step: Step, contact: Contact) -> str:
    """Say which of the tool's own limits stood or were passed while it was down."""
    said = []
    for alarm in state.alarms.values():
        mine = alarm.step == step.id and alarm.channel.rpartition(".")[0] == contact.probe
        passed = alarm.level >= 0 or (alarm.since_ms is not None and alarm.since_ms >= contact.started_ms)
        if mine and passed and alarm.limit.key in step.stage_now().limits:
            verb = "above" if alarm.limit.side == "high" else "below"
            said.append(f"the tool was {verb} {alarm.limit.levels[0].at:g} °C")
    return ", ".join(said)


def _keep(places: Places, contact: Contact, mono_ms: int, word: str, reason: str) -> None:
    before = places.places[contact.place - 1]
    lows = [v for v in (before.low, contact.low) if v is not None]
    highs = [v for v in (before.high, contact.high) if v is not None]
    after = Place(
        word, reason, contact.pass_no, before.ms + mono_ms - contact.started_ms,
        min(lows, default=None), max(highs, default=None),
    )  # fmt: skip
    places.last = [contact.place, places.here, before, contact.probe]
    places.places[contact.place - 1] = after
    if contact.place == places.here:
        places.here = min(places.here + 1, len(places.places) + 1)


def take_back(state: State, step: Step, mono_ms: int, by: str | None, via: str) -> Draft | None:
    """Void the contact in hand, or else the last one; None when there is none to take back."""
    places = step.places
    if places is None:
        return None
    reason: dict[str, Any] = {"reason": "mark taken back"}
    if places.contact is not None:
        contact, places.contact = places.contact, None
        state.estimators.pop(step.id, None)
        return _draft(step, contact, "contact_voided", mono_ms, reason, by, via)
    if not places.last:
        return None
    place, here, before, probe = places.last
    voided = Contact(place, places.places[place - 1].passes, probe, mono_ms)
    places.places[place - 1], places.here, places.last = before, here, []
    return _draft(step, voided, "contact_voided", mono_ms, reason, by, via)
