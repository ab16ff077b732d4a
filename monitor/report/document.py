"""The report as data: plain words and figures for the template, which adds nothing of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from monitor.report.excursions import Excursion, read_excursions
from monitor.report.limits import InForce, limits_in_force
from monitor.report.lists import layers_of, limits_of, missing_lists, noted_lists, numbers_of
from monitor.report.outside import read_hushes, read_outside, warning_rows
from monitor.report.outside_table import (
    IN_HAND,
    InHand,
    Told,
    delay_note,
    outside_groups,
    passes_in_hand,
    with_place_in_hand,
)
from monitor.report.passes import PassRow, estimate_sentences, humidity_then, pass_rows
from monitor.report.pictures import AT_CANVAS, chart_svg, degrees_of
from monitor.report.probes_used import probes_used
from monitor.report.record import Row, StepRecord, people_of
from monitor.report.selection import Selection, rows_of, selection_of, step_record
from monitor.report.table import table_of
from monitor.report.words import When

if TYPE_CHECKING:
    from monitor.catalogue.model import Source
    from monitor.store.store import Store

SIMULATED = "Simulated: these readings come from a simulated studio. No painting was treated."


@dataclass(frozen=True)
class Document:
    """Everything a report is made of.

    Attributes:
        data: what the template prints; strings, lists and objects only.
        pictures: file name -> SVG text.
        selection: what the embedded readings are taken by.
        rows: the day-book rows it speaks of.
        made_ms: instant the file is dated with: the newest of its data, UTC ms.
    """

    data: dict[str, Any]
    pictures: dict[str, str]
    selection: Selection
    rows: list[Row]
    made_ms: int


def document_of(
    store: Store, step: str, when: When | None = None, sources: Mapping[str, Source] | None = None
) -> Document:
    """Gather a step's report; BadInput when there is no such step or it has no date.

    Args:
        store: whence everything comes.
        step: its id.
        when: zone of the printed times; UTC unless told.
        sources: key -> source, as the catalogue has them.
    """
    when = when or When()
    record = step_record(store, step)
    selection = selection_of(store, record)
    rows = rows_of(store, selection)
    limits = limits_in_force(store, record, selection)
    numbers = numbers_of(record, limits)
    in_hand = passes_in_hand([row for row in rows if row["step"] == step])
    beyond = read_excursions(store, selection, [*limits, *with_place_in_hand(limits, in_hand)])
    used = probes_used(store, record, selection, rows)
    passes = pass_rows(record, humidity_then(store, record, selection))
    pictures, table = table_of(record, passes, when)
    pictures["chart.svg"] = chart_svg(
        store, record, selection, limits, [one for one in beyond if one.limit.whose != IN_HAND], when
    )
    data = {
        "heading": _heading(record, people_of(rows), when),
        "simulated": SIMULATED if any(one.simulated for one in used) else "",
        "chart_note": _chart_note(record, limits, when),
        "outside": _outside(store, record, selection, rows, limits, beyond, passes, in_hand, when),
        "missing": missing_lists(record, rows, when),
        "table": table,
        "noted": noted_lists(record, used, limits, sources or {}, when),
        "layers": layers_of(record, numbers),
        "limits": limits_of(record, limits, numbers),
    }
    return Document(data, pictures, selection, rows, selection.to_ms - 1)


def _outside(
    store: Store, record: StepRecord, selection: Selection, rows: list[Row], limits: list[InForce],
    beyond: list[Excursion], passes: list[PassRow], in_hand: list[InHand], when: When,
) -> dict[str, Any]:  # fmt: skip
    told_rows = warning_rows(store, selection, rows)
    warnings = read_outside(told_rows, selection.from_ms)
    titles = {row["step"]: row["body"]["title"] for row in store.daybook(kinds=["step_started"])}
    hushes = read_hushes(told_rows, selection.from_ms)
    computed = {source.channel: source.words for one in limits for source in one.computed}
    told = Told({**titles, record.step: "this step"}, in_hand, when, hushes, computed)
    set_c = (degrees_of(record.sandwich, key) for key in ("min_c", "max_c", "ceiling_c"))
    return {
        "groups": outside_groups(warnings, beyond, told),
        "lag": delay_note(warnings, limits),
        "estimates": estimate_sentences(passes, *set_c),
        "empty": "Nothing, by what was measured.",
    }


def _heading(record: StepRecord, people: list[str], when: When) -> dict[str, Any]:
    painting = record.painting
    name = painting.get("name") or (f"Painting {painting['number']}" if painting else record.title)
    number = f"no. {painting['number']}" if painting else ""
    side = f"side {record.side}" if record.side else ""
    title = record.title if painting else "no painting"
    return {
        "name": name,
        "under": [part for part in (number, painting.get("support", "")) if part],
        "beware": list(painting.get("beware", [])),
        "step": ", ".join(part for part in (title, side) if part),
        "when": f"{when.stretch(record.from_ms, record.to_ms)} ({when.zone_words})",
        "who": ", ".join(people) or "nobody entered initials",
        "bench": record.bench or "no bench named",
        "id": record.step,
        "answers": [{"text": text, "answer": answer} for text, answer in record.answers],
    }


def _chart_note(record: StepRecord, limits: list[InForce], when: When) -> str:
    contacts = "Grey stretches are contacts, numbered by place. " if record.contacts else ""
    made = {one.limit.quantity for one in limits if one.computed}
    drawn = "What is computed is so from the stored readings. " if made else ""
    drawn += "Of what is computed, the humidity at the canvas alone is drawn. " if made - {AT_CANVAS} else ""
    return (
        f"{contacts}{drawn}The curve reaches from the lowest to the highest reading at each point; where nothing was "
        "read it stays open. Firm lines are last levels, dashed ones earlier. A hatched bar lies on each level as "
        f"long as readings were beyond it. Times in {when.zone_words}."
    )
