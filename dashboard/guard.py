"""What every request passes first: loopback names only, same origin for every POST, small bodies.

The dashboard listens on loopback; the check of the Host header keeps a page from elsewhere
from reaching it through a name of its own (DNS rebinding).
"""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

BODY_LIMIT = 64_000  # bytes; the longest request is a note
LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})

# SHA-256 of an empty text: the chart script makes one empty style element and fills it
# through the object model, which the policy does not touch.
_EMPTY_STYLE = "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='"

SECURITY = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; "
        f"style-src 'self' {_EMPTY_STYLE}; img-src 'self' data:; connect-src 'self'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


class Guard:
    """The middleware; wraps the whole application."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse with a sentence, or pass on with the security headers added to the answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = refused(scope["method"], headers)
        if refusal is not None:
            status, sentence = refusal
            await JSONResponse({"ok": False, "sentence": sentence}, status, dict(SECURITY))(scope, receive, send)
            return
        await self._app(scope, _limited(receive), _with_headers(send))


def refused(method: str, headers: Headers) -> tuple[int, str] | None:
    """Give status and sentence of a refusal, or None when the request may pass."""
    host = headers.get("host", "")
    if _hostname(host) not in LOOPBACK:
        return 403, f"This page is asked for as {host!r}. Open it under 127.0.0.1 or localhost on the same machine."
    if method in ("GET", "HEAD"):
        return None
    if not _same_origin(headers, host):
        return 403, "This was asked from another page. Nothing was done; reload the page here and ask again."
    length = headers.get("content-length", "")
    if not length.isdigit():
        return 411, "The request does not say how long it is. Nothing was done."
    if int(length) > BODY_LIMIT:
        return 413, f"The text is too long: {length} bytes, {BODY_LIMIT} at most. Nothing was done; shorten it."
    if headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        return 415, "The request is not JSON. Nothing was done; reload the page and ask again."
    return None


def _hostname(host: str) -> str:
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:  # brackets that do not match
        return ""


def _same_origin(headers: Headers, host: str) -> bool:
    """Hold against both marks a browser sends; one is needed, and none may point elsewhere."""
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is None and origin is None:
        return False
    return site in (None, "same-origin") and origin in (None, f"http://{host}", f"https://{host}")


def _limited(receive: Receive) -> Receive:
    left = BODY_LIMIT

    async def limited() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        if left < 0:  # more than was announced: as if the browser had gone
            return {"type": "http.disconnect"}
        return message

    return limited


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in SECURITY.items():
                headers[name] = value
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return sending
