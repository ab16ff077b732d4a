"""The rule with the frame: a plain scale, the limits as a framed stretch, an estimate as a wash."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.report.figures_svg.scale import Scale, round_ends, ticks
from monitor.report.figures_svg.svg import ACT, INK, LINE, SOFT, WASH, Drawing

WIDTH = 128.0
HEAD_SIZE = 6.5


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
    low, high, step = round_ends(min(values), max(values), 4)
    return low - step, high + step


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
            on.text(along(tick), 14, f"{tick:g}", 6.5, SOFT, "middle")
    if rule.at_least is not None:
        words = f"{rule.at_least:g} at least"
        on.text(max(along(rule.at_least), HEAD_SIZE * 0.5 * len(words)), 6, words, HEAD_SIZE, INK, "end")
    if rule.at_most is not None:
        words = f"{rule.at_most:g} at most"
        on.text(min(along(rule.at_most), width - HEAD_SIZE * 0.5 * len(words)), 6, words, HEAD_SIZE, INK, "start")
    return on.write()


def _says(rule: Rule) -> str:
    parts = [f"scale {rule.low:g} to {rule.high:g}"]
    if rule.at_least is not None:
        parts.append(f"{rule.at_least:g} at least")
    if rule.at_most is not None:
        parts.append(f"{rule.at_most:g} at most")
    if rule.band is not None:
        parts.append(f"estimate {rule.band[0]:.0f} to {rule.band[2]:.0f}, most likely {rule.band[1]:.0f}")
    return ", ".join(parts)
