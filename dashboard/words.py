"""How figures and times are written on pages: whole degrees and per cent, time in words."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from urllib.parse import quote

from monitor.bench.quantities import QUANTITIES
from monitor.link.view import ChannelView, LimitView, StepView

_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:°C|%|s|min|h|days)(?:\W|$))")
_SIDES = {"high": "at most", "low": "at least"}


def whole(value: float) -> str:
    """Write a value without decimals, halves away from zero, never `-0`."""
    text = str(Decimal(str(value)).quantize(Decimal(1), ROUND_HALF_UP))
    return "0" if text == "-0" else text


def with_unit(value: float, symbol: str) -> str:
    """Write a whole value and its unit, for instance `21 °C`."""
    return f"{whole(value)} {symbol}"


def shown(value: float, quantity: str) -> str:
    """Write a value with its unit as its quantity is written: whole, or with one decimal for small differences."""
    known = QUANTITIES[quantity]
    if not known.decimals:
        return with_unit(value, known.symbol)
    text = str(Decimal(str(value)).quantize(Decimal(1).scaleb(-known.decimals), ROUND_HALF_UP))
    return f"{text.lstrip('-') if not text.strip('-0.') else text} {known.symbol}"


def tight(text: str) -> str:
    """Keep each figure on one line with its unit, by spaces that don't break."""
    return _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", text)


def set_value(value: float) -> str:
    """Write a limit exactly as it was set, for instance `65` or `62.5`."""
    return f"{value:g}"


def reading(channel: ChannelView) -> str:
    """Write a channel's last reading, `no reading` in a gap, or `not known` for what cannot be computed."""
    if channel["value"] is None:
        return no_value(channel)
    mark = "beyond " if channel["quality"] == "clipped" else ""
    return mark + shown(channel["value"], channel["quantity"])


def no_value(channel: ChannelView) -> str:
    """Say that there is no value: a measured one was not read, a computed one is not known."""
    return "not known" if QUANTITIES[channel["quantity"]].derived else "no reading"


def limit_words(limit: LimitView) -> str:
    """Write a limit's levels, for instance `at most 75 %, then 80 %`."""
    steps = sorted((level["at"] for level in limit["levels"]), reverse=limit["side"] == "low")
    figures = ", then ".join(f"{set_value(at)} {limit['symbol']}" for at in dict.fromkeys(steps))
    return f"{_SIDES[limit['side']]} {figures}"


def set_words(limits: list[LimitView]) -> str:
    """Write the mildest levels of one quantity's limits, for instance `set 65 to 85` or `set 85 at most`."""
    low = max((v["at"] for x in limits if x["side"] == "low" for v in x["levels"]), default=None)
    high = min((v["at"] for x in limits if x["side"] == "high" for v in x["levels"]), default=None)
    if low is not None and high is not None:
        return f"set {set_value(low)} to {set_value(high)}"
    told = [f"{set_value(low)} at least"] if low is not None else []
    told += [f"{set_value(high)} at most"] if high is not None else []
    return f"set {', '.join(told)}"


def grade(key: str) -> str:
    """Write how a figure is known; our own are told apart from others' proposals."""
    return "our proposal" if key == "proposal" else key


def severity(priority: str) -> str:
    """Give the one colour of a priority wherever it shows: `out` for high, `near` for all others."""
    return "out" if priority == "high" else "near"


def spanned(low: float, high: float, symbol: str) -> str:
    """Write a stretch in whole units, for instance `76 to 81 °C`; one figure where both round to it."""
    first, last = whole(low), whole(high)
    return f"{first} {symbol}" if first == last else f"{first} to {last} {symbol}"


def counted(count: int, one: str, many: str = "") -> str:
    """Write a count with its noun, for instance `1 gap`, `3 gaps`."""
    return f"{count} {one}" if count == 1 else f"{count} {many or one + 's'}"


def numbers(values: list[int]) -> str:
    """Write numbers in order, neighbours drawn together, for instance `1 to 3, 5 and 7`."""
    runs: list[list[int]] = []
    for value in sorted(values):
        if runs and value == runs[-1][-1] + 1:
            runs[-1].append(value)
        else:
            runs.append([value])
    told = [part for run in runs for part in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run))]
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"


def sentence_case(text: str) -> str:
    """Begin with a capital and leave the rest as it is."""
    return text[:1].upper() + text[1:]


def only_proposals(step: StepView) -> bool:
    """Tell whether a step has limits and every one of them is a proposal."""
    grades = {level["grade"] for limit in step["limits"] for level in limit["levels"]}
    return grades == {"proposal"}


def lasting(milliseconds: int) -> str:
    """Write a length of time in its largest fitting unit: `12 s`, `6 min`, `1 h 32 min`, `4 days`."""
    seconds = max(0, milliseconds) // 1000
    if seconds < 90:
        return f"{seconds} s"
    if seconds < 90 * 60:
        return f"{seconds // 60} min"
    if seconds < 10 * 3600:
        return f"{seconds // 3600} h {seconds % 3600 // 60:02d} min"
    if seconds < 36 * 3600:
        return f"{seconds // 3600} h"
    return counted(seconds // 86400, "day")


def since(now_ms: int | None, then_ms: int | None) -> str:
    """Write how long ago something was, for instance `12 s ago`; `time not set` without a time."""
    if now_ms is None or then_ms is None:
        return "time not set"
    return f"{lasting(now_ms - then_ms)} ago"


def bench_url(bench: str, step: str | None = None) -> str:
    """Give the address of a bench's page, or of one step there."""
    return f"/bench/{quote(bench, safe='')}" + (f"?step={quote(step, safe='')}" if step else "")
