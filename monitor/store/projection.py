"""What a sealed day-book row changes among the entities. The rows alone decide; nothing else writes them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import sqlalchemy as sa

from monitor.bench.events import canonical
from monitor.store.entities import Binding, Contact, Painting, Step

Row = dict[str, Any]
Effect = sa.Insert | sa.Update


def effects(row: Row) -> Iterator[Effect]:
    """Give the statements a sealed row leads to, in order."""
    make = _MAKERS.get(row["kind"])
    if make is not None:
        yield from make(row, row["body"])


def _own(row: Row) -> Row:
    return {"board": row["board"], "bench": row["bench"], "seq": row["seq"]}


def _painting(row: Row, body: Row) -> Iterator[Effect]:
    said = {"name": body["name"], "support": body["support"], "beware": canonical(body["beware"])}
    here = sa.and_(_col(Painting, "board") == row["board"], _col(Painting, "number") == body["number"])
    new = {**_own(row), "number": body["number"], **said}
    wanted = sa.select(*(sa.literal(v, _col(Painting, k).type).label(k) for k, v in new.items()))
    in_hand = {f"handed_back_{name}": None for name in ("seq", "segment", "mono_ms", "at_ms")}
    yield sa.update(Painting).where(here).values(**said, **in_hand, bench=row["bench"])
    yield sa.insert(Painting).from_select(list(new), wanted.where(~sa.exists().where(here)))


def _handed_back(row: Row, body: Row) -> Iterator[Effect]:
    here = sa.and_(_col(Painting, "board") == row["board"], _col(Painting, "number") == body["number"])
    back = {f"handed_back_{name}": row[name] for name in ("seq", "segment", "mono_ms", "at_ms")}
    yield sa.update(Painting).where(here).values(**back)


def _step_started(row: Row, body: Row) -> Iterator[Effect]:
    yield sa.insert(Step).values(
        **_own(row), **body, step=row["step"], started_by=row["by"], segment=row["segment"],
        started_mono_ms=row["mono_ms"], started_at_ms=row["at_ms"],
    )  # fmt: skip


def _step_finished(row: Row, _body: Row) -> Iterator[Effect]:
    yield _step(row).values(
        finished_seq=row["seq"], finished_segment=row["segment"],
        finished_mono_ms=row["mono_ms"], finished_at_ms=row["at_ms"],
    )  # fmt: skip


def _stage_started(row: Row, body: Row) -> Iterator[Effect]:
    yield _step(row).values(stage=body["stage"])


def _binding_started(row: Row, body: Row) -> Iterator[Effect]:
    yield sa.insert(Binding).values(
        **_own(row), step=row["step"], role=body["role"], probe=body["probe"], touches=body["touches"],
        channels=canonical(body["channels"]), segment=row["segment"],
        from_mono_ms=row["mono_ms"], from_at_ms=row["at_ms"],
    )  # fmt: skip


def _binding_ended(row: Row, body: Row) -> Iterator[Effect]:
    open_ones = {"step": row["step"], "role": body["role"], "probe": body["probe"], "to_mono_ms": None}
    yield _newest(Binding, row["board"], open_ones).values(
        to_segment=row["segment"], to_mono_ms=row["mono_ms"], to_at_ms=row["at_ms"]
    )


def _contact_started(row: Row, body: Row) -> Iterator[Effect]:
    yield sa.insert(Contact).values(
        **_own(row), step=row["step"], side=body["side"], place=body["place"], pass_no=body["pass"],
        probe=body["probe"], segment=row["segment"], start_mono_ms=row["mono_ms"], start_at_ms=row["at_ms"],
    )  # fmt: skip


def _contact_ended(row: Row, body: Row) -> Iterator[Effect]:
    told = ("ended_by", "milliseconds", "readings", "gaps", "tool_low", "tool_mean", "tool_high")
    yield _newest(Contact, row["board"], {**_which(row, body), "end_mono_ms": None}).values(
        end_segment=row["segment"], end_mono_ms=row["mono_ms"], end_at_ms=row["at_ms"],
        **{name: body[name] for name in told},
    )  # fmt: skip


def _contact_voided(row: Row, body: Row) -> Iterator[Effect]:
    yield _newest(Contact, row["board"], _which(row, body)).values(voided=body["reason"])


def _place_judged(row: Row, body: Row) -> Iterator[Effect]:
    yield _newest(Contact, row["board"], _which(row, body)).values(verdict=body["verdict"], reason=body["reason"])


def _which(row: Row, body: Row) -> Row:
    return {
        "step": row["step"], "side": body["side"], "place": body["place"], "pass_no": body["pass"], "voided": None,
    }  # fmt: skip


def _col(entity: type[Any], name: str) -> Any:  # noqa: ANN401
    return entity.__table__.c[name]


def _step(row: Row) -> sa.Update:
    return sa.update(Step).where(_col(Step, "board") == row["board"], _col(Step, "step") == row["step"])


def _newest(entity: type[Any], board: str, wanted: Row) -> sa.Update:
    """Update the newest row that fits: a place may be touched again in the same pass after an undo."""
    table = entity.__table__
    other = table.alias("t")
    fits = [other.c.board == board, *(other.c[name].is_not_distinct_from(v) for name, v in wanted.items())]
    newest = sa.select(sa.func.max(other.c.seq)).where(*fits)
    return sa.update(entity).where(table.c.board == board, table.c.seq == newest.scalar_subquery())


_MAKERS: dict[str, Callable[[Row, Row], Iterator[Effect]]] = {
    "painting_added": _painting,
    "painting_handed_back": _handed_back,
    "step_started": _step_started,
    "step_finished": _step_finished,
    "stage_started": _stage_started,
    "binding_started": _binding_started,
    "binding_ended": _binding_ended,
    "contact_started": _contact_started,
    "contact_ended": _contact_ended,
    "contact_voided": _contact_voided,
    "place_judged": _place_judged,
}
