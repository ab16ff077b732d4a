"""A small writer of SVG: a few shapes in points, everything escaped, the same bytes every time."""

from __future__ import annotations

import re
from collections.abc import Iterable
from xml.etree import ElementTree

INK, SOFT = "#23272B", "#5B6168"
LINE, WASH = "#CFC9BC", "#E4DFD3"
ACT, NEAR, OUT = "#1D4B73", "#8A5A00", "#A3270F"
PAPER = "#FFFFFF"
FAMILY = "Source Sans Pro, sans-serif"

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def number(value: float) -> str:
    """Write a coordinate with two places at most."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


class Drawing:
    """A picture of `width` by `height` points; y grows downwards.

    Args:
        width, height: size in points (1/72 inch).
        says: what the picture shows, for those who cannot see it.
    """

    def __init__(self, width: float, height: float, says: str) -> None:
        self.width, self.height, self.says = width, height, says
        self._root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "width": f"{number(width)}pt",
                "height": f"{number(height)}pt",
                "viewBox": f"0 0 {number(width)} {number(height)}",
                "role": "img",
                "font-family": FAMILY,
            },
        )
        ElementTree.SubElement(self._root, "title").text = _NOT_XML.sub("\ufffd", says)

    def _add(self, tag: str, numbers: dict[str, float], words: dict[str, str]) -> ElementTree.Element:
        attributes = {**{k: number(v) for k, v in numbers.items()}, **{k: v for k, v in words.items() if v}}
        return ElementTree.SubElement(self._root, tag, attributes)

    def line(
        self, x1: float, y1: float, x2: float, y2: float, stroke: str = LINE, width: float = 0.5, dash: str = ""
    ) -> None:
        """Draw a straight line; `dash` as in SVG's stroke-dasharray."""
        self._add(
            "line",
            {"x1": x1, "y1": y1, "x2": x2, "y2": y2},
            {"stroke": stroke, "stroke-width": number(width), "stroke-dasharray": dash},
        )

    def rect(
        self, x: float, y: float, width: float, height: float, fill: str = "none", stroke: str = "", line: float = 0.7
    ) -> None:
        """Draw a rectangle."""
        look = {"fill": fill, "stroke": stroke, "stroke-width": number(line) if stroke else ""}
        self._add("rect", {"x": x, "y": y, "width": max(0.0, width), "height": height}, look)

    def circle(self, x: float, y: float, r: float, fill: str = "none", stroke: str = "", line: float = 0.75) -> None:
        """Draw a circle."""
        look = {"fill": fill, "stroke": stroke, "stroke-width": number(line) if stroke else ""}
        self._add("circle", {"cx": x, "cy": y, "r": r}, look)

    def path(
        self,
        points: Iterable[tuple[float, float]],
        stroke: str = "",
        width: float = 0.75,
        fill: str = "none",
        closed: bool = False,
        name: str = "",
    ) -> None:
        """Draw straight stretches through `points`; `name` becomes the element's class."""
        steps = [f"{'M' if i == 0 else 'L'}{number(x)} {number(y)}" for i, (x, y) in enumerate(points)]
        look = {
            "d": " ".join(steps) + (" Z" if closed else ""), "fill": fill, "stroke": stroke, "class": name,
            "stroke-width": number(width) if stroke else "", "stroke-linejoin": "round" if stroke else "",
            "stroke-linecap": "round" if stroke else "",
        }  # fmt: skip
        if steps:
            self._add("path", {}, look)

    def text(
        self, x: float, y: float, words: str, size: float = 8, fill: str = INK, anchor: str = "", weight: str = ""
    ) -> None:
        """Set words with their baseline at y; `anchor` is start, middle or end."""
        element = self._add(
            "text",
            {"x": x, "y": y, "font-size": size},
            {"fill": fill, "text-anchor": anchor, "font-weight": weight},
        )
        element.text = _NOT_XML.sub("\ufffd", words)

    def write(self) -> str:
        """Give the whole picture as SVG text."""
        return ElementTree.tostring(self._root, encoding="unicode") + "\n"
