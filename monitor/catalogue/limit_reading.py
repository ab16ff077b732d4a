"""A sheet's limits out of TOML: no limit without source, cause, consequence and what to do."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from monitor.bench.derived import DERIVED
from monitor.bench.quantities import MEASURED, QUANTITIES
from monitor.bench.sheets import GRAVITIES, MARGINS, PRIORITIES, SIDES, Level, Limit
from monitor.bench.windowed import WINDOWS
from monitor.catalogue.defaulting import TIME_CONSTANTS_TO_90, default_of, slowest_s
from monitor.catalogue.figure_reading import read_grade, read_origin
from monitor.catalogue.model import Entry
from monitor.catalogue.stretch_reading import LEAST_DELAY_MS, made_of, read_of
from monitor.figures import Figure
from monitor.tomlfile import Table, shown

SURFACE = "surface_temperature"
LIMIT_KEYS = (
    "role", "quantity", "side", "unit", "deadband", "on_delay_s", "off_delay_s", "latching", "must_be_seen",
    "levels", "causes", "consequence", "what_to_do", "time_to_respond_s", "of", "threshold",
    "consequence_is", "re_alarm_s", "margin",
)  # fmt: skip
LEVEL_KEYS = ("at", "priority", "source", "grade", "locator", "note", "test")

Roles = Mapping[str, tuple[str, ...]]
Responses = Mapping[str, Figure]
Defaults = Mapping[str, Entry]
LONGEST_S = 604800.0  # a week
SHORTEST_AGAIN_S = 10.0


def read_limit(
    key: str, table: Table, roles: Roles, sources: Collection[str], responses: Responses, defaults: Defaults
) -> Limit:
    """Read a limit; what it leaves out is as its quantity's default. Mistakes are noted in its document."""
    table.only(LIMIT_KEYS)
    quantity = _quantity(table)
    of, threshold = read_of(table, quantity)
    role = _role(table, made_of(quantity, of), roles)
    side = table.choice("side", SIDES)
    unit = QUANTITIES[quantity].unit if quantity else "the quantity's unit"
    if (found := table.text("unit")) and quantity and found != unit:
        table.fault("unit", f"is {found!r}", f"{unit!r}, the unit of {quantity}", "Convert the levels, or mend it.")
    deadband = default_of(defaults, quantity, "deadband") if "deadband" not in table.data else None
    if deadband is None:
        deadband = _short(table, "deadband", unit, table.number("deadband", unit, 0.0, 1e6))
    return Limit(
        key=key,
        role=role,
        quantity=quantity,
        side=side,
        deadband=deadband,
        on_delay_ms=_on_delay(table, quantity, responses, defaults),
        off_delay_ms=_delay(table, "off_delay_s", default_of(defaults, quantity, "off_delay_s")),
        levels=_levels(table, side, unit, sources),
        latching=table.flag("latching", False),
        must_be_seen=table.flag("must_be_seen", True),
        causes=table.texts("causes", required=True),
        consequence=table.text("consequence"),
        what_to_do=table.text("what_to_do"),
        time_to_respond_s=round(table.number("time_to_respond_s", "seconds", 1.0, LONGEST_S) or 0),
        of=of,
        threshold=threshold,
        consequence_is=table.choice("consequence_is", GRAVITIES) if "consequence_is" in table.data else "",
        re_alarm_ms=_re_alarm(table),
        margin=_margin(table, quantity),
    )


def _re_alarm(table: Table) -> int:
    if "re_alarm_s" not in table.data:
        return 0
    return 1000 * round(table.number("re_alarm_s", "seconds", SHORTEST_AGAIN_S, LONGEST_S) or 0)


def _margin(table: Table, quantity: str) -> str:
    """Read which margin is kept for the probe's error; what is computed has an error that depends on its inputs."""
    if "margin" not in table.data:
        return ""
    if quantity and QUANTITIES[quantity].derived:
        do = "Set the level itself lower or higher by what you keep."
        table.fault("margin", f"stands beside {quantity}, which is computed", "a measured quantity", do)
    return table.choice("margin", MARGINS)


def _quantity(table: Table) -> str:
    quantity = table.choice("quantity", QUANTITIES)
    if quantity and QUANTITIES[quantity].derived and quantity not in DERIVED and quantity not in WINDOWS:
        expected = "one of " + ", ".join((*MEASURED, *DERIVED, *WINDOWS))
        do = "Choose another; limits on this are not in this version."
        table.fault("quantity", f"is {quantity!r}, which nothing works out yet", expected, do)
        return ""
    return quantity


def _role(table: Table, quantity: str, roles: Roles) -> str:
    """Find the role whose channels are judged, or for a derived quantity the role of its air."""
    role = table.choice("role", roles) if "role" in table.data else ""
    if not quantity or ("role" in table.data and not role):
        return role
    if quantity in DERIVED and not DERIVED[quantity].each:
        return _air_role(table, quantity, role, roles)
    quantity = DERIVED[quantity].each if quantity in DERIVED else quantity
    giving = [name for name, quantities in roles.items() if quantity in quantities]
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


