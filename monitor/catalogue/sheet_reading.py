"""Working sheets out of TOML: no limit without source, cause, consequence and what to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from monitor.bench.quantities import MEASURED
from monitor.bench.sheets import Limit, Question, Sheet, Stage
from monitor.catalogue.limit_reading import read_limit
from monitor.catalogue.model import Entry
from monitor.figures import Figure
from monitor.tomlfile import Table

SHEET_KEYS = ("title", "asks", "roles", "cautions", "stages", "limits", "asks_painting")
STAGE_KEYS = ("key", "title", "ends", "limits", "prompts", "sentence", "has_contacts")


@dataclass(frozen=True)
class Known:
    """What a sheet may refer to: sources, sentences by kind and key, sensors' time constants, defaults of limits."""

    sources: Mapping[str, object]
    sentences: Mapping[str, Mapping[str, Question]]
    responses: Mapping[str, Figure]
    defaults: Mapping[str, Entry]


def read_sheet(key: str, table: Table, known: Known) -> Sheet:
    """Read a sheet; its mistakes are noted in its document, so it counts only if there are none."""
    table.only(SHEET_KEYS)
    roles = _roles(table)
    limits = {
        k: read_limit(k, table.table("limits").table(k), roles, known.sources, known.responses, known.defaults)
        for k in table.table("limits").data
    }
    stages = _stages(table, limits, known)
    return Sheet(
        key=key,
        title=table.text("title"),
        roles=roles,
        stages=stages,
        limits=limits,
        cautions=_sentences(table, "cautions", "caution", known),
        asks_painting=table.flag("asks_painting", True),
        asks=_named(table, "asks", "ask", known),
    )


def _roles(table: Table) -> dict[str, tuple[str, ...]]:
    roles: dict[str, tuple[str, ...]] = {}
    inner = table.table("roles")
    for role in inner.data:
        roles[role] = inner.texts(role, required=True)
        for index, quantity in enumerate(roles[role]):
            if quantity not in MEASURED:
                where = (*inner.path, role, index)
                expected = "a measured quantity: " + ", ".join(MEASURED)
                table.doc.fault(where, f"is {quantity!r}", expected, "A probe in this role must give it.")
    if not inner.data:
        table.fault("roles", "there is no role", "one at least", 'Add roles = { room = ["air_temperature"] }.')
    return roles


def _sentences(table: Table, key: str, kind: str, known: Known) -> tuple[str, ...]:
    return tuple(sentence.text for sentence in _named(table, key, kind, known))


def _named(table: Table, key: str, kind: str, known: Known) -> tuple[Question, ...]:
    said, names = known.sentences.get(kind, {}), table.texts(key)
    for index, name in enumerate(names):
        if name not in said:
            do = f"Add [{kind}.{name}] to sentences.toml."
            table.doc.fault((*table.path, key, index), f"{name!r} is not in the catalogue", f"a {kind}'s key", do)
    return tuple(said[name] for name in names if name in said)


def _stages(table: Table, limits: Mapping[str, Limit], known: Known) -> tuple[Stage, ...]:
    stages: list[Stage] = []
    for inner in table.tables("stages"):
        stage = _stage(inner, limits, known)
        if stage.key and stage.key in [s.key for s in stages]:
            inner.fault("key", f"is {stage.key!r}, as of a stage before", "a key of its own", "Rename one of them.")
        stages.append(stage)
    if not stages:
        table.fault("stages", "there is no stage", "one at least", f"Add [[sheet.{table.path[-1]}.stages]].")
    used = {name for stage in stages for name in stage.limits}
    for key in limits:
        if stages and key not in used:
            where = (*table.path, "limits", key)
            table.doc.fault(where, "no stage lists it", "a stage in which it holds", "Add it to a stage's limits.")
    return tuple(stages)


def _stage(table: Table, limits: Mapping[str, Limit], known: Known) -> Stage:
    table.only(STAGE_KEYS)
    key = table.text("key")
    table.choice("ends", ("person",), "person")
    listed = table.texts("limits")
    for index, name in enumerate(listed):
        if name not in limits:
            where = (*table.path, "limits", index)
            expected = "a limit of this sheet" + (": " + ", ".join(limits) if limits else "")
            table.doc.fault(where, f"is {name!r}", expected, "Add the limit or mend the name.")
    said = (table.text("sentence", ""), *_sentences(table, "prompts", "prompt", known))
    title = table.text("title", key.replace("-", " ")) if key else ""
    return Stage(key, title, listed, " ".join(s for s in said if s), table.flag("has_contacts", False))
