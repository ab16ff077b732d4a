"""The rule with the frame: a plain scale, the limits as a framed stretch, an estimate as a wash."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.report.figures_svg.scale import Scale, round_ends, ticks
from monitor.report.figures_svg.svg import ACT, INK, LINE, SOFT, WASH, Drawing

WIDTH = 128.0
HEAD_SIZE = 6.5
ROOM, FINE = 0.06, 8
"""Room beside the outermost value, as a share of all; and in how many parts ends may be round."""


@dataclass(frozen=True)
class Rule:
    """A rule in one unit.

    Attributes:
        low, high: ends of the scale.
        at_least, at_most: the framed stretch; either may be None.
        band: low, most likely and high of an estimate, or None.
    """

    low: float
    high: float
    at_least: float | None = None
    at_most: float | None = None
    band: tuple[float, float, float] | None = None


def rule_ends(values: list[float]) -> tuple[float, float]:
    """Give round ends that hold every value with room beside it."""
    room = ROOM * (max(values) - min(values))
    return round_ends(min(values) - room, max(values) + room, FINE)[:2]


def draw_rule_row(rule: Rule, width: float = WIDTH, height: float = 9) -> str:
    """Draw the rule as one line of a table: frame, wash and bar, without figures."""
    on = Drawing(width, height, _says(rule))
    along = Scale(rule.low, rule.high, 1, width - 1)
    middle = height / 2
    on.line(1, middle, width - 1, middle, LINE, 0.6)
    if rule.at_least is not None or rule.at_most is not None:
        x1 = along(rule.at_least if rule.at_least is not None else rule.low)
        x2 = along(rule.at_most if rule.at_most is not None else rule.high)
        on.rect(x1, 1, x2 - x1, height - 2, WASH)
        _frame(on, rule, x1, x2, height)
    if rule.band is not None:
        low, likely, high = (along(v) for v in rule.band)
        on.rect(low, middle - 2.2, max(high - low, 0.8), 4.4, "#8FA4B7")
        on.line(likely, 1.6, likely, height - 1.6, ACT, 1.6)
    return on.write()


def _frame(on: Drawing, rule: Rule, x1: float, x2: float, height: float) -> None:
    on.line(x1, 1, x2, 1, INK, 0.6)
    on.line(x1, height - 1, x2, height - 1, INK, 0.6)
    if rule.at_least is not None:
        on.line(x1, 1, x1, height - 1, INK, 0.8)
    if rule.at_most is not None:
        on.line(x2, 1, x2, height - 1, INK, 0.8)


def draw_rule_head(rule: Rule, width: float = WIDTH) -> str:
    """Draw the figures that stand over a column of rules: the scale, the limits in words."""
    on = Drawing(width, 18, _says(rule))
    along = Scale(rule.low, rule.high, 1, width - 1)
    low, high, step = round_ends(rule.low, rule.high, 4)
    for tick in ticks(low, high, step):
        if rule.low <= tick <= rule.high:
            on.line(along(tick), 15.5, along(tick), 18, SOFT, 0.5)
            # the outermost figures would else be cut by the picture's edge
            anchor = "start" if along(tick) < HEAD_SIZE else "end" if along(tick) > width - HEAD_SIZE else "middle"
            on.text(along(tick), 14, f"{tick:g}", HEAD_SIZE, SOFT, anchor)
    _head_words(on, rule, along)
    return on.write()


def _head_words(on: Drawing, rule: Rule, along: Scale) -> None:
    """Write both limits over their ends of the frame, moved so that neither is cut nor covers the other."""
    least = "" if rule.at_least is None else f"{rule.at_least:g} at least"
    most = "" if rule.at_most is None else f"{rule.at_most:g} at most"
    end, begin = 0.0, on.width
    if rule.at_least is not None:
        end = max(along(rule.at_least), _wide(least))
    if rule.at_most is not None:
        begin = min(max(along(rule.at_most), end + HEAD_SIZE), on.width - _wide(most))
        on.text(begin, 6, most, HEAD_SIZE, INK, "start")
    if rule.at_least is not None:
        on.text(min(end, begin - HEAD_SIZE), 6, least, HEAD_SIZE, INK, "end")


def _wide(words: str) -> float:
    return HEAD_SIZE * 0.5 * len(words)


def _says(rule: Rule) -> str:
    parts = [f"scale {rule.low:g} to {rule.high:g}"]
    if rule.at_least is not None:
        parts.append(f"{rule.at_least:g} at least")
    if rule.at_most is not None:
        parts.append(f"{rule.at_most:g} at most")
    if rule.band is not None:
        parts.append(f"estimate {rule.band[0]:.0f} to {rule.band[2]:.0f}, most likely {rule.band[1]:.0f}")
    return ", ".join(parts)