def _air_role(table: Table, quantity: str, role: str, roles: Roles) -> str:
    """Find the role of the air, the named or the first that gives it all; and see to the one surface."""
    needs = DERIVED[quantity]
    giving = [name for name, given in roles.items() if set(needs.air) <= set(given)]
    wanted = " and ".join(needs.air)
    if role and role not in giving:
        do = "Choose the role of the air, or add what is missing to it."
        table.fault("role", f"{role!r} does not give {wanted}, of which {quantity} is had", "a role that does", do)
    elif not giving:
        do = "Add them to a role."
        table.fault("quantity", f"no role gives {wanted}, of which {quantity} is had", "one role that does", do)
    surfaces = [name for name, given in roles.items() if SURFACE in given]
    if needs.surface and len(surfaces) != 1:
        found = f"{quantity!r} needs one surface, and " + (
            f"the roles {', '.join(surfaces)} give one each" if surfaces else f"no role gives {SURFACE}"
        )
        table.fault("quantity", found, f"one role of this sheet that gives {SURFACE}", "Mend the sheet's roles.")
    return role or (giving[0] if giving else "")


def _delay(table: Table, key: str, default_s: float | None = None) -> int:
    if key not in table.data and default_s is not None:
        return round(default_s * 1000)
    seconds = table.number(key, "seconds", 0.0, 86400.0)
    if seconds is not None and abs(seconds * 1000 - round(seconds * 1000)) > 1e-6:
        table.fault(key, f"is {seconds!r}", "whole milliseconds", "Round it.")
    return round((seconds or 0.0) * 1000)


def _on_delay(table: Table, quantity: str, responses: Responses, defaults: Defaults) -> int:
    """Read the on-delay; shorter than the slowest sensor needs to see 90 % of a step, it judges the sensor."""
    before = len(table.doc.problems)
    milliseconds = _delay(table, "on_delay_s", default_of(defaults, quantity, "on_delay_s"))
    if not quantity or len(table.doc.problems) > before:
        return milliseconds
    if quantity in WINDOWS:
        return _at_its_pace(table, quantity, milliseconds)
    slowest, unknown = slowest_s(quantity, responses)
    if unknown:
        do = f"Add [response.{unknown}] with time_constant_s to sensors.toml."
        table.fault("quantity", f"no response time is known for {unknown}", "one in the catalogue", do)
        return milliseconds
    least_s = TIME_CONSTANTS_TO_90 * slowest
    if milliseconds < least_s * 1000:
        expected = f"{least_s:g} s or more, {TIME_CONSTANTS_TO_90:g} time constants of the sensor"
        do = "A shorter delay would warn of the sensor's own lag; make it longer."
        table.fault("on_delay_s", f"is {milliseconds / 1000:g} s", expected, do)
    return milliseconds


def _at_its_pace(table: Table, quantity: str, milliseconds: int) -> int:
    if milliseconds < LEAST_DELAY_MS:
        expected = f"{LEAST_DELAY_MS // 1000} s or more: {quantity} is looked at once in that time"
        table.fault("on_delay_s", f"is {milliseconds / 1000:g} s", expected, "Make it longer.")
    return milliseconds


def _levels(table: Table, side: str, unit: str, sources: Collection[str]) -> tuple[Level, ...]:
    levels: list[Level] = []
    for inner in table.tables("levels"):
        level = read_level(inner, unit, sources)
        if level is None:
            continue
        if levels and side and level.priority and levels[-1].priority:
            see_order(inner, levels[-1], level, side)
        levels.append(level)
    if not table.data.get("levels"):
        do = "Add levels = [ { at, priority, source, grade } ]."
        table.fault("levels", "there is no level", "one at least", do)
    return tuple(levels)


def see_order(table: Table, before: Level, level: Level, side: str) -> None:
    """Note a level that is not further out and more urgent than the one before it."""
    beyond = level.at > before.at if side == "high" else level.at < before.at
    if not beyond or PRIORITIES.index(level.priority) <= PRIORITIES.index(before.priority):
        expected = f"further out than {before.at:g} and more urgent than {before.priority}"
        found = f"{level.at:g}, {level.priority}, stands after a level as severe"
        table.fault("at", found, expected, "Put the mildest first.")


def read_level(table: Table, unit: str, sources: Collection[str]) -> Level | None:
    """Read a level; None after a mistake."""
    table.only(LEVEL_KEYS)
    at = table.number("at", unit)
    priority = table.choice("priority", PRIORITIES)
    grade = read_grade(table)
    source, locator = read_origin(table, grade, sources)
    note = table.text("note", "")
    table.text("test", "")
    if at is None or grade is None:
        return None
    return Level(_short(table, "at", unit, at), priority, source, str(grade), locator, note)


def _short(table: Table, key: str, unit: str, value: float | None) -> float:
    """Pass a number on that the record can carry; it writes six figures."""
    if value is not None and float(f"{value:g}") != value:
        table.fault(key, f"is {shown(table.data[key])}", f"six figures at most, {unit}", f"Round it to {value:g}.")
    return value or 0.0
