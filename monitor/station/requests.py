"""Answers people's requests: completed, folded, committed, and only then answered; a repeat once and for all."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Mapping
from typing import Any, Protocol, cast

from monitor.bench.outputs import Refusal
from monitor.errors import BadInput, BlotterError, LinkError, StoreError
from monitor.link.messages import AnswerDict, Request
from monitor.link.server import refused
from monitor.link.view import View
from monitor.station.completing import Completing, recordable
from monitor.station.desk import Desk
from monitor.station.ledger import Ledger

log = logging.getLogger(__name__)


STOPPING = LinkError(
    "station", "it is stopping", "a running station", "Ask again when it runs; nothing was recorded."
)


class Answered(Protocol):
    """Where answers are kept for a day."""

    def answer(self, request_id: str) -> dict[str, Any] | None:
        """Give the answer once given to a request, or None."""
        ...


#: Does what a request asks for beside the fold; gives the day-book row, if there is one already, and the result.
Beside = Callable[[Request], Awaitable[tuple[tuple[str, dict[str, Any]] | None, dict[str, Any]]]]


class Requests:
    """Answers requests one after the other, at the desk; those `beside` the fold by verb, without holding it up."""

    def __init__(
        self,
        desk: Desk,
        ledger: Ledger,
        store: Answered,
        completing: Completing,
        beside: Mapping[str, Beside] | None = None,
    ) -> None:
        self._beside = beside or {}
        self._desk = desk
        self._ledger = ledger
        self._store = store
        self._completing = completing
        self._pending: dict[str, asyncio.Task[AnswerDict]] = {}
        self._closing = False

    async def answer(self, request: Request, view: View | None) -> AnswerDict:
        """Give the answer to a request; never raises for what was asked.

        A request goes on when its asker hangs up: it may be recorded, and a repeat is told.

        Args:
            request: what was asked.
            view: the view, if that is what was asked for.
        """
        if view is not None:
            return _yes(request.id, {"view": cast(dict[str, Any], view)})
        if self._closing:
            return refused(request.id, STOPPING)
        task = self._pending.get(request.id)
        if task is None:
            task = asyncio.get_running_loop().create_task(self._answer(request), name=f"request {request.id}")
            self._pending[request.id] = task
            task.add_done_callback(lambda _: self._pending.pop(request.id, None))
        return await asyncio.shield(task)

    async def close(self, within_s: float) -> None:
        """Take no more requests and wait for those under way; what is not committed by then stays unanswered."""
        self._closing = True
        tasks = list(self._pending.values())
        if tasks:
            _, late = await asyncio.wait(tasks, timeout=within_s)
            for task in late:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)

    async def _answer(self, request: Request) -> AnswerDict:
        try:
            return await self._ask(request)
        except BlotterError as error:
            return refused(request.id, error)
        except Exception as error:
            log.exception("request %s (%s)", request.id, request.do)
            fault = StoreError("station", repr(error), "no fault of its own", "Look into its log.")
            return refused(request.id, fault)

    async def _ask(self, request: Request) -> AnswerDict:
        before = self._store.answer(request.id)
        if before is not None:
            return cast(AnswerDict, before)
        if self._ledger.trouble is not None:
            trouble = self._ledger.trouble
            raise StoreError(trouble.thing, trouble.found, trouble.expected, f"Nothing was recorded. {trouble.do}")
        if request.do in self._beside:
            return await self._aside(request)
        async with self._desk.lock:
            kind, body = self._completing.complete(request, self._desk.state)
            refusal = self._desk.ask(
                kind, body, by=request.by, via=request.via, expects=request.expects, age_ms=body.get("age_ms", 0)
            )
            answer = _no(request.id, refusal) if refusal else _yes(request.id, self._result(body))
            stored = self._desk.settle(answers={request.id: cast(dict[str, Any], answer)}, wait=True)
        assert stored is not None
        await stored
        return answer

    async def _aside(self, request: Request) -> AnswerDict:
        recordable(request)
        row, result = await self._beside[request.do](request)
        answer = _yes(request.id, result)
        async with self._desk.lock:
            if row is not None:
                self._desk.note(*row, by=request.by, via=request.via)
            stored = self._desk.settle(answers={request.id: cast(dict[str, Any], answer)}, wait=True)
        assert stored is not None
        await stored
        return answer

    def _result(self, body: dict[str, Any]) -> dict[str, Any]:
        step = body.get("step")
        running = self._desk.state.steps.get(step) if isinstance(step, str) else None
        return {"step": step, "revision": running.revision if running else None}


def _yes(request_id: str, result: dict[str, Any]) -> AnswerDict:
    return {"id": request_id, "ok": True, "result": result, "conflict": False, "error": None}


def _no(request_id: str, refusal: Refusal) -> AnswerDict:
    error = BadInput(refusal.thing, refusal.found, refusal.expected, refusal.do)
    return refused(request_id, error, conflict=refusal.conflict)
