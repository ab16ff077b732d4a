"""What a story says of its simulated studio before it starts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from monitor.errors import BadInput
from monitor.probes.studio.stack import BASES

MONDAY_0900_MS = 1_777_885_200_000
"""2026-05-04T09:00:00Z, ms since 1970: the invented studio's working week begins."""


TOOL_START_C = (0, 200)


@dataclass(frozen=True, slots=True)
class WorldConfig:
    """The fixed circumstances of one simulated studio.

    Attributes:
        seed: of every chance in the world: noise of air and probes, how each contact is made.
        start_wall_ms: UTC in ms at mono 0; gives the phase of the daily swing.
        tool_probe: the probe whose junction is fixed to the tip of the heated spatula.
        room_probe: the probe that hangs in the room's air.
        other_probes: further names; they feel the room's air, each a little off.
        join_probe: a fine wire in the join of a mock-up, if there is one.
        join_place: the place in whose join that wire lies.
        base: what lies under the work, a key of `stack.BASES`.
        tool_start_c: the spatula's temperature at mono 0, degC; None leaves it as warm as the air. It is off until
            it is switched on.

    Errors:
        BadInput: an unknown base, one name for two probes, or a tool colder or hotter than one can be.
    """

    seed: int = 1
    start_wall_ms: int = MONDAY_0900_MS
    tool_probe: str = "spatula"
    room_probe: str = "room"
    other_probes: tuple[str, ...] = ()
    join_probe: str | None = None
    join_place: int = 0
    base: str = "felt"
    tool_start_c: int | None = None

    def __post_init__(self) -> None:
        if self.base not in BASES:
            raise BadInput("the world's base", repr(self.base), f"one of {', '.join(BASES)}", "Name one of these.")
        low, high = TOOL_START_C
        if self.tool_start_c is not None and not low <= self.tool_start_c <= high:
            found = f"{self.tool_start_c} degC"
            raise BadInput("the world's tool_start_c", found, f"{low} to {high} degC", "Mend it or leave it out.")
        for name in self.probes:
            if self.probes.count(name) > 1:
                raise BadInput("the world's probes", f"{name!r} twice", "one name a probe", "Rename one of them.")

    @property
    def probes(self) -> tuple[str, ...]:
        """List every probe the world knows."""
        join = () if self.join_probe is None else (self.join_probe,)
        return (self.tool_probe, self.room_probe, *self.other_probes, *join)


KEYS: dict[str, type] = {
    "seed": int,
    "tool_probe": str,
    "room_probe": str,
    "join_probe": str,
    "join_place": int,
    "base": str,
    "tool_start_c": int,
}


def world_config(table: Mapping[str, object], probes: Iterable[str], start_wall_ms: int) -> WorldConfig:
    """Read a story's table about its world.

    Args:
        table: keys `seed`, `tool_probe`, `room_probe`, `join_probe`, `join_place`, `base`,
            `tool_start_c`; all may be left out.
        probes: every probe of the studio; those without a part in the table hang in the room's air.
        start_wall_ms: UTC in ms at mono 0.

    Errors:
        BadInput: an unknown key, a value of the wrong kind, a probe the studio does not have.
    """
    known = set(probes)
    for key, value in table.items():
        _check(key, value, known)
    named = {table.get("tool_probe", "spatula"), table.get("room_probe", "room"), table.get("join_probe")}
    others = tuple(sorted(known - named))
    return WorldConfig(start_wall_ms=start_wall_ms, other_probes=others, **dict(table))  # type: ignore[arg-type]


def _check(key: str, value: object, probes: set[str]) -> None:
    """Refuse an entry of a story's table that cannot be used."""
    thing, do = f"the world's key {key!r}", "Correct it."
    if key not in KEYS:
        raise BadInput(thing, "unknown", f"one of {', '.join(KEYS)}", "Correct or remove it.")
    if type(value) is not KEYS[key]:
        raise BadInput(thing, repr(value), _words(KEYS[key]), do)
    if key.endswith("_probe") and value not in probes:
        raise BadInput(thing, repr(value), f"one of {', '.join(sorted(probes))}", do)


def _words(kind: type) -> str:
    return "a whole number" if kind is int else "a name in quotes"
