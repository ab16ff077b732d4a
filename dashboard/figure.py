"""The one figure that matters on the Bench, with its limits: a band for an estimate, one number if measured."""

from __future__ import annotations

import re
from dataclasses import dataclass

from dashboard import words
from dashboard.drawing import Rule, rule
from dashboard.pages import beyond, channels_of, passed
from monitor.link.view import BandView, ChannelView, LimitView, StepView, View

_FIRST = ("tool_temperature", "humidity_at_canvas", "dew_point_margin", "surface_temperature", "relative_humidity")
_BESIDE = 3


@dataclass(frozen=True)
class Figure:
    """What stands in the large type.

    Attributes:
        label: what it is, for instance `at the adhesive, estimated`.
        low, high: the band's ends as written; equal texts mean one number; empty in a gap.
        gap: what stands there in a gap.
        symbol: unit.
        note: what must be known of it, for instance that it was not yet tried on a mock-up.
        likely: the most likely value as written, or "".
        beside: further figures as written.
        judged: outside what was set, or "".
        colour: `out` or `near`, as the warning of the level that is passed; "" inside.
        rule: the drawing.
        rule_words: the drawing in words.
        limits: limits of this figure.
    """

    label: str
    low: str
    high: str
    symbol: str
    note: str
    likely: str
    beside: list[str]
    judged: str
    colour: str
    rule: Rule
    rule_words: str
    limits: list[LimitView]
    gap: str = "no reading"


def figure(view: View, step: StepView) -> Figure | None:
    """Choose and lay out the figure of a step; None when nothing is bound to it."""
    channels = channels_of(view)
    computed: list[ChannelView] = [c for c in step["computed"] if _limits_of(step, c)]
    bound = [*computed, *(channels[c] for b in step["bindings"] for c in b["channels"] if c in channels)]
    band = next((b for b in step["estimates"] if b["depth"] == "bond_line"), None)
    measured = min(bound, key=_rank, default=None)
    if band is not None:
        others = [_band_beside(step, b) for b in step["estimates"] if b is not band]
        return _estimated(step, band, others + [_beside(step, c) for c in sorted(bound, key=_rank)[:1]])
    if measured is None:
        return None
    beside = [_beside(step, c) for c in bound if c is not measured]
    return _measured(step, measured, beside[: _BESIDE + len(computed)])


def _rank(channel: ChannelView) -> int:
    quantity = channel["quantity"]
    return _FIRST.index(quantity) if quantity in _FIRST else len(_FIRST)


def _band_beside(step: StepView, band: BandView) -> str:
    limits = [x for x in step["limits"] if x["quantity"] == f"{band['depth']}_temperature"]
    told = f"{band['words']} {words.spanned(band['p05'], band['p95'], '°C')}"
    return ", ".join([told, *(words.limit_words(x) for x in limits)])


def _beside(step: StepView, channel: ChannelView) -> str:
    told = f"{channel['words'].removesuffix(' temperature')} {words.reading(channel)}"
    limits = _limits_of(step, channel)
    return f"{told} ({words.set_words(limits)})" if limits else told


def _limits_of(step: StepView, channel: ChannelView) -> list[LimitView]:
    own = [x for x in step["limits"] if channel["channel"] in x["channels"] and not x["off"]]
    keys = next((c["limits"] for c in step["computed"] if c is channel), None)
    return [x for x in own if x["quantity"] == channel["quantity"] and (keys is None or x["key"] in keys)]


def _estimated(step: StepView, band: BandView, beside: list[str]) -> Figure:
    limits = [x for x in step["limits"] if x["quantity"] == f"{band['depth']}_temperature"]
    low, high = words.whole(band["p05"]), words.whole(band["p95"])
    return Figure(
        label=f"{band['words']}, estimated",
        low=low,
        high=high,
        symbol="°C",
        note=step["estimate_note"],
        likely=words.whole(band["p50"]),
        beside=beside,
        judged="",  # an estimate that was not tried on a mock-up is not judged
        colour="",
        rule=rule(limits, band["p05"], band["p50"], band["p95"]),
        rule_words=_rule_words(f"estimated {words.spanned(band['p05'], band['p95'], '°C')}", limits),
        limits=limits,
    )


def _measured(step: StepView, channel: ChannelView, beside: list[str]) -> Figure:
    limits = _limits_of(step, channel)
    value = channel["value"]
    written = "" if value is None else words.shown(value, channel["quantity"]).removesuffix(f" {channel['symbol']}")
    return Figure(
        label=_measured_label(step, channel),
        low=written,
        high=written,
        symbol=channel["symbol"],
        note=_told(step, channel) or _lost(step),
        likely="",
        beside=beside,
        judged="outside what you set" if any(beyond(x, value) for x in limits) else "",
        colour=passed(limits, value),
        rule=rule(limits, value, value, value),
        rule_words=_rule_words(words.reading(channel), limits),
        limits=limits,
        gap=words.no_value(channel),
    )


def _told(step: StepView, channel: ChannelView) -> str:
    """Say from what a computed value is had; "" for a measured one."""
    told = next((c["told"] for c in step["computed"] if c is channel), "")
    bound = " It is a bound: the humidity is beyond the end of the probe's scale." * (channel["quality"] == "clipped")
    return f"{words.sentence_case(told)}.{bound}" if told else ""


def _measured_label(step: StepView, channel: ChannelView) -> str:
    """Name what is measured, or computed at which probe, and for a tool where its probe touches it."""
    if any(c is channel for c in step["computed"]):
        return f"{channel['words']}, computed at {channel['channel'].rpartition('.')[0]}"
    if channel["quantity"] != "tool_temperature":
        return f"{channel['words']}, measured"
    touches = next((b["touches"] for b in step["bindings"] if channel["channel"] in b["channels"]), "")
    return f"tool, measured {_touched(touches)}".rstrip()


def _touched(touches: str) -> str:
    """Say where a tool's probe touches in few words, for instance `at the shank`."""
    for part in ("shank", "housing", "sole", "handle"):
        if re.search(rf"\b{part}\b", touches.partition(",")[0]):
            return f"at the {part}"
    return f"({touches})" if touches and touches != "not said" else ""


def _lost(step: StepView) -> str:
    """Give the note on an estimate that is missing; what is said of a band goes with a band only."""
    return "" if "band" in step["estimate_note"] else step["estimate_note"]


def _rule_words(value: str, limits: list[LimitView]) -> str:
    return "; ".join([value, *(words.limit_words(x) for x in limits)])
