"""Day-books of warnings made by hand, and a plain count of what stands in them."""

from __future__ import annotations

from typing import Any

from monitor.bench.kinds import check_body
from monitor.clock import Segment
from monitor.report.warning_figures import WarningFigures, warning_figures
from monitor.report.warning_history import Moment
from monitor.report.warning_reading import read_history
from monitor.report.warning_words import lines

START_MS = 1_777_885_200_000
CHANNEL = "room.relative_humidity"
HOUR_S, DAY_S = 3600, 86_400


class Book:
    """A day-book that is written row by row; seconds count from its beginning, nine o'clock.

    Args:
        known: whether the board knows the time.
    """

    def __init__(self, *, known: bool = True) -> None:
        self.rows: list[dict[str, Any]] = []
        self.segments = [Segment(1, 1, 0, START_MS if known else 0, known)]
        self.boot, self._offset_ms = 1, START_MS if known else None
        self.write(
            0, "segment_started", {"segment": 1, "offset_ms": self._offset_ms, "gap_ms": None, "reason": "start"}
        )

    def write(
        self, at_s: float, kind: str, body: dict[str, Any], *, step: str | None = None, by: str | None = None
    ) -> None:
        """Write a row."""
        check_body(kind, body)
        mono_ms = round(at_s * 1000)
        at_ms = None if self._offset_ms is None else mono_ms + self._offset_ms
        self.rows.append({
            "seq": len(self.rows) + 1, "kind": kind, "v": 1, "at_ms": at_ms, "mono_ms": mono_ms, "boot": self.boot,
            "segment": self.segments[-1].segment, "step": step, "bench": None, "by": by, "via": "station",
            "body": body,
        })  # fmt: skip

    def start_again(self, at_s: float, gap_s: float | None) -> None:
        """Begin another start of the station; its monotonic clock goes on, which makes the arithmetic plain."""
        self.boot += 1
        self.segments.append(Segment(self.boot, self.boot, round(at_s * 1000), self._offset_ms or 0, True))
        gap_ms = None if gap_s is None else round(gap_s * 1000)
        body = {"segment": self.boot, "offset_ms": self._offset_ms, "gap_ms": gap_ms, "reason": "start"}
        self.write(at_s, "segment_started", body)

    def set_clock(self, at_s: float, by_s: float) -> None:
        """Set the clock on or back."""
        assert self._offset_ms is not None
        self._offset_ms += round(by_s * 1000)
        number = self.segments[-1].segment + 1
        self.segments.append(Segment(number, self.boot, round(at_s * 1000), self._offset_ms, True))
        body = {"segment": number, "offset_ms": self._offset_ms, "gap_ms": 0, "reason": "clock set"}
        self.write(at_s, "segment_started", body)

    def warn(self, at_s: float, limit: str = "damp", level: str = "65", step: str = "s1", **more: str) -> None:
        """Give a warning."""
        body = {"quantity": "relative_humidity", "side": "high", "value": "66.00", "priority": "medium",
                "source": "project", "grade": "proposal", "locator": "", **more}  # fmt: skip
        self.write(at_s, "alarm_raised", {**_whose(step, limit), "at": level, **body}, step=step)

    def clear(self, at_s: float, limit: str = "damp", state: str = "normal", step: str = "s1") -> None:
        """End a warning's condition."""
        self.write(at_s, "alarm_returned", {**_whose(step, limit), "value": "60.00", "state": state}, step=step)

    def see(self, at_s: float, limit: str = "damp", step: str = "s1") -> None:
        """Have a warning seen."""
        self.write(at_s, "alarm_seen", {**_whose(step, limit), "state": "acknowledged"}, step=step, by="MK")

    def hush(self, at_s: float, kind: str, limit: str = "damp", step: str = "s1") -> None:
        """Silence a warning, put it off, or its probe out of use."""
        more: dict[str, Any] = {"reason": "telephone"}
        if kind == "alarm_shelved":
            more["for_s"] = 600
        self.write(at_s, kind, {**_whose(step, limit), **more}, step=step, by="MK")

    def hear(self, at_s: float, kind: str, limit: str = "damp", state: str = "normal", step: str = "s1") -> None:
        """End a silence, or what was off."""
        self.write(at_s, kind, {**_whose(step, limit), "state": state}, step=step)


def _whose(step: str, limit: str) -> dict[str, str]:
    return {"step": step, "limit": limit, "channel": CHANNEL}


def step_started(sheet: str) -> dict[str, Any]:
    """Give the body of a step's start."""
    return {"sheet": sheet, "title": "Room", "painting": None, "stage": "watch", "side": None, "places": None}


def step_asked(step: str, *listed: list[str]) -> dict[str, Any]:
    """Give the body of the request for a step whose stages list these limits."""
    stages = [{"key": f"stage {n}", "limits": limits} for n, limits in enumerate(listed)]
    return {
        "step": step, "sheet": {"key": "room", "stages": stages}, "painting": None, "bench": "north", "bindings": [],
        "side": None, "places": None, "sandwich": None, "answers": [],
    }  # fmt: skip


def stage(number: int) -> dict[str, Any]:
    """Give the body of a stage's start."""
    return {"stage": f"stage {number}", "title": "Stage"}


def counted(book: Book, from_s: float = 0, to_s: float = DAY_S, newest_s: float | None = None) -> WarningFigures:
    """Give the figures of a stretch of a day-book; `newest_s` is the instant of the newest reading."""
    newest = None
    if newest_s is not None:
        ms = round(newest_s * 1000)
        newest = Moment(book.boot, ms, book.segments[-1].at_ms(ms))
    history = read_history(book.rows, book.segments, newest)
    return warning_figures(history, START_MS + round(from_s * 1000), START_MS + round(to_s * 1000))


def told(figures: WarningFigures) -> str:
    """Give the sentences as one, after each line was found short enough."""
    found = list(lines(figures, {}))
    assert max(map(len, found)) <= 100
    return " ".join(" ".join(found).split())
