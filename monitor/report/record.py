"""What the day-book says of one step, read from its rows alone."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

Row = dict[str, Any]
Band = tuple[float, float, float]


@dataclass(frozen=True)
class Contact:
    """One pass of the tool on a place; temperatures in degC, None where nothing was measured."""

    place: int
    pass_no: int
    probe: str
    from_ms: int | None
    to_ms: int | None
    milliseconds: int
    readings: int
    gaps: int
    tool_low: float | None
    tool_mean: float | None
    tool_high: float | None
    ended_by: str


@dataclass(frozen=True)
class Verdict:
    """What was judged of one pass; `band` and `face` are low, most likely and high there, degC."""

    word: str
    reason: str
    band: Band | None
    face: Band | None = None


@dataclass(frozen=True)
class TakenBack:
    """A mark taken back: of which pass, why, when (UTC ms) and by whom (initials or "")."""

    place: int
    pass_no: int
    reason: str
    at_ms: int | None
    by: str


@dataclass(frozen=True)
class Binding:
    """A probe's part in the step and where it touched."""

    role: str
    probe: str
    touches: str
    channels: tuple[str, ...]


@dataclass
class StepRecord:
    """A step as the day-book tells it.

    Attributes:
        step, title, bench, side, places: as it was started.
        sheet: the working sheet with its limits, as it was in force.
        sandwich: layers under the tool as they were given, or None.
        painting: number, name, support and what to beware of; empty for a watch of the room.
        from_ms: start, UTC ms, or None while the time was not known; to_ms: end, None while it runs.
        people: initials of whoever asked for anything in the step, in order of appearance.
        answers: question and answer, as put when it was started; empty where none were recorded.
        verdicts: (place, pass) -> verdict, reason and the bands when they were highest.
        voided: marks taken back, in order.
        notes: instant, initials and text of each note.
        stages: instant and key of each stage, in order.
    """

    step: str
    title: str = ""
    bench: str = ""
    side: str = ""
    places: int = 0
    sheet: dict[str, Any] = field(default_factory=dict)
    sandwich: dict[str, Any] | None = None
    painting: dict[str, Any] = field(default_factory=dict)
    from_ms: int | None = None
    to_ms: int | None = None
    people: list[str] = field(default_factory=list)
    bindings: list[Binding] = field(default_factory=list)
    contacts: list[Contact] = field(default_factory=list)
    verdicts: dict[tuple[int, int], Verdict] = field(default_factory=dict)
    answers: list[tuple[str, str]] = field(default_factory=list)
    voided: list[TakenBack] = field(default_factory=list)
    notes: list[tuple[int | None, str, str]] = field(default_factory=list)
    stages: list[tuple[int | None, str]] = field(default_factory=list)
    begun: dict[tuple[int, int], int | None] = field(default_factory=dict)
    in_contact: tuple[int, int] | None = None


def read_step(step: str, rows: list[Row]) -> StepRecord:
    """Read a step's day-book rows, in order, into one record."""
    record = StepRecord(step)
    record.people = people_of(rows)
    for row in rows:
        read = _READERS.get(row["kind"])
        if read is not None:
            read(record, row)
    return record


def people_of(rows: list[Row]) -> list[str]:
    """Give the initials of everyone who acted in some rows, in order of appearance."""
    return list(dict.fromkeys(row["by"] for row in rows if row["by"]))


def _asked(record: StepRecord, row: Row) -> None:
    body = row["body"]
    record.sheet, record.sandwich = body["sheet"], body["sandwich"]
    # rows of earlier days were written before anything was asked at the start
    record.answers = [(one["text"], one["answer"]) for one in body.get("answers") or []]


def _started(record: StepRecord, row: Row) -> None:
    body = row["body"]
    record.title, record.bench, record.from_ms = body["title"], row["bench"] or "", row["at_ms"]
    record.side, record.places = body["side"] or "", body["places"] or 0
    record.stages.append((row["at_ms"], body["stage"]))
    if body["painting"]:
        record.painting = {"number": body["painting"], "name": "", "support": "", "beware": []}


def _finished(record: StepRecord, row: Row) -> None:
    record.to_ms = row["at_ms"]


def _staged(record: StepRecord, row: Row) -> None:
    record.stages.append((row["at_ms"], row["body"]["stage"]))


def _bound(record: StepRecord, row: Row) -> None:
    body = row["body"]
    record.bindings.append(Binding(body["role"], body["probe"], body["touches"], tuple(body["channels"])))


def _set_down(record: StepRecord, row: Row) -> None:
    body = row["body"]
    record.in_contact = (body["place"], body["pass"])
    record.begun[record.in_contact] = row["at_ms"]


def _lifted(record: StepRecord, row: Row) -> None:
    body = row["body"]
    key = (body["place"], body["pass"])
    low, mean, high = (None if body[k] is None else float(body[k]) for k in ("tool_low", "tool_mean", "tool_high"))
    record.in_contact = None
    record.contacts.append(
        Contact(*key, body["probe"], record.begun.get(key), row["at_ms"], body["milliseconds"], body["readings"],
                body["gaps"], low, mean, high, body["ended_by"])
    )  # fmt: skip


def _voided(record: StepRecord, row: Row) -> None:
    body = row["body"]
    key = (body["place"], body["pass"])
    if record.in_contact == key:
        record.in_contact = None
    record.contacts = [c for c in record.contacts if (c.place, c.pass_no) != key]
    record.verdicts.pop(key, None)
    record.voided.append(TakenBack(*key, body["reason"], row["at_ms"], row["by"] or ""))


def _judged(record: StepRecord, row: Row) -> None:
    body = row["body"]
    key = (body["place"], body["pass"])
    record.verdicts[key] = Verdict(body["verdict"], body["reason"], _band(body["bond_line"]), _band(body["face"]))


def _band(told: list[str]) -> Band | None:
    if not told:
        return None
    low, likely, high = (float(value) for value in told)
    return low, likely, high


def _noted(record: StepRecord, row: Row) -> None:
    record.notes.append((row["at_ms"], row["by"] or "", row["body"]["text"]))


_READERS = {
    "step_asked": _asked, "step_started": _started, "stage_started": _staged, "step_finished": _finished,
    "binding_started": _bound,
    "contact_started": _set_down, "contact_ended": _lifted, "contact_voided": _voided, "place_judged": _judged,
    "note_written": _noted,
}  # fmt: skip
