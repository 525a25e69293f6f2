"""Drawings in SVG that come out the same on every machine, each with a text alternative.

The same drawing serves the live panel, the still picture of a notebook that has not been run, and print.
"""

from __future__ import annotations

import base64
import html
from xml.etree import ElementTree

# Ink and fills that colour-blind readers can tell apart (after Okabe and Ito, Color Universal Design, 2008).
INK, GREY, PAPER = "#1b1f24", "#6b7280", "#ffffff"
BLUE, ORANGE, PURPLE, SKY, SAND = "#0072b2", "#b35900", "#8a3d73", "#cfe6f5", "#f6ead6"
FONT = "DejaVu Sans, Verdana, sans-serif"


class Drawing:
    """A sheet of `width` × `height` pixels; `says` tells a reader who cannot see it what it shows.

    >>> sheet = Drawing(40, 20, "a bus cable")
    >>> sheet.line(0, 10, 40, 10)
    >>> "a bus cable" in sheet.html
    True
    """

    def __init__(self, width: float, height: float, says: str) -> None:
        self.width, self.height, self.says = width, height, says
        size = {"width": f"{width:g}", "height": f"{height:g}", "viewBox": f"0 0 {width:g} {height:g}"}
        self._root = ElementTree.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", **size})
        ElementTree.SubElement(self._root, "title").text = says
        self.box(0, 0, width, height, fill=PAPER, stroke="none")

    def _add(self, tag: str, **attributes: object) -> ElementTree.Element:
        written = {
            name.rstrip("_").replace("_", "-"): f"{value:.6g}" if isinstance(value, float) else str(value)
            for name, value in attributes.items()
        }
        return ElementTree.SubElement(self._root, tag, written)

    def line(self, x1: float, y1: float, x2: float, y2: float, *, stroke: str = INK, width: float = 1.5,
             dash: str = "none") -> None:  # fmt: skip
        """A straight line; `dash` as in SVG, for example `4 3`."""
        self._add("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width, stroke_dasharray=dash)

    def path(self, points: list[tuple[float, float]], *, stroke: str = INK, width: float = 1.5,
             fill: str = "none") -> None:  # fmt: skip
        """A line through the points, closed and filled if `fill` is a colour."""
        text = " ".join(f"{x:.5g},{y:.5g}" for x, y in points)
        tag = "polyline" if fill == "none" else "polygon"
        self._add(tag, points=text, stroke=stroke, stroke_width=width, fill=fill)

    def box(self, x: float, y: float, width: float, height: float, *, fill: str = PAPER, stroke: str = INK,
            round_: float = 0.0, line: float = 1.5) -> None:  # fmt: skip
        """A rectangle; `round_` rounds its corners."""
        self._add("rect", x=x, y=y, width=width, height=height, fill=fill, stroke=stroke, stroke_width=line, rx=round_)

    def dot(self, x: float, y: float, radius: float = 4.0, *, fill: str = INK, stroke: str = INK) -> None:
        """A filled circle."""
        self._add("circle", cx=x, cy=y, r=radius, fill=fill, stroke=stroke, stroke_width=1.5)

    def text(self, x: float, y: float, words: object, *, size: float = 12.0, fill: str = INK, anchor: str = "middle",
             bold: bool = False, turn: float = 0.0) -> None:  # fmt: skip
        """Words at a point; `anchor` is start, middle or end, `turn` turns them by degrees."""
        mark = self._add(
            "text",
            x=x,
            y=y,
            font_size=size,
            fill=fill,
            text_anchor=anchor,
            font_family=FONT,
            font_weight="bold" if bold else "normal",
        )
        if turn:
            mark.set("transform", f"rotate({turn:g} {x:g} {y:g})")
        mark.text = str(words)

    @property
    def svg(self) -> str:
        """The drawing as SVG text."""
        return ElementTree.tostring(self._root, encoding="unicode")

    @property
    def html(self) -> str:
        """The drawing as an image element: it survives where a page strips inline SVG, and carries its words."""
        coded = base64.b64encode(self.svg.encode()).decode()
        return picture(f"data:image/svg+xml;base64,{coded}", self.says)


def picture(address: str, says: str) -> str:
    """An image element that shrinks to the page's width, with its text alternative."""
    return f'<img alt="{html.escape(says, quote=True)}" src="{address}" style="max-width:100%">'
