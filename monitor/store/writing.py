"""One transaction: readings, sealed rows and what they change, estimates, snapshot, answers."""

from __future__ import annotations

import json
from typing import Any

import sqlalchemy as sa

from monitor.bench.outputs import Draft, Estimate
from monitor.clock import Segment
from monitor.errors import StoreError
from monitor.store.batch import Batch, Snapshot
from monitor.store.entities import Step
from monitor.store.ingest import Ingest, insert_text
from monitor.store.projection import effects
from monitor.store.rolling import Staleness
from monitor.store.rollups import OpenRollup
from monitor.store.sealing import COLUMNS, head, seal, to_columns
from monitor.store.tables import answers, boots, clock_segments, daybook, estimates, snapshots

STATE_LIMIT = 64 * 1024
DAY_MS = 86_400_000


class Memory:
    """What the writer remembers between transactions; all of it can be read again from the store."""

    def __init__(self, board: str) -> None:
        self.board = board
        self.channel_ids: dict[str, int] = {}
        self.segments: dict[int, Segment] = {}
        self.opened: dict[int, OpenRollup] = {}
        self.reached: dict[int, int] = {}
        self.stale = Staleness()


class Transaction:
    """The work of one transaction; `adopt` is called only after its commit."""

    def __init__(self, connection: sa.Connection, memory: Memory) -> None:
        self._connection = connection
        self._memory = memory
        self._segments: dict[int, Segment] = {}
        self._head: tuple[int, str] | None = None
        self.ingest = Ingest(connection, memory.opened, memory.stale, memory.reached)

    def take(self, batch: Batch) -> list[dict[str, Any]]:
        """Write a batch; give its sealed rows."""
        segment = self._segment(batch.segment)
        self.ingest.take(batch.readings, segment, self._memory.channel_ids)
        rows = [self.seal(draft, segment) for draft in batch.drafts]
        for estimate in batch.estimates:
            self._estimate(estimate, segment)
        if batch.snapshot is not None:
            self._snapshot(batch.snapshot)
        for request_id, answer in batch.answers.items():
            self._answer(request_id, answer, segment, batch)
        return rows

    def finish(self) -> None:
        """Write what was gathered."""
        self.ingest.finish()

    def adopt(self) -> None:
        """Remember what is now committed."""
        self._memory.segments.update(self._segments)
        self._memory.reached.update(self.ingest.reached)

    def _segment(self, given: Segment) -> Segment:
        """Give the segment as stored, storing it when new: it may have been dated since the batch was made."""
        stored = self._segments.get(given.segment) or self._memory.segments.get(given.segment)
        stored = stored or stored_segment(self._connection, given.segment)
        if stored is None:
            stored = given
            values = {"board": self._memory.board, "boot": given.boot, "known": int(given.known)}
            self._connection.execute(
                sa.insert(clock_segments).values(
                    segment=given.segment,
                    from_mono_ms=given.from_mono_ms,
                    offset_ms=given.offset_ms,
                    reach_mono_ms=given.from_mono_ms,
                    **values,
                )
            )
        _require_same(stored, given)
        self._segments[given.segment] = stored
        return stored

    def seal(self, draft: Draft, segment: Segment) -> dict[str, Any]:
        """Seal and write one row and what it changes among the entities."""
        seq, prev = self._head or head(self._connection, self._memory.board)
        row = seal(draft, self._memory.board, self._segment_of(draft, segment), seq + 1, prev)
        held = to_columns(row)
        names = [f'"{name}"' if name == "by" else name for name in COLUMNS]
        text = insert_text(daybook, names, self._connection)
        self._connection.exec_driver_sql(text, tuple(held[name] for name in COLUMNS))
        for effect in effects(row):
            self._connection.execute(effect)
        self._head = (row["seq"], row["hash"])
        return row

    def _segment_of(self, draft: Draft, segment: Segment) -> Segment:
        """Give the segment an instant lies in: a delay may have elapsed before the clock was set."""
        if draft.mono_ms >= segment.from_mono_ms:
            return segment
        earlier = clock_segments.c
        mine = (earlier.board == self._memory.board, earlier.boot == segment.boot)
        chosen = sa.select(clock_segments).where(*mine, earlier.from_mono_ms <= draft.mono_ms)
        row = self._connection.execute(chosen.order_by(earlier.segment.desc()).limit(1)).first()
        return segment if row is None else as_segment(row)

    def _estimate(self, estimate: Estimate, segment: Segment) -> None:
        steps = Step.__table__  # type: ignore[attr-defined]
        here = (steps.c.board == self._memory.board, steps.c.step == estimate.step)
        bench_of = sa.select(steps.c.bench).where(*here)
        self._connection.execute(
            sa.insert(estimates).values(
                board=self._memory.board, step=estimate.step, side=estimate.side, place=estimate.place,
                bench=bench_of.scalar_subquery(), pass_no=estimate.pass_no,
                segment=segment.segment, mono_ms=estimate.mono_ms,
                at_ms=segment.at_ms(estimate.mono_ms), depth=estimate.depth, p05=estimate.p05,
                p50=estimate.p50, p95=estimate.p95, p_reached=estimate.p_reached,
            )
        )  # fmt: skip

    def _snapshot(self, snapshot: Snapshot) -> None:
        """Store the newest state; of the older ones the first of each day stays."""
        size = len(snapshot.state.encode())
        if size > STATE_LIMIT:
            raise StoreError("state", f"{size} bytes", f"at most {STATE_LIMIT}", "Bound what the fold remembers.")
        mine = snapshots.c.board == self._memory.board
        last = self._connection.execute(sa.select(sa.func.max(snapshots.c.number)).where(mine)).scalar() or 0
        self._connection.execute(sa.delete(snapshots).where(mine, snapshots.c.number == last, snapshots.c.kept == 0))
        seq = (self._head or head(self._connection, self._memory.board))[0]
        where = snapshot.position
        self._connection.execute(
            sa.insert(snapshots).values(
                board=self._memory.board, number=last + 1, boot=where.boot, mono_ms=where.mono_ms,
                place=where.order, channel=where.channel, seq=seq, at_ms=snapshot.at_ms,
                engine=snapshot.engine, kept=int(self._is_first_of_day(snapshot)), state=snapshot.state,
            )
        )  # fmt: skip

    def _is_first_of_day(self, snapshot: Snapshot) -> bool:
        if snapshot.at_ms is None:
            return False
        kept = sa.select(snapshots.c.at_ms).where(snapshots.c.board == self._memory.board, snapshots.c.kept == 1)
        last = self._connection.execute(kept.order_by(snapshots.c.number.desc()).limit(1)).scalar()
        return last is None or last // DAY_MS != snapshot.at_ms // DAY_MS

    def _answer(self, request_id: str, answer: dict[str, Any], segment: Segment, batch: Batch) -> None:
        instants = [draft.mono_ms for draft in batch.drafts] + [reading.mono_ms for reading in batch.readings]
        mono_ms = max(instants, default=segment.from_mono_ms)
        names = ("request_id", "board", "segment", "mono_ms", "at_ms", "answer")
        text = insert_text(answers, names, self._connection, " ON CONFLICT DO NOTHING")
        held = json.dumps(answer, sort_keys=True, ensure_ascii=False)
        values = (request_id, self._memory.board, segment.segment, mono_ms, segment.at_ms(mono_ms), held)
        self._connection.exec_driver_sql(text, values)


