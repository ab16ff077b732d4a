"""Warnings as pages show them: one for each channel and side, the most severe first, one Seen for all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dashboard.known import Known
from dashboard.limits_told import Origin, level_origin
from dashboard.words import sentence_case, set_value, severity, shown
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.link.view import ChannelView, StepView, View, WarningView

Key = tuple[str, str, str]
_URGENCY = {"high": 0, "medium": 1, "low": 2}
NOTHING_KNOWN = Known()
ROOM_SHEET = "room"


@dataclass(frozen=True)
class Seen:
    """Who has seen a warning, and when (UTC ms, None while the time is not known)."""

    by: str | None
    at_ms: int | None


@dataclass(frozen=True)
class Moments:
    """When a warning began, came and was seen, in order: pairs of word and UTC ms, and a last word.

    `where` names what it is for, in a list of several.
    """

    where: str
    told: list[tuple[str, int]]
    last: str


@dataclass(frozen=True)
class Warned:
    """One warning as shown.

    Attributes:
        key: stays the same while it stands.
        colour: `out` or `near`.
        quiet: nothing need be done with it: over, or held back.
        sentence: what is, for whom, and what was set.
        short: the same in one short line.
        what_to_do, consequence: sentences, or "".
        causes: what it may come from.
        origins: where each level that was passed comes from.
        moments: of the most severe one, then of the others.
        see: the fields of the request Seen, or None.
    """

    key: str
    colour: str
    quiet: bool
    sentence: str
    short: str
    what_to_do: str
    consequence: str
    causes: list[str]
    origins: list[Origin]
    moments: list[Moments]
    see: dict[str, str] | None


@dataclass(frozen=True)
class _Now:
    """What warnings are of: its name now, its value, and from what it is computed, "" where it is measured."""

    what: str
    value: float | None
    told: str


def warned(view: View, seen: Mapping[Key, Seen], known: Known = NOTHING_KNOWN) -> list[Warned]:
    """Give the warnings of a view; `seen` tells who has seen which, as far as it was heard."""
    groups: dict[tuple[str, _Now], list[WarningView]] = {}
    for warning in view["warnings"]:
        groups.setdefault((f"{warning['channel']}/{warning['side']}", _now(view, warning)), []).append(warning)
    ordered = [(now, sorted(group, key=lambda w: _within(w, now.value))) for (_, now), group in groups.items()]
    return [_one(view, now, group, seen, known) for now, group in sorted(ordered, key=lambda pair: _among(pair[1]))]


def _now(view: View, warning: WarningView) -> _Now:
    """Look up what a warning is of; one surface in two airs is two things."""
    computed = {(s["id"], key, c["channel"]): c for s in view["steps"] for c in s["computed"] for key in c["limits"]}
    read = {c["channel"]: c for probe in view["probes"] for c in probe["channels"]}
    made = computed.get(_key(warning))
    now = made or read.get(warning["channel"])
    alike = {name for _, _, name in computed} | set(read)
    quantity = split_channel(warning["channel"])[1]
    several = sum(split_channel(name)[1] == quantity for name in alike) > 1
    what = _what(warning["channel"], now, several=several)
    return _Now(what, now["value"] if now else None, made["told"] if made else "")


def _within(warning: WarningView, value: float | None) -> tuple[bool, int, bool]:
    return warning["over"], _URGENCY.get(warning["priority"], 3), not _beyond(warning, value)


def _beyond(warning: WarningView, value: float | None) -> bool:
    """Tell whether a warning's value is past its limit now; nothing read leaves it past."""
    if warning["over"] or value is None:
        return not warning["over"]
    at = warning.get("judged_at", warning["at"])
    return value > at if warning["side"] == "high" else value < at


def _among(group: list[WarningView]) -> tuple[bool, int]:
    return not any(w["may_be_seen"] for w in group), _URGENCY.get(group[0]["priority"], 3)


