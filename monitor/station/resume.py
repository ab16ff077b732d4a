"""Where the fold goes on after a start: the newest snapshot and the inputs stored after it."""

from __future__ import annotations

import logging
from dataclasses import dataclass

from monitor.bench.kinds import NEWEST
from monitor.bench.outputs import Draft, Output
from monitor.bench.state import State
from monitor.bench.state_json import load
from monitor.bench.ticking import Fold
from monitor.store.batch import Position, Snapshot
from monitor.store.store import Store

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Resumed:
    """The fold as it was, and what the clock showed then.

    Attributes:
        fold: after the last stored input.
        segments: how many clock segments there were.
        last_at_ms: UTC of the last stored input, None for an empty store or if it was never dated.
        newest_ms: the latest UTC of anything stored, None for an empty store.
    """

    fold: Fold
    segments: int
    last_at_ms: int | None
    newest_ms: int | None

    def gap_ms(self, now_ms: int | None) -> int | None:
        """Give how long nothing was measured before `now_ms` (UTC), None if that is not known."""
        if now_ms is None or self.last_at_ms is None:
            return None
        return max(1, now_ms - self.last_at_ms)


def resume(store: Store) -> Resumed:
    """Fold what was stored after the newest snapshot; whatever follows from it is stored already."""
    state, after = _kept(store.newest_snapshot())
    fold = Fold(state)
    _Refold(store, fold, after).run()
    segments = {s.segment: s for s in store.segments()}
    last = segments.get(fold.state.segment)
    last_at_ms = last.at_ms(fold.state.mono_ms) if last else None
    written = (row["at_ms"] for row in store.daybook(newest_first=True) if row["at_ms"] is not None)
    began = (s.at_ms(s.from_mono_ms) for s in segments.values())
    newest = max((at for at in (next(written, None), last_at_ms, *began) if at is not None), default=None)
    return Resumed(fold, max(segments, default=0), last_at_ms, newest)


class _Refold:
    """Folds the stored inputs again, and after the last of a boot the ticks whose outcome was written."""

    def __init__(self, store: Store, fold: Fold, after: Position | None) -> None:
        self._fold = fold
        self._inputs = store.inputs(after)
        rows = store.daybook(after_seq=after.seq if after else 0)
        self._rows = (row for row in rows if NEWEST[row["kind"]].role != "note")
        self._next = next(self._rows, None)

    def run(self) -> None:
        """Fold as far as it goes: a record with a fault in it must not keep the station from measuring."""
        try:
            for boot, item in self._inputs:
                if boot != self._fold.state.boot:
                    self._catch_up()
                self._follow(self._fold.feed(item))
            self._catch_up()
        except (ValueError, KeyError) as error:
            log.critical("what is stored cannot be folded to its end (%s); look with check-store --recompute", error)

    def _follow(self, outputs: list[Output]) -> None:
        for output in outputs:
            if isinstance(output, Draft):
                self._next = next(self._rows, None)

    def _catch_up(self) -> None:
        while self._next is not None and self._next["kind"] != "segment_started":
            before = self._next
            self._follow(self._fold.catch_up(before["mono_ms"]))
            if self._next is before:
                log.error("day-book row %s does not follow from what is stored; look with check-store", before["id"])
                return


def _kept(snapshot: Snapshot | None) -> tuple[State | None, Position | None]:
    if snapshot is None:
        return None, None
    try:
        return load(snapshot.state), snapshot.position
    except (ValueError, KeyError, TypeError) as error:
        log.warning("the kept state cannot be read (%s); everything stored is folded anew", error)
        return None, None
