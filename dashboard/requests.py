"""What a person does becomes a request to the station; its answer comes back as a sentence.

A page sends flat fields; here they take the form a request's body has. The id is made in the
browser, so that the same tap asked twice is answered the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field

from dashboard.pages import INITIALS, Viewer, viewer
from monitor.errors import BadInput, LinkError
from monitor.link import messages
from monitor.link.client import Client
from monitor.link.messages import AnswerDict

ANSWER_WITHIN_S = 5.0
TRIAL_WITHIN_S = 20.0  # several in a row wait for one another
OLDEST_GESTURE_MS = 600_000
PEOPLE_KEPT = 8

ANSWER = "answer."
OTHER_WORDS = "other words"
FORBIDDEN = re.compile(r"\b(soles?|join(s|ts?)?|paint(s|ed|work)?|tap(es?|ed|ing))\b", re.IGNORECASE)
NO_WIRE = "No wire under the sole or in the join, no tape on paint. Clamp it outside, above the sole."

Fields = dict[str, str]


class Ask(BaseModel):
    """A POST of the pages: verb, flat fields, the revision seen, and the age of the gesture in ms."""

    model_config = ConfigDict(extra="forbid")

    id: Annotated[str, Field(pattern=r"^[0-9A-Za-z-]{8,64}$")]
    do: Annotated[str, Field(max_length=40)]
    fields: dict[Annotated[str, Field(max_length=80)], Annotated[str, Field(max_length=8000)]] = {}
    expects: int | None = None
    age_ms: Annotated[int, Field(ge=0, le=OLDEST_GESTURE_MS)] = 0


class Initials(BaseModel):
    """Who works from now on, one to four letters."""

    model_config = ConfigDict(extra="forbid")

    initials: Annotated[str, Field(max_length=4)]


def _needed(fields: Fields, name: str, thing: str) -> str:
    text = fields.get(name, "").strip()
    if not text:
        raise BadInput(thing, "nothing entered", "a few words", "Enter it and ask again.")
    return text


def _painting(fields: Fields) -> dict[str, Any]:
    beware = [line.strip() for line in fields.get("beware", "").splitlines()]
    return {
        "number": _needed(fields, "number", "number of the painting"),
        "name": _needed(fields, "name", "name of the painting"),
        "support": fields.get("support", "").strip(),
        "beware": [line for line in beware if line],
    }


def _step(fields: Fields) -> dict[str, Any]:
    return {
        "sheet": _needed(fields, "sheet", "working sheet"),
        "painting": fields.get("painting") or None,
        "bench": _needed(fields, "bench", "bench"),
        "bindings": _bindings(fields),
        "side": fields.get("side", "").strip() or None,
        "places": _count(fields.get("places", "")),
        "sandwich": fields.get("sandwich") or None,
        "answers": {
            name.removeprefix(ANSWER): text.strip() for name, text in fields.items() if name.startswith(ANSWER)
        },
    }


def _bindings(fields: Fields) -> list[dict[str, str]]:
    bindings = []
    for name, probe in fields.items():
        kind, _, role = name.partition(".")
        if kind != "probe" or not probe:
            continue
        touches = _touches(fields, role, probe)
        bindings.append({"role": role, "probe": probe, "touches": touches})
        further = [n.removeprefix(f"further.{role}.") for n in fields if n.startswith(f"further.{role}.")]
        bindings += [
            {"role": role, "probe": p, "touches": f"{touches}, another point"} for p in further if p != probe
        ]
    return bindings


def _touches(fields: Fields, role: str, probe: str) -> str:
    """Give where a probe touches; words that name a forbidden place must have been asked again."""
    thing = f"where probe {probe} touches"
    touches = _needed(fields, f"touches.{role}", thing)
    if touches != OTHER_WORDS:
        return touches
    touches = _needed(fields, f"words.{role}", thing)
    if FORBIDDEN.search(touches) and fields.get(f"again.{role}") != "yes":
        raise BadInput(thing, repr(touches), "no place in the work", NO_WIRE)
    return touches


def _count(text: str) -> int | None:
    if not text.strip():
        return None
    if not text.strip().isdecimal() or not 1 <= int(text) <= 200:
        raise BadInput("number of places", repr(text), "a whole number from 1 to 200", "Correct it and ask again.")
    return int(text)


def _note(fields: Fields) -> dict[str, Any]:
    return {"step": fields.get("step") or None, "text": _needed(fields, "text", "note")}


def _mark(fields: Fields) -> dict[str, Any]:
    body: dict[str, Any] = dict(fields)
    if "place" in fields:
        body["place"] = _count(fields["place"])
    return body


def _as_given(fields: Fields) -> dict[str, Any]:
    return dict(fields)


SHAPES: dict[str, Callable[[Fields], dict[str, Any]]] = {
    "add_painting": _painting,
    "hand_back": _as_given,
    "start_step": _step,
    "finish_step": _as_given,
    "next_stage": _as_given,
    "mark": _mark,
    "undo": _as_given,
    "note": _note,
    "see": _as_given,
    messages.TEST_WAY: _as_given,
}


def message(ask: Ask, who: Viewer) -> messages.Request:
    """Turn a POST into a request of the link; BadInput for a verb or field that cannot be used."""
    shape = SHAPES.get(ask.do)
    if shape is None:
        raise BadInput("request", repr(ask.do), ", ".join(SHAPES), "Reload the page and ask again.")
    via = f"browser:{who.browser}"
    return messages.Request(ask.id, ask.do, shape(ask.fields), who.initials, via, ask.expects, ask.age_ms)


def told(answer: AnswerDict) -> tuple[int, dict[str, Any]]:
    """Give status and content for an answer: 200, 409 when the step has changed, 422 when refused."""
    error = answer["error"]
    if answer["ok"] or error is None:
        return 200, {"ok": True, "conflict": False, "sentence": "", "result": answer["result"]}
    start = "Not done, for the step has changed meanwhile" if answer["conflict"] else "Not done"
    sentence = f"{start}: {_sentence(error)}"
    return (409 if answer["conflict"] else 422), {"ok": False, "conflict": answer["conflict"], "sentence": sentence}


def _sentence(error: dict[str, str]) -> str:
    """Say what was found and what to do; which step it was stands on the page already."""
    if error["thing"].startswith("step "):
        return f"{error['found']}. {error['do']}".strip()
    expected = f"; expected {error['expected']}" if error.get("expected") else ""
    return f"{error['thing']}: {error['found']}{expected}. {error['do']}".strip()


class Asking:
    """Carries requests to the station over one connection, opened when first needed.

    A trial of a way to be told may take seconds; it goes over another, so that no mark waits for it.
    """

    def __init__(self, runtime_dir: Path) -> None:
        self._client = Client(runtime_dir, ANSWER_WITHIN_S)
        self._aside = Client(runtime_dir, TRIAL_WITHIN_S)

    async def ask(self, request: messages.Request) -> tuple[int, dict[str, Any]]:
        """Ask and give status and content; 503 with a sentence when the station does not answer."""
        try:
            client = self._aside if request.do == messages.TEST_WAY else self._client
            return told(await client.request(request))
        except LinkError:
            sentence = (
                "The station does not answer. What you entered stays here: ask again when it does, it counts once."
            )
            return 503, {"ok": False, "conflict": False, "sentence": sentence}

    async def close(self) -> None:
        """Close the connections."""
        await self._client.close()
        await self._aside.close()


def routes(asking: Asking) -> APIRouter:
    """Give the routes of what pages ask."""
    router = APIRouter()

    @router.post("/ask")
    async def ask(request: Request, asked: Ask) -> JSONResponse:
        try:
            wanted = message(asked, viewer(request))
        except BadInput as error:
            return JSONResponse({"ok": False, "conflict": False, "sentence": f"Not done: {error}"}, 422)
        status, content = await asking.ask(wanted)
        return JSONResponse(content, status)

    @router.post("/initials")
    async def initials(request: Request, asked: Initials) -> JSONResponse:
        text = asked.initials.strip().upper()
        if not INITIALS.fullmatch(text):
            sentence = f"Initials {text!r}: expected one to four letters. Enter them again."
            return JSONResponse({"ok": False, "sentence": sentence}, 422)
        people = [text, *(p for p in viewer(request).people if p != text)][:PEOPLE_KEPT]
        response = JSONResponse({"ok": True, "initials": text})
        for name, value in (("blotter_initials", text), ("blotter_people", ".".join(people))):
            response.set_cookie(name, value, max_age=31_536_000, httponly=True, samesite="strict", path="/")
        return response

    return router
