"""The things the store knows by name: benches, probes, paintings, steps and what was done.

Steps, bindings, contacts and paintings are kept by `projection` from sealed day-book rows,
in the transaction that seals them; `seq` names the row each began with. Times: `*_at_ms`
is UTC and None while the time is not known, `*_mono_ms` lies in `segment`.
"""

from __future__ import annotations

import sqlalchemy as sa
from sqlalchemy.orm import registry
from sqlmodel import Field, SQLModel

from monitor.store.columns import INT, KEYED, METADATA, REAL, STRICT, TEXT


class Entity(SQLModel, registry=registry(metadata=METADATA)):
    """Base of all entities; every one carries board and bench."""


class Bench(Entity, table=True):
    """A place of work."""

    __tablename__ = "benches"
    __table_args__ = KEYED
    board: str = Field(sa_type=TEXT, primary_key=True)
    bench: str = Field(sa_type=TEXT, primary_key=True)


class Instrument(Entity, table=True):
    """A physical instrument, told apart by kind and serial number."""

    __tablename__ = "instruments"
    __table_args__ = KEYED
    board: str = Field(sa_type=TEXT, primary_key=True)
    instrument: str = Field(sa_type=TEXT, primary_key=True)
    bench: str | None = Field(default=None, sa_type=TEXT)
    kind: str = Field(sa_type=TEXT)
    serial: str = Field(sa_type=TEXT)


class InstrumentFigure(Entity, table=True):
    """A sourced figure of an instrument for one quantity.

    `figure` is range_low, range_high, resolution, standard_uncertainty or time_constant.
    """

    __tablename__ = "instrument_figures"
    __table_args__ = KEYED
    board: str = Field(sa_type=TEXT, primary_key=True)
    instrument: str = Field(sa_type=TEXT, primary_key=True)
    quantity: str = Field(sa_type=TEXT, primary_key=True)
    figure: str = Field(sa_type=TEXT, primary_key=True)
    bench: str | None = Field(default=None, sa_type=TEXT)
    value: float = Field(sa_type=REAL)
    unit: str = Field(sa_type=TEXT)
    source: str = Field(sa_type=TEXT)
    grade: str = Field(sa_type=TEXT)
    locator: str = Field(default="", sa_type=TEXT)


class Probe(Entity, table=True):
    """A named probe as configured last, and the instrument that serves it."""

    __tablename__ = "probes"
    __table_args__ = KEYED
    board: str = Field(sa_type=TEXT, primary_key=True)
    probe: str = Field(sa_type=TEXT, primary_key=True)
    bench: str | None = Field(default=None, sa_type=TEXT)
    part: str = Field(sa_type=TEXT)
    bus: str = Field(sa_type=TEXT)
    address: int = Field(sa_type=INT)
    thermocouple: str = Field(sa_type=TEXT)
    instrument: str = Field(sa_type=TEXT)
    source: str = Field(sa_type=TEXT)


class Channel(Entity, table=True):
    """One quantity of one probe; readings carry its number."""

    __tablename__ = "channels"
    __table_args__ = (sa.UniqueConstraint("board", "channel", name="channels_name"), STRICT)
    channel_id: int | None = Field(default=None, sa_type=INT, primary_key=True)
    board: str = Field(sa_type=TEXT)
    channel: str = Field(sa_type=TEXT)
    bench: str | None = Field(default=None, sa_type=TEXT)
    probe: str = Field(sa_type=TEXT)
    quantity: str = Field(sa_type=TEXT)
    unit: str = Field(sa_type=TEXT)
    interval_ms: int = Field(sa_type=INT)
    source: str = Field(sa_type=TEXT)

    @property
    def name(self) -> str:
        """Give the channel's name, `probe.quantity`."""
        return self.channel


class Painting(Entity, table=True):
    """A painting, in hand while `handed_back_seq` is None; `beware` is a JSON list of sentences."""

    __tablename__ = "paintings"
    __table_args__ = KEYED
    board: str = Field(sa_type=TEXT, primary_key=True)
    number: str = Field(sa_type=TEXT, primary_key=True)
    bench: str | None = Field(default=None, sa_type=TEXT)
    name: str = Field(sa_type=TEXT)
    support: str = Field(sa_type=TEXT)
    beware: str = Field(sa_type=TEXT)
    seq: int = Field(sa_type=INT)
    handed_back_seq: int | None = Field(default=None, sa_type=INT)
    handed_back_segment: int | None = Field(default=None, sa_type=INT)
    handed_back_mono_ms: int | None = Field(default=None, sa_type=INT)
    handed_back_at_ms: int | None = Field(default=None, sa_type=INT)


