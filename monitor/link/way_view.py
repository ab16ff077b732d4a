"""The ways to be told as the view shows them."""

from __future__ import annotations

from typing import TypedDict


class TriedView(TypedDict):
    """The last trial of a way to be told: "told" or "not told" and why, by a person or the `daily` one."""

    at_ms: int | None
    outcome: str
    reason: str
    daily: bool


class WayView(TypedDict):
    """A way to be told: from which priority and when it is in use, whether it works, and its last trial.

    `given_up` counts messages that were not told since it last worked; `trying` tells of a trial under way.
    `hours` are those of `when`, `daily_at` that of the daily trial, both local and "" where there are none.
    """

    way: str
    name: str
    words: str
    least: str
    when: str
    hours: str
    daily_at: str
    state: str
    reason: str
    given_up: int
    trying: bool
    tried: TriedView | None
