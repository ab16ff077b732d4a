"""What would this limit have said of what is stored? Nothing is written, and nothing but the period is held."""

from __future__ import annotations

from monitor.bench.derived import inputs_of
from monitor.bench.quantities import channel_name, split_channel
from monitor.bench.replay_sheets import of_one, served
from monitor.bench.replayed import Replayed
from monitor.bench.replaying import replay
from monitor.bench.sheets import Limit, Sheet
from monitor.clock import iso
from monitor.errors import BadInput
from monitor.store.played import StoredSeries
from monitor.store.queries import Queries

Period = tuple[int, int]


class NothingRead(BadInput):
    """Nothing was read in the period that the limit could judge."""


def by_limit(
    store: Queries, probe: str, limit: Limit, period: Period, *,
    stale_after_ms: int | None = None, keep: int | None = None, most: int | None = None,
) -> Replayed:  # fmt: skip
    """Hold a period of the store against one limit on a measured quantity.

    Args:
        period: from and to, UTC ms; the end itself is left out.
        stale_after_ms: how long a reading speaks; three of the channel's intervals without it.
        keep: how many transitions are kept, None for all.
        most: how many readings may be read one by one, None for any.

    Raises:
        BadInput: no such channel, nothing read of it in the period, or more to be read than `most`.
    """
    wanted = channel_name(probe, limit.quantity)
    _ends_after_it_begins(period)
    measured = [row.channel for row in store.channels()]
    if wanted not in measured:
        raise BadInput(
            "limit", f"{wanted} was never measured", ", ".join(measured) or "readings", "Name one of these."
        )
    series = StoredSeries(store, [wanted], *period, stale_after_ms, most)
    if series.last_ms is None:
        raise _nothing(wanted, period)
    return replay(series, of_one(limit), keep)


def by_sheet(store: Queries, sheet: Sheet, period: Period, *, stale_after_ms: int | None = None) -> Replayed:
    """Hold a period of the store against every limit of a sheet; each probe serves every role it can.

    Raises:
        BadInput: nothing of the period serves any limit of the sheet.
    """
    _ends_after_it_begins(period)
    used = {q for limit in sheet.limits.values() for q in inputs_of(limit.quantity)}
    channels = [row.channel for row in store.channels() if split_channel(row.channel)[1] in used]
    read = [c for c in channels if StoredSeries(store, [c], *period).last_ms is not None]
    whole = served(sheet, read)
    if not whole.limits:
        raise _nothing(f"what a limit of sheet {sheet.key} needs", period)
    result = replay(StoredSeries(store, read, *period, stale_after_ms), whole)
    result.not_judged = [key for key in sheet.limits if key not in whole.limits]
    return result


def _ends_after_it_begins(period: Period) -> None:
    if period[1] <= period[0]:
        found = f"from {iso(period[0])} to {iso(period[1])}"
        raise BadInput("period", found, "an end after the beginning", "Exchange the two.")


def _nothing(what: str, period: Period) -> NothingRead:
    found = f"no readings of {what} from {iso(period[0])} to {iso(period[1])}"
    return NothingRead("period", found, "one in which it was measured", "Choose another period or probe.")
