"""The states of a drive as a drawing: three floors by what is live, the way taken, and the ways that are open.

Top floor: the motor can turn. Middle: the power is on, the pulses are off. Bottom: the power is off. The state of
now has a thick frame and the word "now", the way taken thick lines with numbers, each open way a dashed line with
a letter; the list of ways says what each letter asks for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from helpers.drive.state_answers import StatePicture, Way
from helpers.drive.states import STATES, transitions
from helpers.panels.kit.drawing import BLUE, GREY, INK, PAPER, SAND, SKY, Drawing

Point = tuple[float, float]

WIDTH, HEIGHT = 760, 292
_WIDE, _HIGH = 116, 42
_TOP, _MIDDLE, _BOTTOM = 46, 122, 200
# Top and height of each floor, its fill, and its words with the place where no line runs.
_FLOORS = (
    (0, 94, SAND, ((6.0, 14.0, "pulses on: the motor can turn"),)),
    (94, 88, SKY, ((688.0, 108.0, "power on,"), (688.0, 121.0, "pulses off"))),
    (182, 110, PAPER, ((6.0, 195.0, "power off"),)),
)
_BOXES: dict[str, Point] = {
    "quick stop": (22, _TOP),
    "ramp stop": (172, _TOP),
    "disabling operation": (322, _TOP),
    "operation": (472, _TOP),
    "fault reaction": (622, _TOP),
    "switched on": (322, _MIDDLE),
    "switching on inhibited": (22, _BOTTOM),
    "ready for switching on": (172, _BOTTOM),
    "fault": (622, _BOTTOM),
}
_BELOW, _LOWEST = 253, 264
# Each way as corners of a line, from the edge of one box to the edge of the other. Ways that end in the same
# state by the same cause share the last part of their line.
_ROUTES: dict[Way, tuple[Point, ...]] = {
    ("switching on inhibited", "ready for switching on"): ((138, 212), (172, 212)),
    ("ready for switching on", "switching on inhibited"): ((172, 232), (138, 232)),
    ("ready for switching on", "switched on"): ((252, 200), (322, 152)),
    ("switched on", "ready for switching on"): ((350, 164), (288, 210)),
    ("switched on", "operation"): ((438, 132), (494, 88)),
    ("operation", "switched on"): ((520, 88), (438, 152)),
    ("switched on", "switching on inhibited"): ((390, 164), (390, _BELOW), (90, _BELOW), (90, 242)),
    ("operation", "disabling operation"): ((472, 58), (438, 58)),
    ("disabling operation", "operation"): ((438, 77), (472, 77)),
    ("operation", "ramp stop"): ((508, 46), (508, 36), (262, 36), (262, 46)),
    ("ramp stop", "operation"): ((240, 46), (240, 28), (524, 28), (524, 46)),
    ("operation", "quick stop"): ((544, 46), (544, 20), (80, 20), (80, 46)),
    ("operation", "switching on inhibited"): ((556, 88), (556, _BELOW), (90, _BELOW), (90, 242)),
    ("disabling operation", "switched on"): ((372, 88), (372, 122)),
    ("disabling operation", "ramp stop"): ((322, 67), (288, 67)),
    ("disabling operation", "quick stop"): ((352, 46), (352, 20), (80, 20), (80, 46)),
    ("disabling operation", "switching on inhibited"): (
        (424, 88), (424, 106), (456, 106), (456, _BELOW), (90, _BELOW), (90, 242)),
    ("ramp stop", "quick stop"): ((172, 67), (138, 67)),
    ("ramp stop", "ready for switching on"): ((224, 88), (224, 200)),
    ("ramp stop", "switching on inhibited"): ((184, 88), (116, 200)),
    ("quick stop", "switching on inhibited"): ((74, 88), (74, 200)),
    ("fault reaction", "fault"): ((680, 88), (680, 200)),
    ("fault", "switching on inhibited"): ((680, 242), (680, _LOWEST), (64, _LOWEST), (64, 242)),
}  # fmt: skip
# An internal fault leads here from wherever pulses are on; no control word does.
_FAULT = ((588, 67), (622, 67))


def state_diagram(picture: StatePicture) -> Drawing:
    """All states; the ways that were taken bear their numbers, those that are open their letters."""
    now, taken, ways = picture.now, picture.taken, picture.open_ways
    sheet = Drawing(WIDTH, HEIGHT, picture.says)
    for top, high, fill, _ in _FLOORS:
        sheet.box(0, top, WIDTH, high, fill=fill, stroke="none")
    marked = {*taken, *((now, way.after) for way in ways)}
    every = dict.fromkeys((rule.before, rule.after) for rule in transitions(picture.options))
    entered = {
        "fault reaction",
        *(after for _, after in every),
    }  # ways out of a state that this drive never enters: none
    for drawn in every:
        if drawn not in marked and drawn[0] in entered:
            _way(sheet, _ROUTES[drawn], stroke=GREY, width=0.9)
    _way(sheet, _FAULT, stroke=GREY, width=1.2, dash="1.5 3")
    for way in ways:
        _way(sheet, _ROUTES[now, way.after], stroke=INK, width=1.8, dash="6 4")
    for drawn in taken:
        _way(sheet, _ROUTES[drawn], stroke=BLUE, width=4)
    for _, _, _, lines in _FLOORS:
        for x, y, words in lines:
            sheet.text(x, y, words, size=11, anchor="start")
    for state in STATES:
        _state(sheet, state, now=state == now, was=state in {before for before, _ in taken})
    for way in ways:
        x, y = _along(_ROUTES[now, way.after], 0.42)
        sheet.dot(x, y, 8.5, fill=PAPER, stroke=INK)
        sheet.text(x, y + 4.2, way.letter, size=12, bold=True)
    for n, drawn in zip(picture.numbers or range(1, len(taken) + 1), taken, strict=True):
        x, y = _along(_ROUTES[drawn], 0.75 if _long(_ROUTES[drawn]) else 0.5)
        sheet.box(x - 9, y - 9, 18, 18, fill=BLUE, stroke=PAPER)
        sheet.text(x, y + 4.5, n, size=12, bold=True, fill=PAPER)
    _legend(sheet)
    return sheet


def _way(sheet: Drawing, corners: Sequence[Point], *, stroke: str, width: float, dash: str = "none") -> None:
    *rest, last, end = corners
    angle = math.atan2(end[1] - last[1], end[0] - last[0])
    long = 7 + 1.2 * width
    foot = (end[0] - long * math.cos(angle), end[1] - long * math.sin(angle))
    points = [*rest, last, foot]
    for (x1, y1), (x2, y2) in pairwise(points):
        sheet.line(x1, y1, x2, y2, stroke=stroke, width=width, dash=dash)
    side = 0.45 * long
    left = (foot[0] - side * math.sin(angle), foot[1] + side * math.cos(angle))
    right = (foot[0] + side * math.sin(angle), foot[1] - side * math.cos(angle))
    sheet.path([end, left, right], stroke=stroke, width=1, fill=stroke)


def _long(corners: Sequence[Point]) -> bool:
    """True where a number has room away from the middle, which a letter of the way back may need."""
    return sum(math.dist(*piece) for piece in pairwise(corners)) > 150


def _along(corners: Sequence[Point], share: float) -> Point:
    """The point after this share of the line's length."""
    pieces = list(pairwise(corners))
    left = share * sum(math.dist(*piece) for piece in pieces)
    for (x1, y1), (x2, y2) in pieces:
        long = math.dist((x1, y1), (x2, y2))
        if left <= long:
            return x1 + (x2 - x1) * left / long, y1 + (y2 - y1) * left / long
        left -= long
    return corners[-1]