def _one(view: View, now: _Now, group: list[WarningView], seen: Mapping[Key, Seen], known: Known) -> Warned:
    first, what, value = group[0], now.what, now.value
    steps = {step["id"]: step for step in view["steps"]}
    bounds: dict[str, dict[str, None]] = {}
    for w in group:
        bounds.setdefault(_bound(w, value), {})[_where(w, steps.get(w["step"]))] = None
    clauses = [f"{bound} for {' and '.join(where)}" for bound, where in bounds.items()]
    inside = ", inside again" if all(w["over"] for w in group) else ""
    unseen = next((w for w in group if w["may_be_seen"]), None)
    return Warned(
        key="/".join(filter(None, (first["channel"], first["side"], now.told))),
        colour=severity(first["priority"]),
        quiet=first["over"] or unseen is None,
        sentence=f"{what}{inside}: {', '.join(clauses)}." + (f" {sentence_case(now.told)}." if now.told else ""),
        short=f"{what}, {_bound(first, value)}",
        what_to_do=first["what_to_do"],
        consequence=first["consequence"],
        causes=list(dict.fromkeys(cause for w in group for cause in w["causes"])),
        origins=_origins(group, steps, known),
        moments=[_moments(w, _whose(w, steps.get(w["step"])), seen.get(_key(w))) for w in group],
        see=None if unseen is None else dict(zip(("step", "limit", "channel"), _key(unseen), strict=True)),
    )


def _origins(group: list[WarningView], steps: Mapping[str, StepView], known: Known) -> list[Origin]:
    """Tell where the levels come from, each once; none for a step that runs no more."""
    found: list[Origin] = []
    for w in group:
        step = steps.get(w["step"])
        for limit in step["limits"] if step else []:
            at = [index for index, level in enumerate(limit["levels"]) if level["at"] == w["at"]]
            if step and limit["key"] == w["limit"] and at:
                place = (step["sheet"], limit["key"], at[0])
                found.append(level_origin(place, limit["levels"][at[0]], limit["symbol"], known))
    return list({(one.at, one.told): one for one in found}.values())


def _key(warning: WarningView) -> Key:
    return warning["step"], warning["limit"], warning["channel"]


def _what(name: str, now: ChannelView | None, *, several: bool) -> str:
    """Name quantity and value now, with the probe where several give that quantity."""
    probe, quantity = split_channel(name)
    known = QUANTITIES.get(quantity)
    words = sentence_case(known.words if known else quantity) + (f" at {probe}" if several else "")
    if now is None or now["value"] is None:
        return f"{words}, now {'not known' if known and known.derived else 'not read'}"
    return f"{words} {shown(now['value'], now['quantity'])}"


def _bound(warning: WarningView, value: float | None) -> str:
    """Say what is passed; back within the deadband it was passed, though the warning still stands."""
    verb = "over" if warning["side"] == "high" else "under"
    judged_at = warning.get("judged_at", warning["at"])
    drawn_in = "" if judged_at == warning["at"] else f" (judged at {judged_at:.1f} for the probe's error)"
    return f"{'' if _beyond(warning, value) else 'was '}{verb} {set_value(warning['at'])}{drawn_in}"


def _where(warning: WarningView, step: StepView | None) -> str:
    """Name what a warning is for, with the place the tool is on."""
    places = step["places"] if step else None
    tool = warning["channel"].endswith(".tool_temperature")
    place = f", place {places['here']}" if places and places["in_contact"] and tool else ""
    return _whose(warning, step) + place


def _whose(warning: WarningView, step: StepView | None) -> str:
    """Name the painting; for a watch without one its bench, or the room."""
    watch = warning["bench"] if step and step["sheet"] != ROOM_SHEET else "the room"
    return warning["painting"] or watch


def _moments(warning: WarningView, where: str, seen: Seen | None) -> Moments:
    told: list[tuple[str, int]] = []
    began, came, unseen = warning["began_ms"], warning["since_ms"], warning["may_be_seen"]
    if unseen and not warning["over"] and began is not None:
        told.append(("since", began))
    if came is not None and (not told or came // 60_000 != told[0][1] // 60_000):
        told.append(("warned", came))
    if warning["silent_until_ms"] is not None:
        return Moments(where, [*told, ("silent until", warning["silent_until_ms"])], "")
    if seen is None or warning["words"] != "seen":
        return Moments(where, told, warning["words"])
    if seen.at_ms is None:
        return Moments(where, told, f"seen {seen.by or ''}".strip())
    return Moments(where, [*told, ("seen", seen.at_ms)], seen.by or "")
