"""Warnings beside the readings they are about, so that the one can be held against the other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.report.excursions import Excursion
from monitor.report.limits import InForce
from monitor.report.outside import Hush, Outside
from monitor.report.record import Row
from monitor.report.words import When, figure, numbers, seconds

TOOL = "tool_temperature"
FEW = 2
IN_HAND = "this step, a place in hand"
ENDLESS = 1 << 62


@dataclass(frozen=True)
class InHand:
    """A pass while it lasted, taken back or not; `to_ms` None while it lasts."""

    place: int
    pass_no: int
    from_ms: int
    to_ms: int | None = None


@dataclass(frozen=True)
class Told:
    """What the sentences need to know besides the warnings.

    Attributes:
        whose: id of a step -> what to call it.
        in_hand: passes in order.
        when: zone of the printed times.
        hushes: when warnings could not be given.
        computed: name of a computed channel -> from what.
    """

    whose: Mapping[str, str]
    in_hand: list[InHand]
    when: When
    hushes: Sequence[Hush] = ()
    computed: Mapping[str, str] = field(default_factory=dict)


def passes_in_hand(rows: list[Row]) -> list[InHand]:
    """Read from a step's rows which place was in hand when; a mark taken back still was."""
    found: list[InHand] = []
    for row in rows:
        body, at_ms = row["body"], row["at_ms"]
        if row["kind"] == "contact_started" and at_ms is not None:
            found.append(InHand(body["place"], body["pass"], at_ms))
        elif row["kind"] in ("contact_ended", "contact_voided") and found and found[-1].to_ms is None:
            found[-1] = InHand(found[-1].place, found[-1].pass_no, found[-1].from_ms, at_ms)
    return found


def with_place_in_hand(limits: list[InForce], in_hand: list[InHand]) -> list[InForce]:
    """Give the limits of the tool as in force only while a place was in hand."""
    return [
        replace(one, whose=IN_HAND, spans=tuple(
            part for hand in in_hand for part in one.held(hand.from_ms, ENDLESS if hand.to_ms is None else hand.to_ms)
        ))
        for one in limits if one.limit.quantity == TOOL
    ]  # fmt: skip


def outside_groups(warnings: list[Outside], beyond: list[Excursion], told: Told) -> list[dict[str, Any]]:
    """Give a group for each channel and side, in it a row for each level, mildest first.

    A row says how long readings lay beyond the level and lists every warning given of it.
    """
    keys = dict.fromkeys([(one.channel, one.side) for one in warnings])
    keys.update(dict.fromkeys((one.channel, one.limit.limit.side) for one in beyond))
    return [_group(channel, side, warnings, beyond, told) for channel, side in sorted(keys)]


def _group(
    channel: str, side: str, warnings: list[Outside], beyond: list[Excursion], told: Told
) -> dict[str, Any]:  # fmt: skip
    here = [one for one in warnings if (one.channel, one.side) == (channel, side)]
    read = [one for one in beyond if (one.channel, one.limit.limit.side) == (channel, side)]
    levels = sorted({one.at for one in here} | {one.limit.at for one in read}, reverse=side == "low")
    rows = []
    for at in levels:
        given = [_warning(one, told) for one in here if one.at == at]
        some = [one for one in read if one.limit.at == at]
        rows.append({"level": _level(channel, side, at), "read": _read(some, channel, told.when), "warnings": given})
    limits = {one.limit for one in here} | {one.limit.limit.key for one in read}
    hushes = [_hush(one, told) for one in told.hushes if one.channel == channel and one.limit in limits]
    return {"title": _title(channel, side, read, told), "levels": rows, "hushes": hushes}


def _hush(one: Hush, told: Told) -> str:
    when = told.when
    until = f"to {when.time(one.to_ms)}" if one.to_ms is not None else "on, to the end"
    by = f", asked by {one.by}" if one.by else ""
    reason = f": {one.reason}" if one.reason else ""
    whose = told.whose.get(one.step, f"step {one.step}")
    return f"Warning of {whose} {one.words} {when.time(one.from_ms)} {until}{by}{reason}."


