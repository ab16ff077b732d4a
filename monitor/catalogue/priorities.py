"""Whether a warning's priority fits what it is about: how grave the consequence is and how soon it must be met.

Ours, after the idea of control rooms that a priority follows from consequence and time to respond:

| consequence | met within 5 min | within half an hour | later |
|---|---|---|---|
| grave: a loss, or harm to a person | high | high | medium |
| serious: a treatment to undo | high | medium | low |
| slight: a delay | medium | low | low |

A sheet that does not say how grave it is may have any priority of the column.
"""

from __future__ import annotations

from monitor.bench.sheets import GRAVITIES, PRIORITIES, Limit
from monitor.catalogue.model import Catalogue
from monitor.figures import Figure, Grade

PROMPT = Figure(
    300, "s", "project", Grade.PROPOSAL, note="a warning to be met sooner than this is never of low priority"
)
SOON = Figure(1800, "s", "project", Grade.PROPOSAL, note="one that may wait longer is never of high priority")
FIGURES: dict[str, Figure] = {"warnings.respond.prompt": PROMPT, "warnings.respond.soon": SOON}

TABLE: dict[str, tuple[str, str, str]] = {
    "grave": ("high", "high", "medium"),
    "serious": ("high", "medium", "low"),
    "slight": ("medium", "low", "low"),
}


def fitting(gravity: str, time_to_respond_s: int) -> tuple[str, ...]:
    """Give the priorities that fit, the mildest first; one where the gravity is said."""
    column = 0 if time_to_respond_s < (PROMPT.value or 0) else 1 if time_to_respond_s <= (SOON.value or 0) else 2
    fit = {TABLE[known][column] for known in ([gravity] if gravity else GRAVITIES)}
    return tuple(priority for priority in PRIORITIES if priority in fit)


def unfitting(catalogue: Catalogue) -> list[str]:
    """Say of which limits the gravest level's priority does not fit, one sentence each."""
    return [
        said for sheet in catalogue.sheets.values() for limit in sheet.limits.values()
        if (said := _unfit(f"{sheet.key}.{limit.key}", limit))
    ]  # fmt: skip


def _unfit(where: str, limit: Limit) -> str:
    priority, fit = limit.levels[-1].priority, fitting(limit.consequence_is, limit.time_to_respond_s)
    if priority in fit:
        return ""
    gravity = f" and a {limit.consequence_is} consequence" if limit.consequence_is else ""
    return (
        f"limit {where}: priority {priority} does not fit {limit.time_to_respond_s} s to respond{gravity}; "
        f"{' or '.join(fit)} does."
    )
