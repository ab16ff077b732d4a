"""A working sheet as the fold holds it: roles, stages and limits, each figure with its source.

The catalogue builds it, the request that starts a step carries it (`as_json`), and the
day-book keeps it there: what was in force is read from the record, never from the catalogue.
Numbers travel as decimal strings because the record is hashed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from monitor.bench.quantities import QUANTITIES

PRIORITIES = ("low", "medium", "high")
SIDES = ("high", "low")
GRAVITIES = ("slight", "serious", "grave")
MARGINS = ("k2",)
"""k2: twice the standard uncertainty that the probe's error lends to what it reads."""
PLACES_OF_LEVELS = 6


@dataclass(frozen=True)
class Level:
    """One level of a limit: beyond `at` for the on-delay it warns with `priority`."""

    at: float
    priority: str
    source: str
    grade: str
    locator: str = ""
    note: str = ""

    def as_json(self) -> dict[str, Any]:
        """Give the level as a day-book body may hold it."""
        return {
            "at": f"{self.at:g}", "priority": self.priority, "source": self.source,
            "grade": self.grade, "locator": self.locator, "note": self.note,
        }  # fmt: skip

    @classmethod
    def from_json(cls, body: dict[str, Any]) -> Level:
        """Read what `as_json` wrote."""
        return cls(**{**body, "at": float(body["at"])})


@dataclass(frozen=True)
class Guard:
    """By how much a channel's levels are drawn in for its probe's error, and where the error is from.

    Attributes:
        channel: whose levels.
        by: the expanded uncertainty, in the quantity's unit.
    """

    channel: str
    by: float
    source: str
    grade: str
    locator: str = ""

    def as_json(self) -> dict[str, Any]:
        """Give the guard as a day-book body may hold it."""
        return {"channel": self.channel, "by": f"{self.by:g}", "source": self.source, "grade": self.grade,
                "locator": self.locator}  # fmt: skip

    @classmethod
    def from_json(cls, body: dict[str, Any]) -> Guard:
        """Read what `as_json` wrote."""
        return cls(**{**body, "by": float(body["by"])})


@dataclass(frozen=True)
class Limit:
    """A limit on one quantity of the channels bound to a role.

    Equal to a level is not beyond it. A level is left again when the value is back past it
    by `deadband` or more, for the off-delay.

    Attributes:
        key: name within its sheet.
        role: role of the sheet whose channels it judges.
        quantity, side: what is judged, and "high" or "low".
        deadband: in the quantity's unit.
        on_delay_ms, off_delay_ms: how long a condition must hold.
        latching: stays until reset.
        must_be_seen: stays listed until seen though the condition has ended.
        levels: mildest first.
        causes, consequence, what_to_do, time_to_respond_s: why it warns and what it asks.
        consequence_is: how grave that is, one of `GRAVITIES`; "" where the sheet does not say.
        re_alarm_ms: seen and still standing after so long, it warns again; 0 for never.
        margin: one of `MARGINS`: its levels are drawn in for the probe's error; "" where they are not.
        guards: by how much, for each channel; worked out when the step is started.
        of: what a quantity of a stretch of time is made of; "" for what it is made of by default.
        threshold: what minutes are counted above, in the unit of `of`.
    """

    key: str
    role: str
    quantity: str
    side: str
    deadband: float
    on_delay_ms: int
    off_delay_ms: int
    levels: tuple[Level, ...]
    latching: bool = False
    must_be_seen: bool = True
    causes: tuple[str, ...] = ()
    consequence: str = ""
    what_to_do: str = ""
    time_to_respond_s: int = 0
    consequence_is: str = ""
    re_alarm_ms: int = 0
    margin: str = ""
    guards: tuple[Guard, ...] = ()
    of: str = ""
    threshold: float = 0.0

    def judged_at(self, level: Level, channel: str) -> float:
        """Give what a level is judged at on a channel: as set, or that less the margin for the probe's error."""
        by = next((guard.by for guard in self.guards if guard.channel == channel), 0.0)
        return round(level.at - by if self.side == "high" else level.at + by, PLACES_OF_LEVELS) if by else level.at

    @property
    def words(self) -> str:
        """Name the limit as a sentence does, for instance `relative humidity, at most`."""
        return f"{self.what}, {'at most' if self.side == 'high' else 'at least'}"

    @property
    def what(self) -> str:
        """Name what it judges, for instance `minutes of humidity at the canvas above 75 %`."""
        return what_is_judged(self.quantity, self.of, self.threshold)

    def as_json(self) -> dict[str, Any]:
        """Give the limit as a day-book body may hold it; what it leaves out is as by default."""
        return {
            "key": self.key, "role": self.role, "quantity": self.quantity, "side": self.side,
            "deadband": f"{self.deadband:g}", "on_delay_ms": self.on_delay_ms,
            "off_delay_ms": self.off_delay_ms, "levels": [level.as_json() for level in self.levels],
            "latching": self.latching, "must_be_seen": self.must_be_seen,
            "causes": list(self.causes), "consequence": self.consequence,
            "what_to_do": self.what_to_do, "time_to_respond_s": self.time_to_respond_s,
            **{name: value for name in _LATER if (value := getattr(self, name))},
            **({"threshold": f"{self.threshold:g}"} if self.quantity == "minutes_above" else {}),
            **({"guards": [guard.as_json() for guard in self.guards]} if self.guards else {}),
        }  # fmt: skip

    @classmethod
    def from_json(cls, body: dict[str, Any]) -> Limit:
        """Read what `as_json` wrote, of this or an earlier version."""
        levels = tuple(Level.from_json(level) for level in body["levels"])
        guards = tuple(Guard.from_json(guard) for guard in body.get("guards", ()))
        read = {"deadband": float(body["deadband"]), "levels": levels, "causes": tuple(body["causes"]),
                "threshold": float(body.get("threshold", 0))}  # fmt: skip
        return cls(**{**body, **read, "guards": guards})


