"""What a story may do to the simulated world, checked before anything is done."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from monitor.errors import BadInput
from monitor.probes.sensed import Fault

if TYPE_CHECKING:
    from monitor.probes.studio.world import World

DO = "Write one of: " + ", ".join(
    (
        '{tool="on", set_c=78}',
        '{tool="off"}',
        '{set_down="place", place=3}',
        "{lift=true}",
        '{rest="stand"}',
        "{humid=true, rh_pct=72, over_s=600}",
        "{humid=false}",
        '{fault="open thermocouple", probe="spatula"}',
        '{mend="spatula"}',
    )
)
SET_C = (30.0, 200.0)
RH_PCT = (1.0, 110.0)
OVER_S = (1.0, 86_400.0)


@dataclass(frozen=True, slots=True)
class Verb:
    """One kind of action: the keys it takes besides its own, required and optional, and what it does."""

    needs: frozenset[str]
    may: frozenset[str]
    do: Callable[[World, Mapping[str, object]], None]


def perform(world: World, action: Mapping[str, object]) -> None:
    """Do one action at the instant the world stands at; BadInput names what is wrong with it."""
    verb, key = _verb(action)
    keys = set(action) - {key}
    for missing in sorted(verb.needs - keys):
        raise _bad(action, f"no {missing!r}", f"{missing!r} beside {key!r}")
    for extra in sorted(keys - verb.needs - verb.may):
        raise _bad(action, f"unknown key {extra!r}", f"only {sorted({key} | verb.needs | verb.may)}")
    verb.do(world, action)


def _verb(action: Mapping[str, object]) -> tuple[Verb, str]:
    """Find the action's kind by its leading key and, for the tool and the humid hour, its value."""
    leading = [key for key in ("tool", "set_down", "lift", "rest", "humid", "fault", "mend") if key in action]
    if len(leading) != 1:
        raise _bad(action, f"{len(leading)} things to do", "exactly one")
    key = leading[0]
    said = action[key]
    for (name, value), verb in VERBS.items():
        if name == key and (value is None or (type(said) is type(value) and said == value)):
            return verb, key
    values = " or ".join(repr(value) for name, value in VERBS if name == key)
    raise _bad(action, f"{key} = {said!r}", f"{key} = {values}")


def _tool_on(world: World, action: Mapping[str, object]) -> None:
    world.tool.set_c = _number(action, "set_c", SET_C)


def _tool_off(world: World, action: Mapping[str, object]) -> None:  # noqa: ARG001
    world.tool.set_c = None


def _set_down(world: World, action: Mapping[str, object]) -> None:
    place = action["place"]
    if not isinstance(place, int) or isinstance(place, bool) or place < 0:
        raise _bad(action, f"place = {place!r}", "a whole number from 0")
    if world.place is not None:
        raise _bad(action, f"the tool stands on place {world.place}", "a tool that was lifted")
    world.set_down(place)


def _lift(world: World, action: Mapping[str, object]) -> None:
    if world.place is None:
        raise _bad(action, "the tool stands on no place", "a tool set down before")
    world.lift()


def _rest(world: World, action: Mapping[str, object]) -> None:  # noqa: ARG001
    if world.place is not None:
        world.lift()
    world.tool.on_stand = True


def _humid(world: World, action: Mapping[str, object]) -> None:
    world.room.humid(_number(action, "rh_pct", RH_PCT), _number(action, "over_s", OVER_S))


def _air_out(world: World, action: Mapping[str, object]) -> None:
    world.room.air_out(_number(action, "over_s", OVER_S) if "over_s" in action else None)


def _fault(world: World, action: Mapping[str, object]) -> None:
    try:
        fault = Fault(_text(action, "fault"))
    except ValueError:
        raise _bad(action, f"fault = {action['fault']!r}", f"one of {', '.join(Fault)}") from None
    world.sick.strike(_text(action, "probe"), fault)


def _mend(world: World, action: Mapping[str, object]) -> None:
    world.sick.mend(_text(action, "mend"))


def _number(action: Mapping[str, object], key: str, within: tuple[float, float]) -> float:
    """Read a number of an action, within its bounds."""
    value = action[key]
    if isinstance(value, bool) or not isinstance(value, int | float) or not within[0] <= value <= within[1]:
        raise _bad(action, f"{key} = {value!r}", f"a number from {within[0]:g} to {within[1]:g}")
    return float(value)


def _text(action: Mapping[str, object], key: str) -> str:
    """Read a name of an action."""
    value = action[key]
    if not isinstance(value, str):
        raise _bad(action, f"{key} = {value!r}", "a name in quotes")
    return value


def _bad(action: Mapping[str, object], found: str, expected: str) -> BadInput:
    return BadInput(f"world action {dict(action)!r}", found, expected, DO)


NONE: frozenset[str] = frozenset()
VERBS: dict[tuple[str, object], Verb] = {
    ("tool", "on"): Verb(frozenset({"set_c"}), NONE, _tool_on),
    ("tool", "off"): Verb(NONE, NONE, _tool_off),
    ("set_down", "place"): Verb(frozenset({"place"}), NONE, _set_down),
    ("lift", True): Verb(NONE, NONE, _lift),
    ("rest", "stand"): Verb(NONE, NONE, _rest),
    ("humid", True): Verb(frozenset({"rh_pct", "over_s"}), NONE, _humid),
    ("humid", False): Verb(NONE, frozenset({"over_s"}), _air_out),
    ("fault", None): Verb(frozenset({"probe"}), NONE, _fault),
    ("mend", None): Verb(NONE, NONE, _mend),
}