def stored_segment(connection: sa.Connection, segment: int) -> Segment | None:
    """Give a stored clock segment by its number."""
    found = connection.execute(sa.select(clock_segments).where(clock_segments.c.segment == segment)).first()
    return None if found is None else as_segment(found)


def as_segment(row: sa.Row[Any]) -> Segment:
    """Give a clock segment from its row."""
    return Segment(row.segment, row.boot, row.from_mono_ms, row.offset_ms, bool(row.known))


def _require_same(stored: Segment, given: Segment) -> None:
    dated_since = stored.known and not given.known
    if (stored.boot, stored.from_mono_ms) != (given.boot, given.from_mono_ms):
        found = f"boot {given.boot} from {given.from_mono_ms} ms"
        expected = f"the stored boot {stored.boot} from {stored.from_mono_ms} ms"
    elif not dated_since and stored.known != given.known:
        found, expected = "a known time", "the time still unknown, as stored"
    elif stored.known and given.known and stored.offset_ms != given.offset_ms:
        found, expected = f"offset {given.offset_ms} ms", f"the stored {stored.offset_ms} ms"
    else:
        return
    raise StoreError(
        f"clock segment {given.segment}", found, expected, "Begin a new segment, or date this one with date_segment."
    )


def newest_boot(connection: sa.Connection) -> sa.Row[Any] | None:
    """Give the row of the newest start."""
    return connection.execute(sa.select(boots).order_by(boots.c.boot.desc()).limit(1)).first()
