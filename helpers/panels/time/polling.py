"""A panel that plays one rotation of the demo line, telegram by telegram: who sends, who is meant, which octets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from helpers.answer import Answer
from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.time.answers import RotationPicture, rotation_answer
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.rotation import AGAIN, ANSWER, GAP, Piece, Polled, pieces, rotation
from helpers.device import formats
from helpers.drive import words
from helpers.errors import Unknown
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.plan.model import Station
from helpers.plan.my_networks import demo_network
from helpers.wording import short

CONTROLLER = 1
# What the drives of the demo line are told and report while they run at half speed; all other words are 0.
_HALF = 0x2000
_RUN = next(word.value for word in words.common("control") if word.name == "run")
_RUNNING = next(word.value for word in words.common("status") if word.name == "running at setpoint")
_VALUES = {"STW1": _RUN, "NSOLL_A": _HALF, "ZSW1": _RUNNING, "NIST_A": _HALF}


@cache
def demo_stations() -> tuple[Station, ...]:
    """Everything on the invented Saltmarsh Mill line that has an address, by address."""
    network = demo_network()
    return tuple(sorted((s for s in network.stations if s.address is not None), key=lambda s: s.address or 0))


@cache
def demo_line(silent: int | None = None) -> tuple[Polled, ...]:
    """The stations that the controller of the demo line asks, with data as they run at half speed.

    `silent` is the address of a station that does not answer.

    >>> [station.name for station in demo_line(silent=12) if station.silent]
    ['Cooling fan']
    """
    asked = [_polled(station) for station in demo_stations() if station.is_slave]
    return tuple(replace(station, silent=station.address == silent) for station in asked)


def _polled(station: Station) -> Polled:
    try:
        known = formats.by_name(station.format_controller)
        outputs, inputs = _data(known.words_out), _data(known.words_in)
    except Unknown:  # no drive: bare identifiers say how much data there is, not what it means
        exchange = station.exchange or Exchange(0, 0)
        outputs, inputs = bytes(exchange.outputs), bytes(exchange.inputs)
    return Polled(station.address or 0, station.name, outputs, inputs)


def _data(listed: Sequence[formats.FormatWord]) -> bytes:
    return b"".join(_VALUES.get(word.signal or word.name, 0).to_bytes(2, "big") for word in listed)


# -- the drawing --------------------------------------------------------------------------------------

_WIDTH = 760.0


def rotation_drawing(picture: RotationPicture) -> Drawing:
    """The line with sender and receiver, the octets of the telegram, and the time line of the rotation."""
    sheet = Drawing(_WIDTH, 322, picture.says)
    _line(sheet, picture)
    _octets(sheet, pieces(picture.telegram), 184)
    _time_line(sheet, picture, 252)
    return sheet


def _line(sheet: Drawing, picture: RotationPicture) -> None:
    now, names, silent = picture.telegram, picture.names, picture.silent
    addresses = sorted({*names, *silent})
    pitch = (_WIDTH - 16) / len(addresses)
    at = {address: 8 + pitch * (n + 0.5) for n, address in enumerate(addresses)}
    sheet.line(8, 58, _WIDTH - 8, 58, width=4, stroke=GREY)
    for n, address in enumerate(addresses):
        x = at[address]
        away = address in silent or address in picture.off
        _station(sheet, x, address, sends=address == now.sender, meant=address == now.receiver, away=away)
        label = _wrapped(names.get(address, "nobody"))
        label += ["off"] * (address in picture.off) + ["silent"] * (address in silent and address in names)
        for row, words_ in enumerate(label):
            sheet.text(x, 116 + 13 * row + 30 * (n % 2), words_, size=11, fill=GREY if away else INK)
    _arrow(sheet, at[now.sender], at[now.receiver])


def _station(sheet: Drawing, x: float, address: int, *, sends: bool, meant: bool, away: bool) -> None:
    stroke = BLUE if sends else ORANGE if meant else GREY
    sheet.line(x, 58, x, 74, stroke=stroke, width=3 if sends or meant else 1.5)
    if away and not meant:
        for x1, y1, x2, y2 in ((-18, 74, 18, 74), (18, 74, 18, 100), (18, 100, -18, 100), (-18, 100, -18, 74)):
            sheet.line(x + x1, y1, x + x2, y2, stroke=GREY, dash="3 3")
    else:
        fill = SKY if sends else SAND if meant else PAPER
        sheet.box(x - 18, 74, 36, 26, fill=fill, stroke=stroke, line=3 if sends or meant else 1.5, round_=3)
    sheet.text(x, 92, address, size=13, bold=sends or meant, fill=GREY if away and not meant else INK)
    if sends or meant:
        word = "keeps it" if sends and meant else "sends" if sends else "is meant"
        sheet.text(x, 14, word, size=11, bold=True, fill=stroke)


def _arrow(sheet: Drawing, start: float, end: float) -> None:
    """From the sender to the receiver, above the bus; a loop for the token to oneself."""
    if start == end:
        loop = [(start + 22 * math.cos(a / 8), 40 - 16 * math.sin(a / 8)) for a in range(26)]
        sheet.path(loop, stroke=BLUE, width=2.5)
        tip, way = (start - 22.0, 50.0), (0.0, 1.0)
    else:
        to_right = 1.0 if end > start else -1.0
        sheet.line(start, 46, start, 30, stroke=BLUE, width=2.5)
        sheet.line(start, 30, end, 30, stroke=BLUE, width=2.5)
        sheet.line(end, 30, end, 42, stroke=BLUE, width=2.5)
        tip, way = (end, 52.0), (0.0, 1.0)
        middle = (start + end) / 2
        sheet.path([(middle - 5 * to_right, 25), (middle + 4 * to_right, 30), (middle - 5 * to_right, 35)], fill=BLUE,
                   stroke=BLUE)  # fmt: skip
    sheet.path([tip, (tip[0] - 6, tip[1] - 11 * way[1]), (tip[0] + 6, tip[1] - 11 * way[1])], fill=BLUE, stroke=BLUE)


def _wrapped(name: str, most: int = 11) -> list[str]:
    """A name in two lines of at most `most` letters."""
    first, second = "", ""
    for word in name.split():
        if not second and len(f"{first} {word}".strip()) <= most:
            first = f"{first} {word}".strip()
        else:
            second = f"{second} {word}".strip()
    return [short(line, most) for line in (first, second) if line]


_CELL, _SHOWN = 58.0, 7


def _octets(sheet: Drawing, cut: Sequence[Piece], y: float) -> None:
    """The octets of a telegram in boxes: the name above, what it says below."""
    x = 8.0
    for piece in cut:
        wide = _CELL if len(piece.octets) < 3 else _WIDTH - 16 - _CELL * (len(cut) - 1)
        shown = piece.hex[: 3 * _SHOWN - 1] + (" …" if len(piece.octets) > _SHOWN else "")
        sheet.text(x + wide / 2, y, piece.name, size=12, bold=True)
        sheet.box(x + 1, y + 6, wide - 2, 26, fill=SAND if piece.name == "data" else PAPER, line=1)
        sheet.text(x + wide / 2, y + 24, shown, size=13)
        sheet.text(x + wide / 2, y + 46, piece.says, size=11, fill=GREY)
        x += wide


def _time_line(sheet: Drawing, picture: RotationPicture, y: float) -> None:
    """All telegrams on one scale of time: those of the controller above, the answers below, silences empty."""
    left, right, high = 78.0, _WIDTH - 12, 17.0
    whole_bits = picture.telegrams[-1].end_bits
    scale = (right - left) / whole_bits
    for words_, lane in (("controller", 0), ("answers", 1)):
        sheet.text(left - 6, y + 13 + lane * high, words_, size=11, anchor="end")
    sheet.box(left, y, right - left, 2 * high, stroke=GREY, line=1)
    now = picture.telegram
    for telegram in picture.telegrams:
        lane, x, wide = int(telegram.kind == ANSWER), left + telegram.start_bits * scale, telegram.bits * scale
        here = telegram is now
        sheet.box(x, y + lane * high + 1, max(wide, 1.5), high - 2, fill=SAND if lane else SKY,
                  stroke=INK if here else GREY, line=2.5 if here else 0.7)  # fmt: skip
        if telegram.kind in (ANSWER, AGAIN) or (telegram.kind == GAP and wide > 4):
            address = telegram.sender if telegram.kind == ANSWER else telegram.receiver
            sheet.text(x, y + 2 * high + 14, address, size=11, fill=INK if here else GREY)
    x = left + now.start_bits * scale
    sheet.path([(x - 5, y - 9), (x + 5, y - 9), (x, y - 1)], fill=INK)
    sheet.line(x, y, x, y + 2 * high, width=1.5)
    end = f"{picture.clock(whole_bits)} for the whole rotation"
    sheet.text(right, y + 2 * high + 32, end, size=11, anchor="end", fill=GREY)
    clock = picture.clock(now.start_bits)
    sheet.text(min(max(x, left + 20), right - 220), y + 2 * high + 32, clock, size=13, bold=True)


# -- the panel ----------------------------------------------------------------------------------------


def polling_panel() -> Panel:
    """Play one rotation of the demo line, or step through it; let a station fall silent."""
    count = len(rotation(demo_line(), bit_rate=bit_rates()[0], controller=CONTROLLER))
    stations = [(f"{station.address} {station.name}", station.address) for station in demo_line()]
    names = {station.address or 0: station.name for station in demo_stations()}
    # A second master would take part in the token ring, so the engineering computer of the demo line is off.
    other_masters = {s.address or 0 for s in demo_stations() if s.is_master and s.address != CONTROLLER}
    # A list shows nothing as chosen where the value is None.
    choice = fields.choice("silent station", [("none, all answer", 0), *stations])

    def answer(step: int, bit_rate: float, silent: int | None) -> Answer:
        return rotation_answer(
            demo_line(silent), step, bit_rate=bit_rate, controller=CONTROLLER, names=names, off=other_masters
        )

    return Panel(
        "Who speaks now?",
        {
            "step": fields.play("telegram", 2, 1, count, pause_ms=1500),
            "bit_rate": fields.bit_rate(1_500_000),
            "silent": fields.Field(choice.widget, lambda address: address or None),
        },
        answer,
        draw={RotationPicture: rotation_drawing},
        hint="Press ▶ to play the rotation, or move the slider with the arrow keys. The line is that of Saltmarsh "
        "Mill, an invented site. The signal's way along the cable is left out.",
    )
