"""What can be asked of a store; on any thread, on connections that cannot write."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Engine
from sqlmodel import Session, col, select

from monitor.bench.inputs import Input
from monitor.clock import Segment
from monitor.errors import StoreError
from monitor.store import charting, reading, resuming
from monitor.store.batch import Position, Snapshot
from monitor.store.charting import Bucket
from monitor.store.entities import Binding, Channel, Contact, Painting, Probe, Step
from monitor.store.reading import Stored, Undated
from monitor.store.tables import SCHEMA, answers, boots, clock_segments
from monitor.store.writing import Memory, as_segment, newest_boot


class Queries:
    """The reading half of a store."""

    def __init__(self, readers: Engine) -> None:
        self._readers = readers
        with readers.connect() as connection:
            last = newest_boot(connection)
        self.boot = 0 if last is None else int(last.boot)
        self._memory = Memory("" if last is None else str(last.board))

    @property
    def board(self) -> str:
        """Give the board of the newest start, "" before the first."""
        if not self._memory.board:
            with self._readers.connect() as connection:
                last = newest_boot(connection)
            self._memory.board = "" if last is None else str(last.board)
        return self._memory.board

    @property
    def engine(self) -> Engine:
        """Give the readers' engine; what it opens cannot write."""
        return self._readers

    def answer(self, request_id: str) -> dict[str, Any] | None:
        """Give the answer a request got before, or None."""
        with self._readers.connect() as connection:
            found = connection.execute(sa.select(answers.c.answer).where(answers.c.request_id == request_id)).scalar()
        return None if found is None else dict(json.loads(found))

    def newest_snapshot(self) -> Snapshot | None:
        """Give the newest state to resume from."""
        return resuming.newest_snapshot(self._readers, self.board)

    def kept_snapshots(self) -> list[Snapshot]:
        """Give the first state of each day and the newest, oldest first."""
        return resuming.kept_snapshots(self._readers, self.board)

    def inputs(
        self, after: Position | None = None, read_row: resuming.ReadRow | None = None
    ) -> Iterator[tuple[int, Input]]:
        """Give (boot, input) of everything stored after a position, in total order."""
        if read_row is None:
            from monitor.bench.engine import input_of

            read_row = input_of
        channels = {row.channel: int(row.channel_id or 0) for row in self.channels()}
        return resuming.inputs(self._readers, self.board, channels, after, read_row)

    def daybook(
        self,
        *,
        after_seq: int = 0,
        step: str | None = None,
        kinds: Collection[str] | None = None,
        newest_first: bool = False,
        limit: int | None = None,
    ) -> Iterator[dict[str, Any]]:
        """Give sealed rows numbered above `after_seq`, read in pages."""
        return reading.iter_daybook(
            self._readers, self.board, after_seq=after_seq, step=step, kinds=kinds,
            newest_first=newest_first, limit=limit,
        )  # fmt: skip

    def readings(self, channel: str, from_ms: int, to_ms: int) -> Iterator[Stored]:
        """Give a channel's readings with from <= at < to (UTC ms), in order of time and segment."""
        return reading.iter_readings(self._readers, self.channel_id(channel), from_ms, to_ms)

    def undated(self, channel: str, segment: int) -> Iterator[Undated]:
        """Give the readings of a channel in a segment whose time is not known."""
        return reading.iter_undated(self._readers, self.channel_id(channel), segment)

    def envelope(self, channel: str, from_ms: int, to_ms: int, points: int = 2000) -> list[Bucket]:
        """Give a min-max envelope of about `points` points at most; see `charting.envelope`."""
        return charting.envelope(self._readers, self.channel_id(channel), from_ms, to_ms, points)

    def channel_id(self, channel: str) -> int:
        """Give a channel's number.

        Raises:
            StoreError: no such channel.
        """
        known = self._memory.channel_ids.get(channel)
        if known is None:
            self._memory.channel_ids = {row.channel: int(row.channel_id or 0) for row in self.channels()}
            known = self._memory.channel_ids.get(channel)
        if known is None:
            names = ", ".join(self._memory.channel_ids) or "none yet"
            raise StoreError(f"channel {channel}", "not in this store", names, "Name one of these.")
        return known

    def channels(self) -> list[Channel]:
        """Give every channel, by number."""
        with Session(self._readers) as session:
            wanted = select(Channel).where(Channel.board == self.board).order_by(col(Channel.channel_id))
            return list(session.exec(wanted))

    def probes(self) -> list[Probe]:
        """Give every probe, by name."""
        with Session(self._readers) as session:
            return list(session.exec(select(Probe).where(Probe.board == self.board).order_by(Probe.probe)))

    def paintings(self) -> list[Painting]:
        """Give every painting, in the order they were entered."""
        with Session(self._readers) as session:
            wanted = select(Painting).where(Painting.board == self.board)
            return list(session.exec(wanted.order_by(col(Painting.seq))))

    def steps(self) -> list[Step]:
        """Give every step, in the order they were started."""
        with Session(self._readers) as session:
            return list(session.exec(select(Step).where(Step.board == self.board).order_by(col(Step.seq))))

    def bindings(self, step: str) -> list[Binding]:
        """Give the bindings of a step, in order."""
        with Session(self._readers) as session:
            wanted = select(Binding).where(Binding.board == self.board, Binding.step == step)
            return list(session.exec(wanted.order_by(col(Binding.seq))))

    def contacts(self, step: str) -> list[Contact]:
        """Give the contacts of a step in order, voided ones among them."""
        with Session(self._readers) as session:
            wanted = select(Contact).where(Contact.board == self.board, Contact.step == step)
            return list(session.exec(wanted.order_by(col(Contact.seq))))

    def estimates(self, step: str) -> Iterator[sa.Row[Any]]:
        """Give the estimate rows of a step in order of side, place, pass, time and depth."""
        return reading.iter_estimates(self._readers, self.board, step)

    def segments(self) -> list[Segment]:
        """Give every clock segment of this board, in order."""
        return [segment for segment, _ in resuming.segments_from(self._readers, self.board, 0)]

    def newest_segment(self) -> tuple[Segment, int] | None:
        """Give the newest clock segment and the instant (mono ms) of its last reading, or of its start."""
        chosen = sa.select(clock_segments).order_by(clock_segments.c.segment.desc()).limit(1)
        with self._readers.connect() as connection:
            row = connection.execute(chosen).first()
            if row is None:
                return None
            segment = as_segment(row)
            found = [reading.last_mono_ms(connection, int(c.channel_id or 0), segment) for c in self.channels()]
        return segment, max([segment.from_mono_ms, *(at for at in found if at is not None)])

    def migrated_since(self, boot: int) -> tuple[str, str] | None:
        """Give the store's versions in the boot before this one and now, or None if they are the same."""
        chosen = sa.select(boots.c.schema).where(boots.c.boot < boot).order_by(boots.c.boot.desc()).limit(1)
        with self._readers.connect() as connection:
            before = connection.execute(chosen).scalar()
        return None if before is None or before == SCHEMA else (str(before), SCHEMA)
