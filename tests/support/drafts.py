"""Day-book drafts as a fold gives them, for tests of the store; each is held against its kind."""

from __future__ import annotations

from typing import Any

from monitor.bench.kinds import check_body
from monitor.bench.outputs import Draft

BENCH = "long table"
STEP = "s1"


def draft(kind: str, mono_ms: int, body: dict[str, Any], step: str | None = None, by: str | None = None) -> Draft:
    """Give a draft whose body fits its kind."""
    check_body(kind, body)
    return Draft(kind, mono_ms, body, step=step, bench=BENCH, by=by, via="command" if by else "station")


def note(mono_ms: int, text: str = "the tacking edge is frail") -> Draft:
    """Give a written note."""
    return draft("note_written", mono_ms, {"text": text}, by="MK")


def note_asked(mono_ms: int, text: str) -> Draft:
    """Give the input row of a note."""
    return draft("note_asked", mono_ms, {"step": None, "text": text}, by="MK")


def painting(mono_ms: int, number: str = "2026/14", name: str = "Harbour at dusk") -> Draft:
    """Give a painting that was entered."""
    beware = ["flaking along the tacking edge"]
    body = {"number": number, "name": name, "support": "linen, plain weave", "beware": beware}
    return draft("painting_added", mono_ms, body, by="MK")


def step_started(mono_ms: int, step: str = STEP) -> Draft:
    """Give a started step."""
    body = {
        "sheet": "heat-seal-spatula", "title": "Strip-lining", "painting": "2026/14", "stage": "warm-up",
        "side": "left", "places": 16,
    }  # fmt: skip
    return draft("step_started", mono_ms, body, step, by="MK")


def binding_started(mono_ms: int, step: str = STEP) -> Draft:
    """Give the tool's binding."""
    body = {"role": "tool", "probe": "spatula", "touches": "the tool", "channels": ["spatula.tool_temperature"]}
    return draft("binding_started", mono_ms, body, step)


def binding_ended(mono_ms: int, step: str = STEP) -> Draft:
    """End the tool's binding."""
    return draft("binding_ended", mono_ms, {"role": "tool", "probe": "spatula"}, step)


def contact(kind: str, mono_ms: int, place: int, pass_no: int = 1, **more: Any) -> Draft:
    """Give a row about a contact."""
    which = {"side": "left", "place": place, "pass": pass_no}
    probe = {} if kind == "place_judged" else {"probe": "spatula"}
    return draft(kind, mono_ms, {**which, **probe, **more}, STEP)


def contact_ended(mono_ms: int, place: int, milliseconds: int, pass_no: int = 1) -> Draft:
    """Give the end of a contact."""
    return contact(
        "contact_ended", mono_ms, place, pass_no, ended_by="mark", milliseconds=milliseconds, readings=40, gaps=0,
        tool_low="64.0", tool_mean="66.2", tool_high="68.1",
    )  # fmt: skip


def judged(mono_ms: int, place: int, verdict: str = "reached", pass_no: int = 1) -> Draft:
    """Give a verdict."""
    return contact(
        "place_judged", mono_ms, place, pass_no, verdict=verdict, reason="band above", bond_line=[], face=[]
    )  # fmt: skip


def whole_step(from_ms: int = 1000) -> list[Draft]:
    """Give a short step: a painting, a binding, three contacts of which one is taken back."""
    t = from_ms
    return [
        painting(t), step_started(t + 10), binding_started(t + 10),
        draft("stage_started", t + 500, {"stage": "contacts", "title": "Contacts"}, STEP),
        contact("contact_started", t + 1000, 1), contact_ended(t + 21_000, 1, 20_000), judged(t + 21_010, 1),
        contact("contact_started", t + 30_000, 2), contact("contact_voided", t + 31_000, 2, reason="wrong place"),
        contact("contact_started", t + 40_000, 2), contact_ended(t + 52_000, 2, 12_000),
        judged(t + 52_010, 2, "not reached"),
        binding_ended(t + 60_000),
        draft("step_finished", t + 60_000, {"sheet": "heat-seal-spatula", "seconds": 60}, STEP),
    ]  # fmt: skip
