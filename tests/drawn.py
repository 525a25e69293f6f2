"""Reads a drawing back: its boxes and its texts, so that a test can see whether anything is cut off or overlaps."""

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

import matplotlib
from PIL import ImageFont


@cache
def _font(bold):
    """The drawings' first font, as matplotlib brings it along."""
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return ImageFont.truetype(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / name, 100)


@dataclass(frozen=True)
class Text:
    """A text with its place; `left` and `right` are measured in the drawings' own font."""

    words: str
    left: float
    right: float
    y: float
    size: float
    bold: bool
    anchor: str


def elements(sheet, tag):
    return ET.fromstring(sheet.svg).findall("{http://www.w3.org/2000/svg}" + tag)


def boxes(sheet):
    """The boxes without the sheet itself: x, y, width, height and fill."""
    names = ("x", "y", "width", "height")
    return [(*(float(r.get(n)) for n in names), r.get("fill")) for r in elements(sheet, "rect")[1:]]


def texts(sheet):
    found = []
    for t in elements(sheet, "text"):
        size, anchor = float(t.get("font-size")), t.get("text-anchor")
        bold = t.get("font-weight") == "bold"
        wide = _font(bold).getlength(t.text or "") * size / 100
        wide *= _level(t)
        left = float(t.get("x")) - {"start": 0, "middle": 0.5, "end": 1}[anchor] * wide
        found.append(Text(t.text or "", left, left + wide, float(t.get("y")), size, bold, anchor))
    return found


def _level(text):
    """The share of a text's length that it takes from left to right: 1, or less if it is turned."""
    turned = re.match(r"rotate\((-?[\d.]+)", text.get("transform") or "")
    return abs(math.cos(math.radians(float(turned[1])))) if turned else 1.0


def check_legible(sheet, *, widest=760):
    """Nothing leaves the sheet, boxes of one row don't overlap, no text is small or too long for the sheet."""
    assert sheet.width <= widest
    rows = {}
    for x, y, width, height, _ in boxes(sheet):
        assert min(x, y) >= 0 and x + width <= sheet.width and y + height <= sheet.height
        rows.setdefault(y, []).append((x, x + width))
    for row in rows.values():
        # Numbers are written with six digits.
        assert all(before[1] <= behind[0] + 0.01 for before, behind in pairwise(sorted(row)))
    for text in texts(sheet):
        assert text.size >= 11 and 0 < text.y <= sheet.height
        assert text.left >= 0 and text.right <= sheet.width, text


def chart_texts(chart):
    """The words of a chart with their places, as `texts` gives those of a drawing."""
    found = []
    root = ET.fromstring(chart.svg)
    groups = {text: group for group in root.iter() for text in group}
    for t in root.iter("{http://www.w3.org/2000/svg}text"):
        style = dict(part.split(": ", 1) for part in (t.get("style") or "").split("; ") if part)
        given = style or {**groups[t].attrib, **t.attrib}
        size = float(given["font-size"].removesuffix("px"))
        bold = given.get("font-weight") in ("bold", "700")
        anchor = given.get("text-anchor", "start")
        # The lines of a text of several lines are moved there by `translate`.
        place = (
            (t.get("x"), t.get("y")) if t.get("x") else re.search(r"\(([-\d.]+) ([-\d.]+)", t.get("transform")).groups()
        )
        x, y = map(float, place)
        wide = _font(bold).getlength(t.text or "") * size / 100
        left = x - {"start": 0, "middle": 0.5, "end": 1}[anchor] * wide
        found.append(Text(t.text or "", left, left + wide, y, size, bold, anchor))
    return found


def check_chart(chart):
    """No word leaves the sheet or is small, no number is none, and the words for a reader who cannot see are there."""
    root = ET.fromstring(chart.svg)
    width, height = float(root.get("width")), float(root.get("height"))
    assert root[0].text == chart.says and chart.says
    assert not re.search(r"\b(nan|inf)\b", re.sub("<title>.*?</title>", "", chart.svg))
    for text in chart_texts(chart):
        assert text.size >= 8 and 0 < text.y <= height, text
        assert text.left >= 0 and text.right <= width, text
