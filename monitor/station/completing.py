"""Completes what people ask: from the few words of a request to the body the day-book keeps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from monitor.bench.events import canonical
from monitor.bench.kinds import NEWEST
from monitor.bench.quantities import channel_name
from monitor.bench.sheets import Sheet
from monitor.bench.state import State
from monitor.catalogue.margins import with_margins
from monitor.catalogue.model import Catalogue
from monitor.config import Studio
from monitor.errors import BadInput
from monitor.link.messages import TEST_WAY, VERBS, Request

LONGEST = 20_000  # characters of a whole request as it is recorded, the sheet apart
LONGEST_NAME = 80
OPTIONAL: dict[str, dict[str, Any]] = {
    "painting_asked": {"support": "", "beware": []},
    "note_asked": {"step": None},
    "mark_asked": {"place": None},
}
START_FIELDS = ("sheet", "painting", "bench", "bindings", "side", "places", "sandwich", "answers")


@dataclass(frozen=True)
class Completing:
    """Completes requests with what the station knows: studio, catalogue, and the state at that instant."""

    studio: Studio
    catalogue: Catalogue

    def complete(self, request: Request, state: State) -> tuple[str, dict[str, Any]]:
        """Give the day-book kind of a request and its whole body.

        Raises:
            BadInput: unknown verb, a field missing, surplus or of another type, unknown sheet,
                bench, probe or sandwich, or a text that cannot be recorded.
        """
        kind = VERBS.get(request.do)
        if kind is None:
            raise _bad("request", f"unknown verb {request.do!r}", ", ".join([*VERBS, TEST_WAY, "view"]))
        recordable(request)
        if kind == "step_asked":
            return kind, self._start(request.body, state)
        body = {**OPTIONAL.get(kind, {}), **request.body}
        if kind == "mark_asked":
            body["age_ms"] = request.age_ms
        _same_fields(request.do, body, NEWEST[kind].fields)
        if kind == "painting_asked" and not all(isinstance(b, str) for b in body["beware"]):
            raise _bad("add_painting, beware", repr(body["beware"]), "a list of texts")
        return kind, body

    def _start(self, body: dict[str, Any], state: State) -> dict[str, Any]:
        for key in body:
            if key not in START_FIELDS:
                raise _bad("start_step", f"unknown field {key!r}", ", ".join(START_FIELDS))
        sheet, bindings = self.catalogue.sheet(_text(body, "sheet")), _bindings(body)
        bench = _text(body, "bench")
        if bench not in self.studio.benches:
            raise _bad("start_step, bench", repr(bench), ", ".join(self.studio.benches))
        sandwich = body.get("sandwich")
        return step_body(
            state,
            with_margins(self.catalogue, self.studio.probes, sheet, bindings),
            bench,
            bindings,
            painting=_maybe(body, "painting", str),
            side=_maybe(body, "side", str),
            places=_maybe(body, "places", int),
            sandwich=None if sandwich in (None, "") else self.catalogue.sandwich(_text(body, "sandwich")),
            answers=_answers(body, sheet),
        )


def recordable(request: Request) -> None:
    """Refuse what the day-book could not keep, before anything is folded; BadInput says why."""
    names = {"id": request.id, "by": request.by or "-", "via": request.via}
    for field, text in names.items():
        if not 0 < len(text) <= LONGEST_NAME:
            raise _bad(f"request field {field!r}", f"{len(text)} characters", f"1 to {LONGEST_NAME}")
    try:
        whole = canonical({"body": request.body, **names})
        whole.encode()
    except (TypeError, UnicodeEncodeError) as error:
        raise _bad("request", str(error), "texts, whole numbers, lists and objects") from error
    if len(whole) > LONGEST:
        raise _bad("request", f"{len(whole)} characters", f"at most {LONGEST}")
    if "\\u0000" in whole:
        raise _bad("request", "a character without meaning (NUL)", "plain text")


def step_body(
    state: State,
    sheet: Sheet,
    bench: str,
    bindings: list[dict[str, str]],
    *,
    painting: str | None = None,
    side: str | None = None,
    places: int | None = None,
    sandwich: dict[str, object] | None = None,
    answers: list[dict[str, str]] | None = None,
) -> dict[str, Any]:
    """Give the body of a `step_asked` row: next number, whole sheet, channels of each binding."""
    return {
        "step": f"s{state.steps_ever + 1}",
        "sheet": sheet.as_json(),
        "painting": painting,
        "bench": bench,
        "bindings": [_bound(state, sheet, b) for b in bindings],
        "side": side,
        "places": places,
        "sandwich": sandwich,
        "answers": answers or [],
    }


def _answers(body: dict[str, Any], sheet: Sheet) -> list[dict[str, str]]:
    given = body.get("answers") or {}
    if not isinstance(given, dict) or not all(isinstance(v, str) for v in given.values()):
        raise _bad("start_step, answers", repr(given), "an object of question and answer")
    texts = {question.key: question.text for question in sheet.asks}
    return [{"key": key, "text": texts.get(key, key), "answer": str(given[key])} for key in sorted(given)]


def _bound(state: State, sheet: Sheet, binding: dict[str, str]) -> dict[str, Any]:
    probe, role = binding["probe"], binding["role"]
    probes = sorted({name.rpartition(".")[0] for name in state.channels})
    if probe not in probes:
        raise _bad("start_step, bindings", f"unknown probe {probe!r}", ", ".join(probes))
    names = [channel_name(probe, quantity) for quantity in sheet.roles.get(role, ())]
    return {**binding, "channels": [name for name in names if name in state.channels]}


def _bindings(body: dict[str, Any]) -> list[dict[str, str]]:
    given = body.get("bindings")
    if not isinstance(given, list):
        raise _bad("start_step, bindings", repr(given), "a list of objects")
    for item in given:
        if not isinstance(item, dict) or not {"role", "probe"} <= item.keys() <= {"role", "probe", "touches"}:
            raise _bad("start_step, bindings", repr(item), "role, probe and touches")
    return [
        {
            "role": _text(item, "role"),
            "probe": _text(item, "probe"),
            "touches": _text(item, "touches") if item.get("touches") else "not said",
        }
        for item in given
    ]


def _text(body: dict[str, Any], key: str) -> str:
    value = body.get(key)
    if not isinstance(value, str) or not value.strip():
        raise _bad(f"start_step, {key}", repr(value), "a text")
    return value


def _maybe(body: dict[str, Any], key: str, kind: Callable[..., Any]) -> Any:  # noqa: ANN401
    value = body.get(key)
    if value in (None, ""):
        return None
    if type(value) is not kind:
        raise _bad(f"start_step, {key}", repr(value), "a whole number" if kind is int else "a text")
    return value


def _same_fields(verb: str, body: dict[str, Any], fields: dict[str, str]) -> None:
    for key in body:
        if key not in fields:
            raise _bad(verb, f"unknown field {key!r}", ", ".join(fields))
    for key in fields:
        if key not in body:
            raise _bad(verb, f"no field {key!r}", ", ".join(fields))


def _bad(thing: str, found: str, expected: str) -> BadInput:
    return BadInput(thing, found, expected, "Correct it and ask again.")
