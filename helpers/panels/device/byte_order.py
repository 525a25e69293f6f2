"""Panels for byte order and for tearing: a value as octets, what a controller makes of them, and read in pieces."""

from __future__ import annotations

from helpers.device.byte_order import BITS_PER_BYTE, OrderPicture, arrange, byte_order_answer, iec_types, orders
from helpers.device.consistency import ACCESSES, CHANNEL, TearingPicture, moment, tearing_answer
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import Draw
from helpers.panels.kit.drawing import GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel

_CELL = 58.0  # px, of an octet


def _types() -> list[str]:
    return [one.name for one in iec_types() if one.bits > BITS_PER_BYTE]


def order_drawing(picture: OrderPicture) -> Drawing:
    """The octets on the bus above those in the controller, with a line from each to its new place."""
    sent, kept = picture.sent, picture.kept
    sheet = Drawing(560, 150, picture.says)
    places = [arrange(bytes(range(len(sent))), picture.order).index(n) for n in range(len(sent))]
    left = 190.0
    for y, name, octets in ((12.0, "on the bus, first at the left", sent), (96.0, "read, high byte at the left", kept)):
        sheet.text(left - 12, y + 22, name, size=11, anchor="end")
        for n, octet in enumerate(octets):
            sheet.box(left + n * _CELL, y, _CELL - 6, 34, fill=SAND if (n if y < 50 else places.index(n)) % 2 else SKY,
                      line=1.2)  # fmt: skip
            sheet.text(left + n * _CELL + 26, y + 23, f"{octet:02X}", size=15, bold=True)
    for n, to in enumerate(places):
        sheet.line(left + n * _CELL + 26, 47, left + to * _CELL + 26, 95, stroke=INK if n == to else ORANGE,
                   dash="none" if n == to else "5 3")  # fmt: skip
    sheet.text(8, 146, "dashed: the octet changes its place", size=11, anchor="start", fill=GREY)
    return sheet


def tearing_drawing(picture: TearingPicture) -> Drawing:
    """Every possible reading, octet by octet: which were old and which new."""
    readings, access_bytes = picture.readings, picture.access_bytes
    new, old = readings[0].octets, readings[-1].octets
    high = 24
    wide = 150 + _CELL * len(new) + 90
    sheet = Drawing(wide, 34 + high * len(readings), picture.says)
    sheet.text(8, 14, "white: old · shaded: new · gap: between two accesses", size=11, anchor="start", fill=GREY)
    for row, reading in enumerate(readings):
        y = 24 + high * row
        sheet.text(8, y + 15, moment(reading), size=11, anchor="start")
        for n, octet in enumerate(reading.octets):
            gap = 4 if n % access_bytes == access_bytes - 1 else 0
            sheet.box(
                150 + n * _CELL,
                y,
                _CELL - gap,
                20,
                fill=SKY if reading.new[n // access_bytes] else PAPER,
                stroke=INK,
                line=1.0,
            )
            sheet.text(150 + n * _CELL + 26, y + 15, f"{octet:02X}", size=12, bold=new[n] != old[n])
        if reading.torn:
            sheet.text(wide - 84, y + 15, "▲ torn", size=11, anchor="start", bold=True, fill=ORANGE)
    return sheet


DRAW: Draw = {OrderPicture: order_drawing, TearingPicture: tearing_drawing}


def byte_order_panel() -> Panel:
    """A value on the wire and in controllers of different byte orders."""
    return Panel(
        "A value on the wire and in the controller",
        {
            "kind": fields.choice("type", _types()),
            "value": fields.text("value", "16#047F"),
            "order": fields.choice("the controller has", orders(), "low byte first"),
        },
        byte_order_answer,
        draw=DRAW,
        hint="A number (1151, −16384) or its bits (16#047F). For a negative number the bits will do too.",
    )


def tearing_panel() -> Panel:
    """A value that changes while a program reads it in pieces."""
    return Panel(
        "Read while it changes",
        {
            "kind": fields.choice("type", [*_types(), CHANNEL], "UDINT"),
            "before": fields.text("before", "65535"),
            "after": fields.text("after", "65536"),
            "access": fields.choice("the program reads", ACCESSES, "word by word"),
            "backwards": fields.tick("from back to front"),
        },
        tearing_answer,
        draw=DRAW,
        hint="For 8 octets write them in hexadecimal, for example 1F 41 00 00 00 00 00 64.",
    )
