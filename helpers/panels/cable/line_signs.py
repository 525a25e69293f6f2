"""The signs of a line drawing: devices, plugs and terminators, and the legend that names them.

The drive is the converter of IEC 60617 (a box with a diagonal), the repeater its amplifier (a triangle),
the terminator its resistor (a bar). A terminator is told twice: by its shape and by its word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from helpers.bus.cable.laid import Plug
from helpers.panels.kit.drawing import BLUE, GREY, INK, PAPER, SKY, Drawing

HIGH = 22.0  # px, of a device
PLUG = (24.0, 15.0)  # px, width and height of a plug
LETTER = 6.6  # px, width of a letter of 11 px
_RESISTOR = (7.0, 15.0)


def device(sheet: Drawing, x: float, y: float, kind: str, *, wide: float = 30.0, alive: bool = True) -> None:
    """A device, its upper edge in the middle at x, y. One that is lost or dead is drawn pale."""
    stroke = INK if alive else GREY
    fill = SKY if alive else PAPER
    if kind == "terminator":
        resistor(sheet, x, y + 4, live=alive)
        return
    sheet.box(x - wide / 2, y, wide, HIGH, fill=fill, stroke=stroke, line=2.5 if kind == "controller" else 1.2)
    if kind in _INSIDE:
        _INSIDE[kind](sheet, x, y, wide / 2 - 3, stroke)


def _controller(sheet: Drawing, x: float, y: float, half: float, stroke: str) -> None:
    for part in (-1 / 3, 1 / 3):
        sheet.line(x + part * 1.5 * half, y, x + part * 1.5 * half, y + HIGH, stroke=stroke, width=1.2)


def _computer(sheet: Drawing, x: float, y: float, half: float, stroke: str) -> None:
    sheet.box(x - half + 1, y + 3, 2 * half - 2, 11, stroke=stroke, line=1)
    sheet.line(x - half, y + 18, x + half, y + 18, stroke=stroke, width=2)


def _drive(sheet: Drawing, x: float, y: float, half: float, stroke: str) -> None:
    edge = half + 3
    sheet.line(x - edge, y + HIGH, x + edge, y, stroke=stroke, width=1.2)
    for left, top in ((x - 0.8 * half, y + 6), (x + 0.1 * half, y + 16)):
        step = 0.17 * half
        sheet.path([(left + n * step, top + (0, -2, 0, 2, 0)[n]) for n in range(5)], stroke=stroke, width=1.2)


def _remote(sheet: Drawing, x: float, y: float, half: float, stroke: str) -> None:
    for row in (7, 15):
        for place in (-0.75, -0.25, 0.25, 0.75):
            sheet.dot(x + place * half, y + row, 1.2, fill=stroke, stroke=stroke)


def _repeater(sheet: Drawing, x: float, y: float, half: float, stroke: str) -> None:
    long = min(half, 8)
    sheet.path([(x - long, y + 4), (x + long, y + HIGH / 2), (x - long, y + HIGH - 4)], stroke=stroke, fill=PAPER)


def _coupler(sheet: Drawing, x: float, y: float, half: float, stroke: str) -> None:
    sheet.line(x, y, x, y + HIGH, stroke=stroke, dash="3 2")


_INSIDE: dict[str, Callable[[Drawing, float, float, float, str], None]] = {
    "controller": _controller,
    "engineering computer": _computer,
    "drive": _drive,
    "remote I/O": _remote,
    "repeater": _repeater,
    "coupler": _coupler,
}


def resistor(sheet: Drawing, x: float, y: float, *, live: bool = True) -> None:
    """A terminator: a bar that stands on y + 15. One without supply is hollow."""
    wide, high = _RESISTOR
    sheet.box(x - wide / 2, y, wide, high, fill=INK if live else PAPER, stroke=INK, line=1.2)


def plug(sheet: Drawing, x: float, y: float, *, on: bool, live: bool = True, wide: float = PLUG[0]) -> None:
    """A plug with its middle at x, y: a dark square one with a bar says on, a pale round one says off."""
    high = PLUG[1]
    left, top = x - wide / 2, y - high / 2
    if on:
        resistor(sheet, x, top - _RESISTOR[1], live=live)
        sheet.box(left, top, wide, high, fill=INK if live else PAPER, stroke=INK)
        sheet.text(x, y + 4, "on", size=11, bold=True, fill=PAPER if live else INK)
    else:
        sheet.box(left, top, wide, high, stroke=GREY, round_=7, line=1)
        sheet.text(x, y + 4, "off", size=11, fill=INK)


def own_supply(sheet: Drawing, x: float, y: float, *, live: bool = True) -> None:
    """A terminator with its own supply: a bar in a frame, its middle at x, y."""
    sheet.box(x - 9, y - 11, 18, 22, stroke=INK, line=1.2)
    resistor(sheet, x, y - 7.5, live=live)


def legend(devices: Iterable[Plug], width: float) -> list[list[tuple[str, float]]]:
    """What the legend has to name, in lines: each sign by its words, and where it starts."""
    listed = list(devices)
    words = [kind for kind in (*_INSIDE, "other") if any(d.kind == kind for d in listed)]
    words += ["terminator on"] * any(d.terminator_on for d in listed)
    words += ["terminator off"] * any(not d.terminator_on and d.kind != "terminator" for d in listed)
    words += ["terminator with its own supply"] * any(d.own_supply or d.kind == "terminator" for d in listed)
    lines: list[list[tuple[str, float]]] = [[]]
    x = 10.0
    for word in words:
        wide = 42 + 6.3 * len(word)
        if x + wide > width and lines[-1]:
            lines.append([])
            x = 10.0
        lines[-1].append((word, x))
        x += wide
    return lines


def legend_sign(sheet: Drawing, word: str, x: float, y: float) -> None:
    """One sign of the legend with its words; y is the middle of the line."""
    middle = x + 15
    if word in ("terminator on", "terminator off"):
        plug(sheet, middle, y + 3, on=word.endswith("on"))
    elif word == "terminator with its own supply":
        own_supply(sheet, middle, y)
    else:
        device(sheet, middle, y - HIGH / 2, word)
    sheet.text(x + 36, y + 4, word, size=11, fill=INK, anchor="start")


def cable(sheet: Drawing, x1: float, x2: float, y: float, *, kind: str = "A") -> None:
    """A piece of bus cable; type B is drawn in dashes."""
    sheet.line(x1, y, x2, y, stroke=BLUE, width=4, dash="none" if kind == "A" else "9 4")
