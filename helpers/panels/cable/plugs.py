"""A bus plug seen from inside: what its switch does to the resistors and to the outgoing cable."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import pairwise

from helpers.answer import Answer
from helpers.bus.cable.laid import even_line
from helpers.bus.cable.termination import check_termination, lost
from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import Circuit, Tap, Terminator, known
from helpers.bus.circuit.network import branches
from helpers.facts import one
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, PAPER, PURPLE, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions
from helpers.verdict import Finding, worst, worst_first
from helpers.wording import capital_first

KINDS = (
    ("cuts off outgoing", "cutting"),
    ("leaves it joined", "through"),
    ("has no terminator", "device"),
)
PLACES = (("in the middle", "middle"), ("at the end", "end"))
_WIDTH, _HEIGHT = 760, 288
_B, _A = 84.0, 124.0  # where the cores run
_LEFT, _RIGHT, _FOOT = 132.0, 628.0, 240.0  # the shell of the plug
_DEVICE, _CONTACT = 214.0, 592.0
_NETWORK = 196.0  # where the resistors lie
_NODES = {"VP": 306.0, "B": 386.0, "A": 466.0, "DGND": 546.0}


@cache
def levels() -> dict[str, float]:
    """Voltages of a terminator that is fed and alone, against its DGND, in V.

    >>> {pin: round(volts, 2) for pin, volts in levels().items()}
    {'VP': 5.0, 'B': 3.05, 'A': 1.95, 'DGND': 0.0}
    """
    solved = Solved(branches(Circuit((Tap(None, (Terminator(),)),), ())))
    return {pin: solved.volts((0, pin), (0, "DGND")) for pin in ("VP", "B", "A", "DGND")}


def plug_drawing(plug: str, *, on: bool, at_end: bool, exchanged: bool = False) -> Drawing:
    """The plug with its cables, the resistors and the contacts, as its switch stands."""
    cuts = one("plugs", plug=plug)["outgoing_cable"] == "cut off"
    sheet = Drawing(_WIDTH, _HEIGHT, _told(plug, on, at_end, exchanged, cuts))
    sheet.box(_LEFT, 20, _RIGHT - _LEFT, _FOOT - 20, fill=SAND, stroke=GREY, round_=10)
    inside = plug != "device"
    words = f"plug, terminator {'on' if on else 'off'}" if inside else "plug without a terminator"
    sheet.text(_LEFT + 10, 38, words, size=12, anchor="start", bold=True)
    _cables(sheet, at_end, exchanged)
    _cores(sheet, cuts and on, cuts)
    _device(sheet, on, inside)
    if inside:
        _network(sheet, on)
    return sheet


def _told(plug: str, on: bool, at_end: bool, exchanged: bool, cuts: bool) -> str:
    place = "at the end of the segment" if at_end else "in the middle of the line"
    sides = ", incoming and outgoing cable exchanged" if exchanged else ""
    where = "in the device behind it" if plug == "device" else "in it"
    state = "joined to B and A" if on else "not joined"
    outgoing = "cut off" if cuts and on else "joined to the incoming side"
    return (
        f"a plug {place}{sides}: terminator {'on' if on else 'off'}, the three resistors {where} {state}, "
        f"outgoing side {outgoing}"
    )


def _cables(sheet: Drawing, at_end: bool, exchanged: bool) -> None:
    sides = (("incoming side", 66.0, 8.0, _LEFT, exchanged), ("outgoing side", 694.0, _RIGHT, 752.0, not exchanged))
    for words, middle, x1, x2, onward in sides:
        sheet.text(middle, 46, words, size=12, bold=True)
        there = not at_end or not onward
        if there:
            for y, core in ((_B, "B"), (_A, "A")):
                sheet.line(x1, y, x2, y, stroke=BLUE, width=4)
                sheet.text(middle, y - 8, core, size=12, bold=True)
        text = ("the only cable",) if at_end else ("cable to", "the next") if onward else ("cable from", "the last")
        for n, line in enumerate(text if there else ("no cable",)):
            sheet.text(middle, _A + 20 + 14 * n, line, size=11, fill=INK if there else GREY)


def _cores(sheet: Drawing, cut: bool, has_contact: bool) -> None:
    """The two cores from side to side, with the contact that some plugs have in each."""
    for y in (_B, _A):
        if not has_contact:
            sheet.line(_LEFT, y, _RIGHT, y, stroke=BLUE, width=4)
            continue
        sheet.line(_LEFT, y, _CONTACT - 14, y, stroke=BLUE, width=4)
        sheet.line(_CONTACT + 14, y, _RIGHT, y, stroke=BLUE, width=4)
        _contact(sheet, (_CONTACT - 14, y), (_CONTACT + 14, y), closed=not cut)
    if has_contact:
        words, colour = ("cut off", PURPLE) if cut else ("joined", INK)
        sheet.text(_CONTACT, _A + 22, words, size=12, fill=colour, bold=cut)


def _contact(sheet: Drawing, here: tuple[float, float], there: tuple[float, float], *, closed: bool) -> None:
    """A switch contact between two points; open, its lever stands off by a right angle's third."""
    (x1, y1), (x2, y2) = here, there
    tip = there if closed else (x1 + 0.8 * (x2 - x1) + 0.5 * (y2 - y1), y1 + 0.8 * (y2 - y1) - 0.5 * (x2 - x1))
    sheet.line(x1, y1, *tip, width=3)
    for x, y in (here, there):
        sheet.dot(x, y, 3.5, fill=PAPER)


