"""Look back: any probe over any period, with limits and steps drawn in, and the day-book beside it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import JSONResponse

from dashboard import chart
from dashboard.hub import Hub, Shown
from dashboard.known import Known
from dashboard.limit_starts import Start, of_steps
from dashboard.limits_told import level_origin
from dashboard.pages import Pages, viewer
from dashboard.past import Past, PastStep, Readable, names, passes, rows_between, steps
from dashboard.sentences import LISTED, sentence
from dashboard.words import sentence_case
from monitor.bench.quantities import QUANTITIES, split_channel
from monitor.errors import BadInput, StoreError

HOUR_MS = 3_600_000
PERIODS = {
    "hour": ("last hour", HOUR_MS), "eight": ("last 8 hours", 8 * HOUR_MS), "day": ("last day", 24 * HOUR_MS),
    "week": ("last 7 days", 7 * 24 * HOUR_MS), "month": ("last 30 days", 30 * 24 * HOUR_MS),
}  # fmt: skip
POINTS = 1600  # a channel; two of them make one bucket
ROWS = 300
CHANNELS_AT_ONCE = 8
NOTHING_KNOWN = Known()
UNITS = {key: known.symbol for key, known in QUANTITIES.items()}


@dataclass(frozen=True)
class Wish:
    """What Look back is asked for; `from_ms` and `to_ms` count for a custom period, `step` for a step."""

    period: str
    channels: list[str]
    from_ms: int | None = None
    to_ms: int | None = None
    step: str | None = None


def now_of(shown: Shown, wall_s: Callable[[], float] = time.time) -> int | None:
    """Give the studio's time; the machine's own while no station has answered yet; None if it is not set."""
    return int(wall_s() * 1000) if shown.view is None else shown.now_ms


def span(wish: Wish, now_ms: int | None, past_steps: list[PastStep]) -> tuple[int, int]:
    """Give the period a wish means, UTC ms; BadInput when it means none."""
    if wish.period == "custom":
        if wish.from_ms is None or wish.to_ms is None or wish.to_ms <= wish.from_ms:
            raise BadInput("period", "no beginning before its end", "two times", "Enter from and to.")
        return wish.from_ms, wish.to_ms
    if wish.period == "step":
        step = next((s for s in past_steps if s.step == wish.step), None)
        if step is None:
            raise BadInput("step", f"{wish.step!r} is not in the day-book", "one of the list", "Choose another.")
        return step.from_ms, max(step.to_ms or now_ms or step.from_ms, step.from_ms + 1000)
    if wish.period not in PERIODS:
        raise BadInput("period", repr(wish.period), ", ".join([*PERIODS, "custom", "step"]), "Choose one of them.")
    if now_ms is None:
        raise BadInput("period", "the time is not set", "a board that knows the time", "Choose from and to.")
    return now_ms - PERIODS[wish.period][1], now_ms


def seen(store: Readable, wish: Wish, now_ms: int | None, light: str, known: Known = NOTHING_KNOWN) -> dict[str, Any]:
    """Give chart and day-book of a wish; BadInput when it cannot be met."""
    measured = {str(c.channel) for c in store.channels()}
    missing = [c for c in wish.channels if c not in measured]
    if missing:
        raise BadInput("channel", f"{missing[0]!r} was never measured", "one of the list", "Choose another.")
    if len(wish.channels) > CHANNELS_AT_ONCE:
        raise BadInput("chart", f"{len(wish.channels)} channels", f"{CHANNELS_AT_ONCE} at most", "Leave some out.")
    every = steps(store)
    from_ms, to_ms = span(wish, now_ms, every)
    only = wish.step if wish.period == "step" else None
    here = [s for s in every if s.from_ms <= to_ms and (s.to_ms is None or s.to_ms >= from_ms)]
    here = [s for s in here if only in (None, s.step)]
    during = [p for p in passes(store) if p.from_ms <= to_ms and (p.to_ms or to_ms) >= from_ms]
    during = [p for p in during if only in (None, p.step)]
    drawn = [chart.Drawn(c, list(store.envelope(c, from_ms, to_ms, POINTS))) for c in wish.channels]
    rows = rows_between(store, from_ms, to_ms, list(LISTED), ROWS, only)
    called = names(store)
    return {
        "spec": chart.spec(drawn, here, during, (from_ms, to_ms), light),
        "empty": not any(b.n for d in drawn for b in d.buckets),
        "rows": [
            {"at_ms": at_ms, "by": row["by"] or "", "text": sentence(row, called.get(row["step"] or "", ""))}
            for at_ms, row in rows
        ],
        "more": len(rows) >= ROWS,
        "limits": limits_drawn(here, wish.channels, known),
    }


def limits_drawn(here: list[PastStep], channels: list[str], known: Known) -> list[dict[str, Any]]:
    """Tell each limit drawn, in the order of its quantity and value, and for each step where it comes from."""
    drawn: dict[tuple[str, float, str], dict[tuple[str, str], dict[str, None]]] = {}
    for step in here:
        for limit in step.limits:
            if limit.channel in channels:
                what = QUANTITIES[limit.quantity]
                one = level_origin(limit.place, limit.level, what.symbol, known)
                side = "at most" if limit.side == "high" else "at least"
                key = (what.words, limit.at, f"{sentence_case(what.words)} {one.at} {side}")
                name = f"{step.painting}: {step.title}" if step.painting else step.title
                drawn.setdefault(key, {}).setdefault((one.told, one.entry), {})[name] = None
    return [
        {"what": what, "from": [{"told": t, "entry": e, "whose": "; ".join(names)} for (t, e), names in told.items()]}
        for (_, _, what), told in sorted(drawn.items())
    ]


def choices(store: Readable) -> list[tuple[str, str]]:
    """Give every channel that was ever measured, with its words."""
    told = []
    for row in store.channels():
        probe, quantity = split_channel(str(row.channel))
        if quantity in QUANTITIES:
            told.append((str(row.channel), f"{probe}, {QUANTITIES[quantity].words}"))
    return sorted(told)


def routes(pages: Pages, hub: Hub, past: Past, known: Known, script: str) -> APIRouter:
    """Give the page's routes; `script` is the address of the chart library."""
    router = APIRouter()

    @router.get("/look-back")
    def look_back(request: Request, channel: Annotated[list[str] | None, Query()] = None) -> Response:
        problem, channels, past_steps, starts = "", [], [], list[Start]()
        try:
            channels, past_steps, starts = choices(past.store()), steps(past.store()), of_steps(past.store())
        except StoreError as error:
            problem = f"Nothing can be looked back at: {error}"
        chosen = channel or [name for name, _ in channels if name.endswith(("_humidity", ".air_temperature"))][:2]
        return pages.page(
            request, "look_back", pages.common(hub.shown()), {"page": "plain"}, problem=problem, channels=channels,
            chosen=chosen or [name for name, _ in channels][:1], steps=past_steps[::-1][:50], periods=PERIODS,
            script=script, starts=starts, sheet_starts=known.starts, units=UNITS,
        )  # fmt: skip

    @router.get("/look-back/seen")
    def look_back_seen(
        request: Request, period: str, channel: Annotated[list[str] | None, Query()] = None,
        from_ms: int | None = None, to_ms: int | None = None, step: str | None = None,
    ) -> JSONResponse:  # fmt: skip
        wish = Wish(period, channel or [], from_ms, to_ms, step)
        light = "dim" if viewer(request).dim else "day"
        try:
            return JSONResponse(seen(past.store(), wish, now_of(hub.shown()), light, known))
        except BadInput as error:
            return JSONResponse({"sentence": str(error)}, 422)
        except StoreError as error:
            return JSONResponse({"sentence": f"Nothing can be looked back at: {error}"}, 503)

    return router
