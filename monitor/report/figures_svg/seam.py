"""The seam: places along a side as numbered circles. Shape first, colour second."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from monitor.report.figures_svg.svg import INK, LINE, NEAR, OUT, PAPER, SOFT, Drawing

RADIUS = 5.2
ROW_HEIGHT = 25.0
PER_ROW = 24
FARTHEST_APART = 33.0


def _reached(on: Drawing, x: float, y: float) -> None:
    on.circle(x, y, RADIUS, INK, INK)
    on.path([(x - 2.4, y + 0.2), (x - 0.6, y + 2.1), (x + 2.6, y - 2)], PAPER, 1.1)


def _not_reached(on: Drawing, x: float, y: float) -> None:
    on.circle(x, y, RADIUS, "#F6E7C4", NEAR, 1)
    on.path([(x - 2.6, y), (x + 2.6, y)], NEAR, 1.6)


def _not_known(on: Drawing, x: float, y: float) -> None:
    on.circle(x, y, RADIUS, PAPER, INK)
    on.text(x, y + 2.8, "?", 8, INK, "middle", "600")


def _over(on: Drawing, x: float, y: float) -> None:
    on.path([(x, y - 5.6), (x + 5.8, y + 4.4), (x - 5.8, y + 4.4)], OUT, 0.8, OUT, closed=True)
    on.path([(x, y - 2), (x, y + 1)], PAPER, 1)
    on.circle(x, y + 2.8, 0.6, PAPER)


def _not_yet(on: Drawing, x: float, y: float) -> None:
    on.circle(x, y, RADIUS, PAPER, SOFT)


SHAPES: dict[str | None, Callable[[Drawing, float, float], None]] = {
    "reached": _reached,
    "not reached": _not_reached,
    "not known": _not_known,
    "over the limit set": _over,
    None: _not_yet,
}


def draw_seam(verdicts: Mapping[int, str | None], count: int, width: float = 500) -> str:
    """Draw a side of `count` places; a place without a verdict is an empty circle."""
    rows = -(-max(count, 1) // PER_ROW)
    told = ", ".join(f"{place} {verdicts.get(place) or 'not judged'}" for place in range(1, count + 1))
    on = Drawing(width, rows * ROW_HEIGHT, f"Places along the side: {told}")
    for row in range(rows):
        places = range(row * PER_ROW + 1, min(count, (row + 1) * PER_ROW) + 1)
        y = row * ROW_HEIGHT + 7
        apart = min((width - 16) / max(min(count, PER_ROW) - 1, 1), FARTHEST_APART)
        on.line(0, y, min(8 + apart * (len(places) - 1) + 8, width), y, LINE, 0.7)
        for index, place in enumerate(places):
            SHAPES.get(verdicts.get(place), _not_known)(on, 8 + apart * index, y)
            on.text(8 + apart * index, y + 14.5, str(place), 7.5, SOFT, "middle")
    return on.write()