def _network(sheet: Drawing, on: bool) -> None:
    """The three resistors, the contacts that join them to the cores, and what a fed terminator holds each core at."""
    ink = INK if on else GREY
    places = list(_NODES.items())
    sheet.line(places[0][1], _NETWORK, places[-1][1], _NETWORK, stroke=ink)
    for ((_, x1), (_, x2)), name in zip(pairwise(places), ("rs_ohm", "rt_ohm", "rs_ohm"), strict=True):
        middle = (x1 + x2) / 2
        sheet.box(middle - 20, _NETWORK - 7, 40, 14, fill=PAPER, stroke=ink)
        sheet.text(middle, _NETWORK - 13, f"{known('terminator', name):g} Ω", size=12, fill=ink)
    for core, y in (("B", _B), ("A", _A)):
        x = _NODES[core]
        sheet.line(x, y, x, 146, width=1.5)
        sheet.line(x, 170, x, _NETWORK, stroke=ink, width=1.5)
        sheet.dot(x, y, 4)
        _contact(sheet, (x, 146), (x, 170), closed=on)
    for pin, x in places:
        sheet.dot(x, _NETWORK, 3, fill=ink, stroke=ink)
        words = {"VP": "VP, pin 6", "DGND": "DGND, pin 5"}.get(pin, pin)
        sheet.text(x, _NETWORK + 19, words, size=11, fill=ink, bold=on)
        if on:
            sheet.text(x, _NETWORK + 33, f"{levels()[pin]:.3g} V", size=11)


def _device(sheet: Drawing, on: bool, inside: bool) -> None:
    for x, y, words, anchor in ((_DEVICE - 22, _B, "pin 3", "end"), (_DEVICE + 8, _A, "pin 8", "start")):
        sheet.line(x, y, x, _FOOT + 10, width=1.5)
        sheet.dot(x, y, 4)
        sheet.text(x + (-6 if anchor == "end" else 6), _FOOT - 8, words, size=11, anchor=anchor)
    words = "device: feeds pins 6 and 5" if inside else f"device: its own terminator is {'on' if on else 'off'}"
    sheet.box(_LEFT, _FOOT + 10, 16 + 7.6 * len(words), 30, fill=SKY, stroke=INK)
    sheet.text(_LEFT + 10, _FOOT + 30, words, size=12, anchor="start", bold=not inside)


# -- the panel ----------------------------------------------------------------------------------------


def plug_view(plug: str, on: bool, place: str, exchanged: bool = False) -> Answer:
    """What the rules say of one plug, in a line of three stations that is in order otherwise."""
    line = even_line(stations=3, length_m=20, bit_rate=500_000)
    asked = 2 if place == "end" else 1
    line = line.with_plug(asked, plug_type=plug, terminator_on=on, sides_exchanged=exchanged)
    findings = worst_first(f for f in check_termination(line) if f.place.endswith(line.plugs[asked].name))
    kind, resistors = one("plugs", plug=plug), one("terminator", name="rt_ohm")
    gone = [name for name in lost(line) if name != line.plugs[asked].name]
    return Answer(
        _sentence(findings, gone, on, place, alone=line.plugs[asked].name in lost(line)),
        degree=worst(findings),
        because=f"{findings[0].to_do} Rule: {findings[0].allowed} – {findings[0].source}." if findings else "",
        caution=cautions("cabinet", "terminator switch"),
        pictures=[plug_drawing(plug, on=on, at_end=place == "end", exchanged=exchanged)],
        sources=[*(f.source for f in findings), f"{kind['about']}: {kind.cited}", resistors.cited],
    )


def _sentence(findings: Sequence[Finding], gone: list[str], on: bool, place: str, *, alone: bool) -> str:
    if alone:
        behind = ", and those behind it" if gone else ""
        return f"The end of the cable is open: the plug has cut it off from its resistors and from its station{behind}."
    if gone:
        return "Every station on the outgoing side is lost. The line ends here, properly terminated."
    if not findings:
        if place == "end":
            return "The end of the cable is terminated."
        return "The cable runs on, and no resistor is joined to it. So it must be in the middle."
    if place == "end" and not on:
        return "The end of the cable is open: what is sent comes back from it as an echo."
    if place == "middle" and on:
        return "A third terminator takes a part of every signal. All stations still hear, with less to spare."
    return f"{capital_first(findings[0].found)}."


def plug_panel() -> Panel:
    """Both kinds of plug from inside: turn the switch, exchange the cables."""
    return Panel(
        "Inside a plug",
        {
            "plug": fields.choice("this plug", KINDS),
            "on": fields.choice("its switch", (("off", False), ("on", True)), False),
            "place": fields.choice("it stands", PLACES),
            "exchanged": fields.choice("cables", (("on their sides", False), ("exchanged", True)), False),
        },
        plug_view,
        hint="Both kinds look alike from outside. Which one you have, its data sheet says, or an ohmmeter on a plug "
        "that is not connected: the same core from side to side, with the switch on.",
    )