def _state(sheet: Drawing, state: str, *, now: bool, was: bool) -> None:
    x, y = _BOXES[state]
    line = 4.0 if now else 1.5
    sheet.box(x, y, _WIDE, _HIGH, fill=PAPER, stroke=BLUE if now or was else INK, round_=5, line=line)
    if was and not now:
        sheet.box(x + 3, y + 3, _WIDE - 6, _HIGH - 6, fill="none", stroke=BLUE, round_=3, line=1)
    words = _two_lines(state)
    for n, part in enumerate(words):
        sheet.text(x + _WIDE / 2, y + _HIGH / 2 + 4 + 13 * (n - (len(words) - 1) / 2), part, size=11.5, bold=now)
    mark = "● now" if now else "was" if was else ""
    if mark:
        wide = 46 if now else 30
        sheet.box(x + _WIDE - wide - 4, y - 8, wide, 15, fill=BLUE, stroke=PAPER, round_=3, line=1)
        sheet.text(x + _WIDE - wide / 2 - 4, y + 3.5, mark, size=11, bold=True, fill=PAPER)


def _two_lines(state: str) -> list[str]:
    if len(state) < 14:
        return [state]
    head, _, tail = state.rpartition(" ")
    return [head, tail] if state != "ready for switching on" else ["ready for", "switching on"]


def _legend(sheet: Drawing) -> None:
    y = 280
    _way(sheet, ((12, y), (44, y)), stroke=BLUE, width=4)
    sheet.text(50, y + 4, "taken, in the order of the numbers", size=11, anchor="start")
    _way(sheet, ((270, y), (302, y)), stroke=INK, width=1.8, dash="6 4")
    sheet.text(308, y + 4, "can follow, by letter", size=11, anchor="start")
    _way(sheet, ((446, y), (478, y)), stroke=GREY, width=0.9)
    sheet.text(484, y + 4, "other ways", size=11, anchor="start")
    _way(sheet, ((570, y), (602, y)), stroke=GREY, width=1.2, dash="1.5 3")
    sheet.text(608, y + 4, "internal fault, no word", size=11, anchor="start")