def what_is_judged(quantity: str, of: str, threshold: float) -> str:
    """Name a quantity, and of one of a stretch of time what it is made of if that is said."""
    words = QUANTITIES[quantity].words
    if not of:
        return words
    if quantity != "minutes_above":
        return f"{QUANTITIES[of].words}, {words}"
    return f"minutes of {QUANTITIES[of].words} above {threshold:g} {QUANTITIES[of].symbol}"


_LATER = ("consequence_is", "re_alarm_ms", "margin", "of")
"""What a limit's JSON form may hold beyond that of the first version, where it is not as by default."""


@dataclass(frozen=True)
class Stage:
    """A part of a sheet. Limits it does not list are off while it runs.

    `has_contacts` tells that the tool is set down on places during it.
    """

    key: str
    title: str
    limits: tuple[str, ...]
    sentence: str = ""
    has_contacts: bool = False

    def as_json(self) -> dict[str, Any]:
        """Give the stage as a day-book body may hold it."""
        return {
            "key": self.key, "title": self.title, "limits": list(self.limits),
            "sentence": self.sentence, "has_contacts": self.has_contacts,
        }  # fmt: skip

    @classmethod
    def from_json(cls, body: dict[str, Any]) -> Stage:
        """Read what `as_json` wrote."""
        return cls(**{**body, "limits": tuple(body["limits"])})


@dataclass(frozen=True)
class Question:
    """What is asked when a step is started; an answer is required.

    With `choices` the answer is one of them; without, any words.
    """

    key: str
    text: str
    choices: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Give the question as a day-book body may hold it."""
        return {"key": self.key, "text": self.text, "choices": list(self.choices)}

    @classmethod
    def from_json(cls, body: dict[str, Any]) -> Question:
        """Read what `as_json` wrote."""
        return cls(body["key"], body["text"], tuple(body["choices"]))


@dataclass(frozen=True)
class Sheet:
    """A working sheet: the template of a step.

    Attributes:
        key, title: its name, and its name on screens.
        roles: role -> measured quantities a probe in it must give.
        stages: in order; the first runs when the step starts.
        limits: all limits, by key.
        cautions: sentences shown where the work happens.
        asks_painting: False for the watch of the room.
        asks: questions put when a step is started.
    """

    key: str
    title: str
    roles: dict[str, tuple[str, ...]]
    stages: tuple[Stage, ...]
    limits: dict[str, Limit]
    cautions: tuple[str, ...] = ()
    asks_painting: bool = True
    asks: tuple[Question, ...] = ()

    @property
    def has_places(self) -> bool:
        """Tell whether any stage sets a tool down on numbered places."""
        return any(stage.has_contacts for stage in self.stages)

    @property
    def only_proposals(self) -> bool:
        """Tell whether no limit rests on anything but our own proposals."""
        return all(level.grade == "proposal" for limit in self.limits.values() for level in limit.levels)

    def as_json(self) -> dict[str, Any]:
        """Give the sheet as a day-book body may hold it."""
        return {
            "key": self.key, "title": self.title,
            "roles": {role: list(quantities) for role, quantities in self.roles.items()},
            "stages": [stage.as_json() for stage in self.stages],
            "limits": {key: limit.as_json() for key, limit in self.limits.items()},
            "cautions": list(self.cautions), "asks_painting": self.asks_painting,
            "asks": [question.as_json() for question in self.asks],
        }  # fmt: skip

    @classmethod
    def from_json(cls, body: dict[str, Any]) -> Sheet:
        """Read what `as_json` wrote."""
        return cls(
            key=body["key"],
            title=body["title"],
            roles={role: tuple(quantities) for role, quantities in body["roles"].items()},
            stages=tuple(Stage.from_json(stage) for stage in body["stages"]),
            limits={key: Limit.from_json(limit) for key, limit in body["limits"].items()},
            cautions=tuple(body["cautions"]),
            asks_painting=body["asks_painting"],
            asks=tuple(Question.from_json(question) for question in body["asks"]),
        )