def _level(channel: str, side: str, at: float) -> str:
    return f"{'above' if side == 'high' else 'below'} {figure(at, QUANTITIES[split_channel(channel)[1]].symbol)}"


def _title(channel: str, side: str, read: list[Excursion], told: Told) -> str:
    probe, quantity = split_channel(channel)
    known, when = QUANTITIES[quantity], told.when
    made = f"; {told.computed[channel]}" if channel in told.computed else ""
    start = f"{known.words.capitalize()} ({probe}{made})"
    if not read:
        return start
    end = "highest" if side == "high" else "lowest"
    far = max(read, key=lambda one: one.furthest if side == "high" else -one.furthest)
    return f"{start}: {end} {figure(far.furthest, known.symbol)} at {when.time(far.furthest_ms)}"


def _read(some: list[Excursion], channel: str, when: When) -> str:
    """Say the time beyond a level, from when to when, and how much of it a place was in hand."""
    one = max((one for one in some if one.limit.whose != IN_HAND), key=lambda one: one.outside_ms, default=None)
    if one is None:
        return "not during this step"
    begin, end = one.spells[0][0], one.spells[-1][1]
    held_ms = sum(one.outside_ms for one in some if one.limit.whose == IN_HAND)
    hand = f"; with a place in hand {seconds(held_ms)}" if split_channel(channel)[1] == TOOL else ""
    if end - begin < 1000:
        return f"{seconds(one.outside_ms)}, at {when.time(begin)}{hand}"
    broken = ", with breaks" if end - begin - one.outside_ms >= 1000 else ""
    return f"{seconds(one.outside_ms)}, {when.time(begin)} to {when.time(end)}{broken}{hand}"


def _warning(one: Outside, told: Told) -> dict[str, str]:
    when = told.when
    until = f"to {when.time(one.to_ms)}" if one.to_ms is not None else "on, to the end"
    ended = f", then {one.ended}" if one.ended else ""
    by = f" by {one.seen_by}" if one.seen_by else ""
    whose = told.whose.get(one.step, f"step {one.step}")
    hand = f"; {_hand(one, told.in_hand)}" if one.quantity == TOOL else ""
    return {
        "when": f"{when.time(one.from_ms)} {until}{ended}",
        "whose": f"{whose}{hand}",
        "seen": f"{when.time(one.seen_ms)}{by}" if one.seen_ms is not None else "not marked as seen",
    }


def _hand(one: Outside, in_hand: list[InHand]) -> str:
    """Say which passes lasted while the warning stood."""
    begin = one.from_ms or 0
    then = [
        hand for hand in in_hand
        if (one.to_ms is None or hand.from_ms <= one.to_ms) and (hand.to_ms is None or hand.to_ms >= begin)
    ]  # fmt: skip
    if not then:
        return "no place in hand"
    if len(then) > FEW:
        return f"places {numbers(hand.place for hand in then)} in hand"
    return "; ".join(f"place {hand.place}, pass {hand.pass_no} in hand" for hand in then)


def delay_note(warnings: list[Outside], limits: list[InForce]) -> str:
    """Say how warnings lag behind readings, from the limits that warned; "" when none did."""
    warned = {(one.limit, one.quantity, one.side) for one in warnings}
    said: dict[str, None] = {}
    for one in limits:
        limit = one.limit
        if (limit.key, limit.quantity, limit.side) in warned:
            known = QUANTITIES[limit.quantity]
            said[
                f"{known.words} after {seconds(limit.on_delay_ms)} beyond, until back by "
                f"{figure(limit.deadband, known.symbol)} for {seconds(limit.off_delay_ms)}"
            ] = None
    return f"Warnings begin and end later than the readings they are about: {'; '.join(said)}." if said else ""
