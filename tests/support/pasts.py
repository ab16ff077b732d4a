"""Folds whose limits look back, and what the station would feed them over several boots."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from monitor.bench.inputs import Asked, Break, Input
from monitor.bench.outputs import Draft, Output, Refusal
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Limit
from monitor.bench.ticking import Fold
from tests.support.folds import OFFSET_MS, asked, limit
from tests.support.past_oracle import Boot
from tests.support.tents import begin, bound, levels, tent_sheet

ROOM_C, ROOM_RH = "room.air_temperature", "room.relative_humidity"
ROLES: dict[str, tuple[str, ...]] = {"room": ("air_temperature", "relative_humidity")}
INTERVAL_MS = 20_000
WORDS = {"alarm_raised": "raised", "alarm_eased": "eased", "alarm_returned": "returned"}


def looking_back(key: str, quantity: str, *at: float, **changes: Any) -> Limit:
    """Make a limit of the room on a quantity of a stretch of time: deadband 1, no delays, changed as told."""
    given: dict[str, Any] = {"deadband": 1.0, "on_delay_ms": 0, "off_delay_ms": 0, "levels": levels(*at), **changes}
    return limit(key, role="room", quantity=quantity, **given)


def watched(*limits: Limit) -> Fold:
    """Give a fold in which the room is watched from 0 ms on; stage `again` lists the same limits as `work`."""
    fold = Fold()
    fold.feed(Break(0, 1, 1, OFFSET_MS, None))
    fold.feed(settings(0))
    sheet = tent_sheet(*limits, roles=ROLES)
    sheet = replace(sheet, stages=(*sheet.stages, replace(sheet.stages[0], key="again", title="Again")))
    out = fold.feed(begin(0, sheet, bindings=[bound("room", ROOM_C, ROOM_RH)]))
    assert not [o for o in out if isinstance(o, Refusal)], out
    return fold


def settings(mono_ms: int, *channels: str, interval_ms: int = INTERVAL_MS) -> Asked:
    """Make the settings row of a studio with a probe in the room."""
    listed = [{"channel": c, "interval_ms": interval_ms, "bench": "north"} for c in (channels or (ROOM_C, ROOM_RH))]
    return Asked(mono_ms, "settings_in_force", None, "station", {"engine": 1, "channels": listed})


def mean_given(mono_ms: int, mean: float | None, hours: int, channel: str = ROOM_RH) -> Asked:
    """Make the row with which the station gives a channel's mean of the last 30 days."""
    body = {"channel": channel, "mean": None if mean is None else f"{mean:.2f}", "covered_h": hours}
    return Asked(mono_ms, "past_measured", None, "station", body)


def reading(mono_ms: int, value: float | None, *, clipped: bool = False, channel: str = ROOM_RH) -> Reading:
    """Make a reading; None is a gap."""
    quality = Quality.ABSENT if value is None else Quality.CLIPPED if clipped else Quality.GOOD
    return Reading(mono_ms, channel, value, quality)


def inputs_of(boots: list[Boot], channel: str, *, dated: bool = True) -> list[list[Input]]:
    """Give the inputs of each boot in order; with `dated` the clock tells how long a break was, else the gap does."""
    made: list[list[Input]] = []
    for number, boot in enumerate(boots):
        items: list[Input] = [reading(t, v, clipped=c, channel=channel) for t, (v, c) in boot.readings.items()]
        items += [mean_given(t, mean, hours, channel) for t, (mean, hours) in boot.means.items()]
        items += [
            asked(t, "stage_asked", step="s1", stage=("again", "work")[n % 2]) for n, t in _stages(boots, number)
        ]
        items += [_step(boots, number, t, dated=dated) for t in boot.clock_steps]
        items.sort(key=lambda item: item.mono_ms)
        if number:
            items.insert(0, _break(boots, number, made[-1], dated=dated))
        made.append(items)
    return made


def _step(boots: list[Boot], number: int, at_ms: int, *, dated: bool) -> Break:
    known = number == 0 or (dated and None not in [b.missed_ms for b in boots[: number + 1]])
    set_by = sum(ms for t, ms in boots[number].clock_steps.items() if t <= at_ms)
    return Break(at_ms, number + 1, 10 * number + 9, _offset_ms(boots, number) + set_by if known else None, 0)


def _stages(boots: list[Boot], number: int) -> list[tuple[int, int]]:
    before = sum(len(boot.stages) for boot in boots[:number])
    return [(before + n, t) for n, t in enumerate(sorted(boots[number].stages))]


def _break(boots: list[Boot], number: int, before: list[Input], *, dated: bool) -> Break:
    boot, last = boots[number], boots[number - 1]
    if boot.missed_ms is None:
        return Break(boot.from_ms, number + 1, 10 * number, None, None)
    if dated and None not in [b.missed_ms for b in boots[: number + 1]]:
        return Break(boot.from_ms, number + 1, 10 * number, _offset_ms(boots, number), boot.missed_ms)
    read_ms = max((item.mono_ms for item in before), default=last.from_ms)
    return Break(boot.from_ms, number + 1, 10 * number, None, boot.missed_ms + last.until_ms - read_ms)


def _offset_ms(boots: list[Boot], number: int) -> int:
    gone = sum(ms for b in boots[:number] for ms in b.clock_steps.values())
    gone += sum(b.until_ms - b.from_ms for b in boots[:number]) + sum(b.missed_ms or 0 for b in boots[: number + 1])
    return OFFSET_MS + gone - boots[number].from_ms


def played(fold: Fold, boots: list[Boot], made: list[list[Input]]) -> list[Output]:
    """Feed every boot's inputs and let its time pass."""
    out: list[Output] = []
    for boot, items in zip(boots, made, strict=True):
        for item in items:
            out += fold.feed(item)
        out += fold.pass_time(boot.until_ms)
    assert not [o for o in out if isinstance(o, Refusal)], [o for o in out if isinstance(o, Refusal)]
    return out


def happened(out: list[Output], key: str, boots_of: Any = None) -> list[tuple[int, str]]:
    """List (instant, raised | eased | returned) of a limit."""
    return [
        (o.mono_ms, WORDS[o.kind]) for o in out if isinstance(o, Draft) and o.kind in WORDS and o.body["limit"] == key
    ]
