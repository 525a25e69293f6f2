"""Panels for byte order and for tearing: a value as octets, what a controller makes of them, and read in pieces."""

from __future__ import annotations

from collections.abc import Sequence

from helpers import facts
from helpers.answer import Answer, Row
from helpers.device.byte_order import (
    BITS_PER_BYTE,
    ON_THE_BUS,
    Reading,
    arrange,
    iec_type,
    iec_types,
    orders,
    read_as,
    readings,
    to_bus,
    value_typed,
)  # fmt: skip
from helpers.device.consistency import ACCESSES, Mixture, mixtures
from helpers.device.identifiers import octets_from_text
from helpers.errors import OutOfRange
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions
from helpers.verdict import Degree
from helpers.wording import capital_first

CHANNEL = "8 octets"
_CHANNEL_BYTES = 8
_CELL = 58.0  # px, of an octet
_OPEN_ROWS = 5


def _types() -> list[str]:
    return [one.name for one in iec_types() if one.bits > BITS_PER_BYTE]


# -- byte order ---------------------------------------------------------------------------------------


def byte_order_view(kind: str, value: str, order: str) -> Answer:
    """A value on the bus, in the controller's memory, and what the controller reads there."""
    one = iec_type(kind)
    number = value_typed(value, kind)
    sent = to_bus(number, kind)
    kept = arrange(sent, order)
    got = read_as(sent, kind, order)
    same = got == number
    row = facts.one("byte_orders", order=order)
    what = "words" if order == "words exchanged" else "bytes"
    mend = (
        f"Exchange the {what} in the controller's program, once, at one place; or use the setting that its manual has."
    )
    return Answer(
        f"{one.shown(number)} travels as {_hex(sent)}. "
        f"This controller reads {one.shown(got)}{', the same' if same else ' instead'}.",
        because=f"{capital_first(order)}: {row['says']} ({row.cited})." + ("" if same else f" {mend}"),
        caution=() if same else cautions("byte order"),
        pictures=[order_drawing(sent, kept, order)],
        rows=[_as_types(name, octets) for name, octets in (("on the bus", sent), ("in this controller", kept))],
        folded=[("Every order and every type", [_reading(one) for one in readings(sent)])],
        sources=[*(f"{r['order']}: {r.cited}" for r in facts.rows("byte_orders")), f"types: {one.cited}"],
    )


def order_drawing(sent: bytes, kept: bytes, order: str) -> Drawing:
    """The octets on the bus above those in the controller, with a line from each to its new place."""
    sheet = Drawing(560, 150, f"On the bus {_hex(sent)}; in a controller with {order} {_hex(kept)}.")
    places = [arrange(bytes(range(len(sent))), order).index(n) for n in range(len(sent))]
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


def _as_types(name: str, octets: bytes) -> Row:
    shown: dict[str, object] = {"octets": f"{name}: {_hex(octets)}"}
    for one in iec_types(BITS_PER_BYTE * len(octets)):
        shown[f"as {one.name}"] = one.shown(read_as(octets, one.name))
    return shown


def _reading(one: Reading) -> Row:
    return {"order": one.order, "octets": _hex(one.octets), "type": one.type, "shown": one.shown}


def byte_order_panel() -> Panel:
    """A value on the wire and in controllers of different byte orders."""
    return Panel(
        "A value on the wire and in the controller",
        {
            "kind": fields.choice("type", _types()),
            "value": fields.text("value", "16#047F"),
            "order": fields.choice("the controller has", orders(), "low byte first"),
        },
        byte_order_view,
        hint="A number (1151, −16384) or its bits (16#047F). For a negative number the bits will do too.",
    )


# -- tearing ------------------------------------------------------------------------------------------


def tearing_view(kind: str, before: str, after: str, access: str = "word by word", backwards: bool = False) -> Answer:
    """What a program may read while a value changes once, if it takes the value in pieces."""
    old, new = (_octets(kind, text) for text in (before, after))
    found = mixtures(old, new, access_bytes=ACCESSES[access], backwards=backwards)
    torn = [one for one in found if one.torn]
    shown = ", ".join(dict.fromkeys(_shown(kind, one.octets) for one in torn))
    many = "readings" if len({one.octets for one in torn}) > 1 else "a reading"
    table: list[Row] = [
        {
            "the change comes": _moment(one),
            "octets read": _hex(one.octets),
            "shown": _shown(kind, one.octets),
            "which is": f"{'▲' if one.torn else '●'} {one.outcome}",
        }
        for one in found
    ]
    return Answer(
        f"Read {access}, {many} can come out that never was there: {shown}."
        if torn
        else f"Read {access}, only the old or the new value comes out.",
        degree=Degree.CAUTION if torn else Degree.IN_ORDER,
        because="The identifier promises what belongs together on the bus and in the image. A program that takes it in "
        "pieces must make sure itself: copy the whole area in one go, or read until two readings agree."
        if torn
        else "One access takes the whole value, or no piece of it differs from both.",
        pictures=[tearing_drawing(found, ACCESSES[access])],
        rows=table if len(table) <= _OPEN_ROWS else (),
        folded=[] if len(table) <= _OPEN_ROWS else [("Every moment of the change", table)],
        sources=sorted({row.cited for row in facts.where("identifier_bits", form="compact", field="consistency")}),
    )


def tearing_drawing(found: Sequence[Mixture], access_bytes: int) -> Drawing:
    """Every possible reading, octet by octet: which were old and which new."""
    new, old = found[0].octets, found[-1].octets
    high = 24
    wide = 150 + _CELL * len(new) + 90
    sheet = Drawing(wide, 34 + high * len(found), "; ".join(f"{_moment(o)}: {_hex(o.octets)}" for o in found))
    sheet.text(8, 14, "white: old · shaded: new · gap: between two accesses", size=11, anchor="start", fill=GREY)
    for row, one in enumerate(found):
        y = 24 + high * row
        sheet.text(8, y + 15, _moment(one), size=11, anchor="start")
        for n, octet in enumerate(one.octets):
            gap = 4 if n % access_bytes == access_bytes - 1 else 0
            sheet.box(
                150 + n * _CELL,
                y,
                _CELL - gap,
                20,
                fill=SKY if one.new[n // access_bytes] else PAPER,
                stroke=INK,
                line=1.0,
            )
            sheet.text(150 + n * _CELL + 26, y + 15, f"{octet:02X}", size=12, bold=new[n] != old[n])
        if one.torn:
            sheet.text(wide - 84, y + 15, "▲ torn", size=11, anchor="start", bold=True, fill=ORANGE)
    return sheet


def _moment(one: Mixture) -> str:
    if not one.old_accesses:
        return "before reading"
    if not one.new_accesses:
        return "after reading"
    return f"after access {one.old_accesses}"


def _octets(kind: str, text: str) -> bytes:
    if kind != CHANNEL:
        return to_bus(value_typed(text, kind), kind)
    octets = octets_from_text(text)
    if len(octets) != _CHANNEL_BYTES:
        raise OutOfRange(
            f"number of octets is {len(octets)}; allowed is {_CHANNEL_BYTES}, those of a parameter channel."
        )
    return octets


def _shown(kind: str, octets: bytes) -> str:
    return _hex(octets) if kind == CHANNEL else iec_type(kind).shown(read_as(octets, kind, ON_THE_BUS))


def _hex(octets: bytes) -> str:
    return octets.hex(" ").upper()


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
        tearing_view,
        hint="For 8 octets write them in hexadecimal, for example 1F 41 00 00 00 00 00 64.",
    )
