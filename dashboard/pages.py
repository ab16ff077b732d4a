"""What all pages share: the templates, who looks, the room's line, warnings and notices.

The live parts of a page are small pieces of HTML under a name; the page is put together from
them and the stream sends the ones that changed.
"""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse

from dashboard import words
from dashboard.hub import Shown
from dashboard.known import Known
from dashboard.warned import warned
from monitor.link.view import ChannelView, LimitView, StepView, View

INITIALS = re.compile(r"[A-Za-zÀ-ž]{1,4}")
_BROWSER_ID = re.compile(r"[0-9a-f]{8}")
_YEAR_S = 31_536_000
STATIC = Path(__file__).parent / "static"


@dataclass(frozen=True)
class Viewer:
    """Who looks: the browser's own random id, initials of who works, people known here, and the light."""

    browser: str
    initials: str | None
    people: tuple[str, ...]
    dim: bool


def viewer(request: Request) -> Viewer:
    """Read the browser's cookies; whatever does not fit its form counts as absent."""
    browser = request.cookies.get("blotter_browser", "")
    initials = request.cookies.get("blotter_initials", "")
    people = request.cookies.get("blotter_people", "").split(".")
    return Viewer(
        browser if _BROWSER_ID.fullmatch(browser) else secrets.token_hex(4),
        initials if INITIALS.fullmatch(initials) else None,
        tuple(p for p in people if INITIALS.fullmatch(p))[:8],
        request.cookies.get("blotter_light") == "dim",
    )


def keep(response: HTMLResponse, name: str, value: str) -> None:
    """Set one of the dashboard's cookies for a year, for this site only."""
    response.set_cookie(name, value, max_age=_YEAR_S, httponly=True, samesite="strict", path="/")


class Pages:
    """Renders templates. Undefined names are errors, everything is escaped.

    Args:
        known: the sources that warnings name.
    """

    def __init__(self, known: Known | None = None) -> None:
        self._known = known or Known()
        self._env = Environment(
            loader=PackageLoader("dashboard"),
            autoescape=select_autoescape(),
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._env.globals.update(words=words)
        self._env.filters["tight"] = words.tight

    def part(self, name: str, **context: Any) -> str:  # noqa: ANN401
        """Render one live part, `parts/NAME.html`."""
        return self._env.get_template(f"parts/{name}.html").render(**context).strip()

    def page(
        self,
        request: Request,
        name: str,
        parts: dict[str, str],
        live: dict[str, str],
        **context: Any,  # noqa: ANN401
    ) -> HTMLResponse:
        """Render a whole page; `live` is the query by which it listens to the stream."""
        who = viewer(request)
        marked = {key: Markup(part) for key, part in parts.items()}  # parts were rendered escaped
        html = self._env.get_template(f"{name}.html").render(parts=marked, who=who, live=live, here=name, **context)
        response = HTMLResponse(html)
        keep(response, "blotter_browser", who.browser)
        return response

    def common(self, shown: Shown) -> dict[str, str]:
        """Render what stands on every page."""
        view = shown.view
        return {
            "notice": self.part("notice", shown=shown, from_ms=newest_reading_ms(view)),
            "room": self.part("room", shown=shown, room=room_line(view)),
            "warnings": self.part("warnings", warnings=warned(view, shown.seen, self._known) if view else []),
        }


def channels_of(view: View) -> dict[str, ChannelView]:
    """Give every channel of the view by its name."""
    return {channel["channel"]: channel for probe in view["probes"] for channel in probe["channels"]}


def newest_reading_ms(view: View | None) -> int | None:
    """Give the instant of the newest reading shown, UTC ms, or None."""
    stamps = [c["at_ms"] for c in channels_of(view).values() if c["at_ms"] is not None] if view else []
    return max(stamps, default=None)


def beyond(limit: LimitView, value: float | None) -> bool:
    """Tell whether a value lies beyond the mildest level of a limit that is not off."""
    if value is None or limit["off"] or not limit["levels"]:
        return False
    levels = [level["at"] for level in limit["levels"]]
    return value > min(levels) if limit["side"] == "high" else value < max(levels)


def passed(limits: list[LimitView], value: float | None) -> str:
    """Give the colour of the most severe level a value lies beyond, "" inside all of them."""
    colours = {
        words.severity(level["priority"])
        for limit in limits
        if value is not None and not limit["off"]
        for level in limit["levels"]
        if (value > level["at"] if limit["side"] == "high" else value < level["at"])
    }
    return "out" if "out" in colours else "near" if colours else ""


@dataclass(frozen=True)
class RoomLine:
    """The room in the header: its figures, whether it is inside what was set ("" when nothing is), its colour."""

    figures: str
    judged: str
    colour: str


def room_line(view: View | None) -> RoomLine | None:
    """Say how the room is, from the step that watches it without a painting; None when nobody watches."""
    step = next((s for s in view["steps"] if s["painting"] is None), None) if view else None
    if view is None or step is None:
        return None
    channels = channels_of(view)
    bound = [channels[c] for b in step["bindings"] for c in b["channels"] if c in channels]
    wanted = ("air_temperature", "relative_humidity")
    told = [c for quantity in wanted for c in bound if c["quantity"] == quantity]
    if not told:
        return None
    if all(c["value"] is None for c in told):
        return RoomLine("no reading", "", "")
    figures = ", ".join(words.reading(c) for c in told)
    judged, colour = _judged(view, step, channels)
    return RoomLine(figures, judged, colour)


def _judged(view: View, step: StepView, channels: dict[str, ChannelView]) -> tuple[str, str]:
    standing = {words.severity(w["priority"]) for w in view["warnings"] if w["step"] == step["id"] and not w["over"]}
    on = [limit for limit in step["limits"] if not limit["off"]]
    set_for = [(limit, channels[c]["value"]) for limit in on for c in limit["channels"] if c in channels]
    colours = standing | {passed([limit], value) for limit, value in set_for}
    if colours - {""}:
        return "outside what you set", "out" if "out" in colours else "near"
    if not set_for or any(value is None for _, value in set_for):
        return "", ""
    return "inside what you set", ""
