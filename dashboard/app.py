"""The application: pages, the live stream and what is asked, over one hub and one connection."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from pathlib import Path

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.middleware.gzip import GZipMiddleware
from starlette.staticfiles import StaticFiles

from dashboard import assets, bench, limit_routes, look_back, requests, sources, start, stream, work_in_hand
from dashboard.guard import Guard
from dashboard.hub import Hub
from dashboard.known import Known
from dashboard.pages import STATIC, Pages
from dashboard.past import Past, Readable
from dashboard.settings import routes as settings_routes

__all__ = ["Settings", "create_app"]


@dataclass(frozen=True)
class Settings:
    """Where things are.

    Attributes:
        runtime_dir: the station's sockets.
        data_dir: the data directory; the chart script's compressed form is kept in it.
        opening: opens the store read-only; the store of the data directory by default.
        known: layers a step may be started with, and titles of sources.
    """

    runtime_dir: Path
    data_dir: Path
    opening: Callable[[], Readable] | None = None
    known: Known = field(default_factory=Known)


def create_app(settings: Settings, stop: asyncio.Event | None = None) -> FastAPI:
    """Build the application; `stop` ends every stream when it is set.

    Raises:
        BadInput: the data directory cannot be written, or the chart script is missing.
    """
    stop = stop or asyncio.Event()
    hub, pages, asking = Hub(settings.runtime_dir), Pages(settings.known), requests.Asking(settings.runtime_dir)
    past = Past(settings.opening or (lambda: open_store(settings.data_dir)))
    script = assets.chart_script(settings.data_dir / "dashboard")

    @contextlib.asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        following = asyncio.create_task(hub.follow(), name="hub follows the feed")
        try:
            yield
        finally:
            stop.set()
            following.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await following
            await asking.close()
            past.close()

    app = FastAPI(lifespan=lifespan, docs_url=None, redoc_url=None, openapi_url=None)
    app.state.hub = hub
    for router in (
        work_in_hand.routes(pages, hub, past),
        bench.routes(pages, hub, settings.known),
        start.routes(pages, hub, settings.known),
        look_back.routes(pages, hub, past, settings.known, script.address),
        limit_routes.routes(hub, past),
        sources.routes(pages, hub, settings.known),
        settings_routes(pages, hub),
        stream.routes(pages, hub, stop, settings.known),
        requests.routes(asking),
        assets.routes(script),
    ):
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_exception_handler(RequestValidationError, _incomplete)
    app.add_middleware(GZipMiddleware, minimum_size=2000)
    app.add_middleware(Guard)
    return app


def open_store(where: Path | str) -> Readable:
    """Open the store read-only; StoreError when it is missing or of another version."""
    from monitor.store.store import Store  # not loaded before someone looks back

    return Store.open(where, read_only=True)


async def _incomplete(_: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"][1:]) or "body"
    sentence = f"Not done: field {where} of the request: {first['msg']}. Reload the page and ask again."
    return JSONResponse({"ok": False, "conflict": False, "sentence": sentence}, 422)