class Step(Entity, table=True):
    """A step, running while `finished_seq` is None."""

    __tablename__ = "steps"
    __table_args__ = KEYED
    board: str = Field(sa_type=TEXT, primary_key=True)
    step: str = Field(sa_type=TEXT, primary_key=True)
    bench: str | None = Field(default=None, sa_type=TEXT)
    seq: int = Field(sa_type=INT)
    sheet: str = Field(sa_type=TEXT)
    title: str = Field(sa_type=TEXT)
    painting: str | None = Field(default=None, sa_type=TEXT)
    stage: str = Field(sa_type=TEXT)
    side: str | None = Field(default=None, sa_type=TEXT)
    places: int | None = Field(default=None, sa_type=INT)
    started_by: str | None = Field(default=None, sa_type=TEXT)
    segment: int = Field(sa_type=INT)
    started_mono_ms: int = Field(sa_type=INT)
    started_at_ms: int | None = Field(default=None, sa_type=INT)
    finished_seq: int | None = Field(default=None, sa_type=INT)
    finished_segment: int | None = Field(default=None, sa_type=INT)
    finished_mono_ms: int | None = Field(default=None, sa_type=INT)
    finished_at_ms: int | None = Field(default=None, sa_type=INT)


class Binding(Entity, table=True):
    """A probe's part in a step; `channels` is a JSON list of names."""

    __tablename__ = "bindings"
    __table_args__ = (sa.Index("bindings_step", "board", "step", "seq"), KEYED)
    board: str = Field(sa_type=TEXT, primary_key=True)
    seq: int = Field(sa_type=INT, primary_key=True)
    bench: str | None = Field(default=None, sa_type=TEXT)
    step: str = Field(sa_type=TEXT)
    role: str = Field(sa_type=TEXT)
    probe: str = Field(sa_type=TEXT)
    touches: str = Field(sa_type=TEXT)
    channels: str = Field(sa_type=TEXT)
    segment: int = Field(sa_type=INT)
    from_mono_ms: int = Field(sa_type=INT)
    from_at_ms: int | None = Field(default=None, sa_type=INT)
    to_segment: int | None = Field(default=None, sa_type=INT)
    to_mono_ms: int | None = Field(default=None, sa_type=INT)
    to_at_ms: int | None = Field(default=None, sa_type=INT)


class Contact(Entity, table=True):
    """The tool on a place. `voided` gives the reason when the mark was taken back."""

    __tablename__ = "contacts"
    __table_args__ = (sa.Index("contacts_step", "board", "step", "seq"), KEYED)
    board: str = Field(sa_type=TEXT, primary_key=True)
    seq: int = Field(sa_type=INT, primary_key=True)
    bench: str | None = Field(default=None, sa_type=TEXT)
    step: str = Field(sa_type=TEXT)
    side: str = Field(sa_type=TEXT)
    place: int = Field(sa_type=INT)
    pass_no: int = Field(sa_type=INT)
    probe: str = Field(sa_type=TEXT)
    segment: int = Field(sa_type=INT)
    start_mono_ms: int = Field(sa_type=INT)
    start_at_ms: int | None = Field(default=None, sa_type=INT)
    end_segment: int | None = Field(default=None, sa_type=INT)
    end_mono_ms: int | None = Field(default=None, sa_type=INT)
    end_at_ms: int | None = Field(default=None, sa_type=INT)
    ended_by: str | None = Field(default=None, sa_type=TEXT)
    milliseconds: int | None = Field(default=None, sa_type=INT)
    readings: int | None = Field(default=None, sa_type=INT)
    gaps: int | None = Field(default=None, sa_type=INT)
    tool_low: str | None = Field(default=None, sa_type=TEXT)
    tool_mean: str | None = Field(default=None, sa_type=TEXT)
    tool_high: str | None = Field(default=None, sa_type=TEXT)
    verdict: str | None = Field(default=None, sa_type=TEXT)
    reason: str | None = Field(default=None, sa_type=TEXT)
    voided: str | None = Field(default=None, sa_type=TEXT)


class Attachment(Entity, table=True):
    """A file kept beside the store under its SHA-256."""

    __tablename__ = "attachments"
    __table_args__ = KEYED
    board: str = Field(sa_type=TEXT, primary_key=True)
    sha256: str = Field(sa_type=TEXT, primary_key=True)
    bench: str | None = Field(default=None, sa_type=TEXT)
    step: str | None = Field(default=None, sa_type=TEXT)
    name: str = Field(sa_type=TEXT)
    media_type: str = Field(sa_type=TEXT)
    size: int = Field(sa_type=INT)
    seq: int = Field(sa_type=INT)
