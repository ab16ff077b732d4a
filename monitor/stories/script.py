"""A story's script: its studio, and what the world and the people do, minute by minute.

`[story]` names title, seed, boot, start, length and the studio, whose configuration is a file
beside it; `[[paintings]]` are in hand at the start, and each `[[do]]` is one act.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from monitor.clock import from_iso
from monitor.config import Studio, load_studio
from monitor.errors import BadInput
from monitor.link.messages import VERBS
from monitor.tomlfile import Document, Problems, Table, open_toml, raise_problems

FOLDER = Path(__file__).parent
STUDIO = ".studio.toml"
AT = re.compile(r"(\d{1,3}):([0-5]\d):([0-5]\d(?:\.\d{1,3})?)")
MARK_AGE_MS = 400  # a hand is slower than the tool: the mark comes later and is dated back
ACTS = ("ask", "world", "contact", "expect")


@dataclass(frozen=True)
class Act:
    """One thing that is done.

    Attributes:
        at_ms: after the story's start.
        line: in the file.
        who: initials, or None.
        ask, body, age_ms: a request through the link; body texts that begin with `$` name a step.
        keep: name under which the step that a request starts is known afterwards.
        world: what happens in the simulated studio.
        expect: what the view must show now.
    """

    at_ms: int
    line: int
    who: str | None = None
    ask: str = ""
    body: dict[str, Any] = field(default_factory=dict)
    age_ms: int = 0
    keep: str = ""
    world: dict[str, Any] | None = None
    expect: dict[str, Any] | None = None


@dataclass(frozen=True)
class Script:
    """A whole story; `world` is the table that `monitor.probes.studio.world_config` reads."""

    key: str
    title: str
    boot_id: str
    starts_ms: int
    lasts_ms: int
    studio: Studio
    world: dict[str, Any]
    acts: tuple[Act, ...]


def names() -> list[str]:
    """List the stories there are."""
    return sorted(path.stem for path in FOLDER.glob("*.toml") if not path.name.endswith(STUDIO))


def load_story(name: str) -> Script:
    """Load a story by name; BadInput lists those there are."""
    if name not in names():
        raise BadInput(f"story {name!r}", "there is none", f"one of {', '.join(names())}", "Choose one of these.")
    return read_story(FOLDER / f"{name}.toml")


def read_story(path: Path) -> Script:
    """Read a story's file.

    Raises:
        BadInput: the file cannot be read.
        ManyProblems: every mistake in it, each with line and key.
    """
    problems: Problems = []
    doc = open_toml(path, problems)
    raise_problems(str(path), problems)
    root = doc.root
    root.only(("story", "world", "paintings", "do"))
    head = root.table("story")
    head.only(("title", "boot_id", "studio", "starts_at", "lasts"))
    title, boot_id, name = head.text("title"), head.text("boot_id"), head.text("studio")
    starts_ms, lasts_ms = _starts(head), _clock(head, "lasts")
    acts = sorted([*_paintings(root), *_acts(root)], key=lambda act: act.at_ms)
    for act in acts:
        if act.at_ms >= lasts_ms > 0:
            problems.append((doc.name, act.line, f"{doc.name}, line {act.line}: lies after the story's end."))
    raise_problems(str(path), problems)
    studio = load_studio(path.parent / f"{name}{STUDIO}")
    return Script(path.stem, title, boot_id, starts_ms, lasts_ms, studio, dict(root.table("world").data), tuple(acts))


def _starts(head: Table) -> int:
    text = head.text("starts_at")
    try:
        return from_iso(text) if text else 0
    except ValueError:
        head.fault("starts_at", f"is {text!r}", "an instant such as 2026-05-04T09:00:00Z", "Write it in UTC.")
        return 0


def _clock(table: Table, key: str) -> int:
    """Read HH:MM:SS as ms."""
    text = table.text(key)
    match = AT.fullmatch(text)
    if match is None:
        if text:
            table.fault(key, f"is {text!r}", "HH:MM:SS after the start", "Write for instance 00:07:30.")
        return 0
    hours, minutes, seconds = match.groups()
    return int(hours) * 3_600_000 + int(minutes) * 60_000 + round(float(seconds) * 1000)


def _line(table: Table) -> int:
    return table.doc.lines.get(table.path, 0)


def _paintings(root: Table) -> Iterator[Act]:
    for count, painting in enumerate(root.tables("paintings"), start=1):
        painting.only(("number", "name", "support", "beware", "by"))
        body = {
            "number": painting.text("number"),
            "name": painting.text("name"),
            "support": painting.text("support", ""),
            "beware": list(painting.texts("beware")),
        }
        yield Act(count * 1000, _line(painting), painting.text("by"), "add_painting", body)


def _acts(root: Table) -> Iterator[Act]:
    for act in root.tables("do"):
        act.only(("at", "who", "keep", "body", "age_ms", *ACTS))
        chosen = [key for key in ACTS if key in act.data]
        if len(chosen) != 1:
            act.fault("", f"has {len(chosen)} of {', '.join(ACTS)}", "exactly one", "Split it, or add one.")
            continue
        at_ms, line, who = _clock(act, "at"), _line(act), act.text("who", "") or None
        if chosen[0] == "ask":
            yield _asking(act, at_ms, line, who)
        elif chosen[0] == "contact":
            yield from _contact(act, at_ms, line, who)
        else:
            table = dict(act.table(chosen[0]).data)
            world = chosen[0] == "world"
            yield Act(at_ms, line, world=table if world else None, expect=None if world else table)


def _asking(act: Table, at_ms: int, line: int, who: str | None) -> Act:
    verb = act.choice("ask", [*VERBS])
    age = act.number("age_ms", "ms", 0, 2000) if "age_ms" in act.data else 0
    return Act(at_ms, line, who, verb, dict(act.table("body").data), int(age or 0), act.text("keep", ""))


def _contact(act: Table, at_ms: int, line: int, who: str | None) -> Iterator[Act]:
    """A contact in four acts: set down, marked a little later; lifted, marked a little later."""
    contact = act.table("contact")
    contact.only(("step", "place", "hold_s"))
    step = contact.text("step")
    place = contact.number("place", "places", 1, 200)
    hold_s = contact.number("hold_s", "s", 1, 3600)
    up_ms = at_ms + round((hold_s or 1) * 1000)
    yield Act(at_ms, line, world={"set_down": "place", "place": int(place or 1)})
    down = {"step": step, "mark": "down", "place": int(place or 1)}
    yield Act(at_ms + MARK_AGE_MS, line, who, "mark", down, MARK_AGE_MS)
    yield Act(up_ms, line, world={"lift": True})
    yield Act(up_ms + MARK_AGE_MS, line, who, "mark", {"step": step, "mark": "lift"}, MARK_AGE_MS)


__all__ = ["Act", "Document", "Script", "load_story", "names", "read_story"]
