"""Working sheets out of TOML: no limit without source, cause, consequence and what to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from monitor.bench.quantities import MEASURED, QUANTITIES
from monitor.bench.sheets import PRIORITIES, SIDES, Level, Limit, Question, Sheet, Stage
from monitor.catalogue.figure_reading import read_grade, read_origin
from monitor.figures import Figure
from monitor.tomlfile import Table, shown

TIME_CONSTANTS_TO_90 = 2.30  # ln 10: a step is seen to 90 % after so many time constants
SHEET_KEYS = ("title", "asks", "roles", "cautions", "stages", "limits", "asks_painting")
STAGE_KEYS = ("key", "title", "ends", "limits", "prompts", "sentence", "has_contacts")
LIMIT_KEYS = (
    "role", "quantity", "side", "unit", "deadband", "on_delay_s", "off_delay_s", "latching", "must_be_seen",
    "levels", "causes", "consequence", "what_to_do", "time_to_respond_s",
)  # fmt: skip
LEVEL_KEYS = ("at", "priority", "source", "grade", "locator", "note")


@dataclass(frozen=True)
class Known:
    """What a sheet may refer to: sources, sentences by kind and key, sensors' time constants."""

    sources: Mapping[str, object]
    sentences: Mapping[str, Mapping[str, Question]]
    responses: Mapping[str, Figure]


def read_sheet(key: str, table: Table, known: Known) -> Sheet:
    """Read a sheet; its mistakes are noted in its document, so it counts only if there are none."""
    table.only(SHEET_KEYS)
    roles = _roles(table)
    limits = {k: _limit(k, table.table("limits").table(k), roles, known) for k in table.table("limits").data}
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


def _limit(key: str, table: Table, roles: Mapping[str, tuple[str, ...]], known: Known) -> Limit:
    table.only(LIMIT_KEYS)
    quantity = _quantity(table)
    role = _role(table, quantity, roles)
    side = table.choice("side", SIDES)
    unit = QUANTITIES[quantity].unit if quantity else "the quantity's unit"
    if (found := table.text("unit")) and quantity and found != unit:
        table.fault("unit", f"is {found!r}", f"{unit!r}, the unit of {quantity}", "Convert the levels, or mend it.")
    deadband = _short(table, "deadband", unit, table.number("deadband", unit, 0.0, 1e6))
    return Limit(
        key=key,
        role=role,
        quantity=quantity,
        side=side,
        deadband=deadband,
        on_delay_ms=_on_delay(table, quantity, known),
        off_delay_ms=_delay(table, "off_delay_s"),
        levels=_levels(table, side, unit, known),
        latching=table.flag("latching", False),
        must_be_seen=table.flag("must_be_seen", True),
        causes=table.texts("causes", required=True),
        consequence=table.text("consequence"),
        what_to_do=table.text("what_to_do"),
        time_to_respond_s=round(table.number("time_to_respond_s", "seconds", 1.0, 604800.0) or 0),
    )


def _quantity(table: Table) -> str:
    quantity = table.choice("quantity", QUANTITIES)
    if quantity and QUANTITIES[quantity].derived:
        expected = "a measured quantity: " + ", ".join(MEASURED)
        do = "Limits on derived quantities are not in this version."
        table.fault("quantity", f"is {quantity!r}, which is derived", expected, do)
        return ""
    return quantity


def _role(table: Table, quantity: str, roles: Mapping[str, tuple[str, ...]]) -> str:
    """Find the role whose channels are judged: the one named, else the only one that gives the quantity."""
    role = table.choice("role", roles) if "role" in table.data else ""
    giving = [name for name, quantities in roles.items() if quantity in quantities]
    if not quantity or ("role" in table.data and not role):
        return role
    if role and role not in giving:
        do = "Choose another quantity, or add it to the role."
        table.fault("quantity", f"{quantity!r} is not given by the role {role!r}", "a quantity of the role", do)
    elif not giving:
        do = "Choose another quantity, or add it to a role."
        table.fault("quantity", f"{quantity!r} is not given by any role", "a quantity of one of the roles", do)
    elif not role and len(giving) > 1:
        do = 'Add role = "..." to this limit.'
        table.fault("role", f"is missing, and several roles give {quantity}", "one of " + ", ".join(giving), do)
    return role or (giving[0] if giving else "")


def _delay(table: Table, key: str) -> int:
    seconds = table.number(key, "seconds", 0.0, 86400.0)
    if seconds is not None and abs(seconds * 1000 - round(seconds * 1000)) > 1e-6:
        table.fault(key, f"is {seconds!r}", "whole milliseconds", "Round it.")
    return round((seconds or 0.0) * 1000)


def _on_delay(table: Table, quantity: str, known: Known) -> int:
    """Read the on-delay; shorter than the sensor needs to see 90 % of a step, it judges the sensor, not the air."""
    before = len(table.doc.problems)
    milliseconds = _delay(table, "on_delay_s")
    if not quantity or len(table.doc.problems) > before:
        return milliseconds
    response = known.responses.get(quantity)
    if response is None or response.value is None:
        do = f"Add [response.{quantity}] with time_constant_s to sensors.toml."
        table.fault("quantity", f"no response time is known for {quantity}", "one in the catalogue", do)
        return milliseconds
    least_s = TIME_CONSTANTS_TO_90 * response.value
    if milliseconds < least_s * 1000:
        expected = f"{least_s:g} s or more, {TIME_CONSTANTS_TO_90:g} time constants of the sensor"
        do = "A shorter delay would warn of the sensor's own lag; make it longer."
        table.fault("on_delay_s", f"is {milliseconds / 1000:g} s", expected, do)
    return milliseconds


def _levels(table: Table, side: str, unit: str, known: Known) -> tuple[Level, ...]:
    levels: list[Level] = []
    for inner in table.tables("levels"):
        level = _level(inner, unit, known)
        if level is None:
            continue
        if levels and side and level.priority and levels[-1].priority:
            _in_order(inner, levels[-1], level, side)
        levels.append(level)
    if not table.data.get("levels"):
        do = "Add levels = [ { at, priority, source, grade } ]."
        table.fault("levels", "there is no level", "one at least", do)
    return tuple(levels)


def _in_order(table: Table, before: Level, level: Level, side: str) -> None:
    beyond = level.at > before.at if side == "high" else level.at < before.at
    if not beyond or PRIORITIES.index(level.priority) <= PRIORITIES.index(before.priority):
        expected = f"further out than {before.at:g} and more urgent than {before.priority}"
        found = f"{level.at:g}, {level.priority}, stands after a level as severe"
        table.fault("at", found, expected, "Put the mildest first.")


def _level(table: Table, unit: str, known: Known) -> Level | None:
    table.only(LEVEL_KEYS)
    at = table.number("at", unit)
    priority = table.choice("priority", PRIORITIES)
    grade = read_grade(table)
    source, locator = read_origin(table, grade, known.sources)
    note = table.text("note", "")
    if at is None or grade is None:
        return None
    return Level(_short(table, "at", unit, at), priority, source, str(grade), locator, note)


def _short(table: Table, key: str, unit: str, value: float | None) -> float:
    """Pass a number on that the record can carry; it writes six figures."""
    if value is not None and float(f"{value:g}") != value:
        table.fault(key, f"is {shown(table.data[key])}", f"six figures at most, {unit}", f"Round it to {value:g}.")
    return value or 0.0
