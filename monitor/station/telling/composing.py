"""From how things stand to what is told of it: the sentences are those of the screens."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from monitor.bench.alarms import AlarmState
from monitor.bench.state import State
from monitor.link.view import WarningView
from monitor.station.telling.message import DUE, PASSED, TEST, Message
from monitor.station.telling.way import Standing, Stands
from monitor.station.view import At, warnings
from monitor.ways import WayConfig

LOOK = "Look at the bench and the screen, the most severe first."
NOTHING_ASKED = "It speaks of no painting and asks for nothing."
SIMULATED = "Simulated: "


class Composing:
    """Puts what is told into words.

    Args:
        studio, board: their names.
        simulated: readings come from the simulated studio; every sentence says so.
    """

    def __init__(self, studio: str, board: str, *, simulated: bool) -> None:
        self._studio = studio
        self._board = board
        self._before = SIMULATED if simulated else ""

    def standing(self, state: State, at: At, now_ms: int) -> Standing:
        """Tell how all warnings stand."""
        return Standing(tuple(self._stands(view) for view in warnings(state, at)), at(now_ms))

    def signalled(self, state: State, at: At, now_ms: int, name: str, body: Mapping[str, Any]) -> Message | None:
        """Give what a signal of the fold tells of; None for one that nobody is told of."""
        if name == "due":
            return self._due(body, at(now_ms))
        if name != "warning":
            return None
        wanted = _warning(body)
        view = next((v for v in warnings(state, at) if _warning(v) == wanted), None)
        if view is None:
            return None
        return self._many(view, body["flood"]) if body.get("flood") else self._passed(view)

    def trial(self, way: WayConfig, at_ms: int | None) -> Message:
        """Give the message of a trial."""
        sentence = f"{self._before}{self._studio}: a trial of the way to be told {way.name}."
        return Message(TEST, "low", sentence, NOTHING_ASKED, at_ms, "", self._board)

    def over(self, told: Message, state: State, at: At, at_ms: int | None) -> Message:
        """Give the message that what was told is over."""
        view = next((v for v in warnings(state, at) if _warning(v) == told.warning and v["over"]), None)
        before = told.sentence.removeprefix(self._before)
        sentence = view["sentence"] if view else f"Inside what you set again. Before: {before}"
        return told.over(self._before + sentence, at_ms)

    def _passed(self, view: WarningView) -> Message:
        at_ms = view["since_ms"]
        sentence = self._before + view["sentence"]
        return Message(
            PASSED, view["priority"], sentence, view["what_to_do"], at_ms, view["bench"], self._board, _warning(view)
        )

    def _many(self, view: WarningView, count: int) -> Message:
        """Give one message for many warnings; the last of them is named."""
        last = self._passed(view)
        begins = f"{self._before}{count} new warnings within 10 minutes, told as one; the last:"
        sentence = f"{begins} {last.sentence.removeprefix(self._before)}"
        return replace(last, sentence=sentence, what_to_do=LOOK, many=True)

    def _due(self, body: Mapping[str, Any], at_ms: int | None) -> Message:
        words = {key: str(body.get(key, "")) for key in ("priority", "sentence", "what_to_do", "bench")}
        sentence = self._before + (words["sentence"] or "Something is due.")
        return Message(
            DUE, words["priority"] or "low", sentence, words["what_to_do"], at_ms, words["bench"], self._board
        )

    def _stands(self, view: WarningView) -> Stands:
        sounds = view["state"] == AlarmState.UNACKNOWLEDGED.value and not view["over"]
        sentence = self._before + view["sentence"]
        return Stands(
            _warning(view), view["priority"], sentence, view["words"], view["may_be_seen"], sounds, view["since_ms"]
        )


def _warning(body: Mapping[str, Any] | WarningView) -> str:
    return f"{body['step']}/{body['limit']}/{body['channel']}"
