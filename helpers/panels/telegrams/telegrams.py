"""Panels for telegrams: pasted octets told one by one, a telegram put together, wrong bits and who notices them."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from helpers.bus.recording import recording_text
from helpers.bus.recording.answers import (
    OCTETS,
    ORDER,
    STATUS,
    TOKEN,
    UNUSUAL,
    TelegramPicture,
    examples,
    maker_answer,
    telegram_answer,
)
from helpers.bus.recording.telegram_meaning import read
from helpers.bus.recording.wrong_bits import ANYWHERE, TELEGRAMS, WORST, WrongBitsPicture, distance_answer
from helpers.bus.services import message
from helpers.bus.telegram import function_code, hamming
from helpers.bus.telegram.characters import BITS, bits_of
from helpers.errors import Unreadable, in_range
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import Draw
from helpers.panels.kit.drawing import GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel

_CELL, _HIGH, _PER_ROW, _MOST_ROWS = 37.0, 54.0, 20, 3
_FRAME = ("SD1", "SD2", "SD3", "SD4", "SC", "LE", "LEr", "FCS", "ED")
_WHO = ("DA", "SA", "FC", "DSAP", "SSAP")


def telegram_drawing(picture: TelegramPicture) -> Drawing:
    """The octets as boxes in the order on the wire: frame white, addresses and function blue, data sand."""
    telegram, wrong = picture.telegram, picture.wrong
    octets = telegram.octets
    room = _PER_ROW * _MOST_ROWS
    # Of a long telegram the middle is left out: its beginning and its end say what it is.
    shown = [*range(len(octets))] if len(octets) <= room else [*range(room - 3), -1, len(octets) - 2, len(octets) - 1]
    names = {line.first - 1: line.name for line in telegram.lines if line.octets}
    parts = dict.fromkeys(range(len(octets)), SAND)
    parts |= {at: PAPER if name in _FRAME else SKY for at, name in names.items() if name in _FRAME + _WHO}
    rows = -(-len(shown) // _PER_ROW)
    sheet = Drawing(760, rows * _HIGH + 18, picture.says)
    for n, at in enumerate(shown):
        x, y = 8 + _CELL * (n % _PER_ROW), 16 + _HIGH * (n // _PER_ROW)
        if at < 0:
            sheet.text(x + _CELL / 2, y + 17, f"+{len(octets) - room + 1}", size=12, fill=GREY)
            continue
        bad = at in wrong
        sheet.box(x + 1, y, _CELL - 2, 24, fill=parts[at], stroke=ORANGE if bad else INK, line=3 if bad else 1)
        sheet.text(x + _CELL / 2, y + 17, f"{octets[at]:02X}", size=13, bold=bad)
        name = "wrong" if bad else names.get(at, "") if names.get(at, "") in _FRAME + _WHO else ""
        sheet.text(x + _CELL / 2, y - 4, name, size=11, bold=True, fill=ORANGE if bad else INK)
        sheet.text(x + _CELL / 2, y + 35, at + 1, size=11, fill=GREY)
    legend = "white: frame · blue: who asks whom for what · sand: data · grey numbers: octets as counted in the table"
    sheet.text(8, rows * _HIGH + 13, legend, size=11, anchor="start", fill=GREY)
    return sheet


_BIT, _ROW = 26.0, 19.0


def distance_drawing(picture: WrongBitsPicture) -> Drawing:
    """Each octet as its eleven bits in the order of time, the wrong ones marked with a cross and their wrong value."""
    octets, wrong = picture.octets, picture.wrong
    names = [line.name for line in next(iter(read(octets))).lines for _ in line.octets]
    rows = len(octets)
    sheet = Drawing(560, 30 + _ROW * rows, picture.says)
    for n, head in enumerate(("st.", *range(8), "par.", "sp.")):
        sheet.text(150 + _BIT * (n + 0.5), 13, head, size=11, fill=GREY)
    for row, octet in enumerate(octets):
        y = 20 + _ROW * row
        sheet.text(96, y + 14, names[row], size=11, anchor="end", fill=GREY)
        sheet.text(140, y + 14, f"{octet:02X}", size=13, anchor="end", bold=True)
        arrived = 0
        for n, bit in enumerate(bits_of(octet)):
            bad = row * BITS + n in wrong
            value = bit ^ bad
            arrived |= value << n
            fill = SAND if bad else SKY if 0 < n < 9 else PAPER
            x = 150 + _BIT * n
            sheet.box(x + 1, y, _BIT - 2, _ROW - 2, fill=fill, stroke=ORANGE if bad else GREY, line=2.5 if bad else 0.7)
            sheet.text(x + _BIT / 2, y + 13, f"✗{value}" if bad else value, size=11, bold=bad, fill=INK)
        if any(place // BITS == row for place in wrong):
            words = f"arrives as {arrived >> 1 & 0xFF:02X}"
            sheet.text(150 + _BIT * BITS + 8, y + 14, words, size=11, anchor="start", bold=True, fill=ORANGE)
    return sheet


DRAW: Draw = {TelegramPicture: telegram_drawing, WrongBitsPicture: distance_drawing}


# -- the panels ---------------------------------------------------------------------------------------


def with_examples(label: str, ready: dict[str, str], *, rows: int, read: Callable[[str], object] = str) -> fields.Field:
    """A field for pasted octets, with a list of examples above it that fills it in."""
    own = "your own, typed or pasted below"
    field = fields.lines(label, next(iter(ready.values())), read=read, rows=rows)
    choose = widgets.Dropdown(
        options=[*ready, own], description="example", layout=field.widget.layout, style=field.widget.style
    )

    def fill(change: dict[str, str]) -> None:
        field.widget.value = ready.get(change["new"], field.widget.value)

    def typed(change: dict[str, str]) -> None:
        choose.value = next((name for name, text in ready.items() if text == change["new"]), own)

    choose.observe(fill, "value")
    field.widget.observe(typed, "value")
    return fields.Field(field.widget, field.read, around=widgets.VBox([choose, field.widget]))


def _some_text(typed: str) -> str:
    if not typed.strip():
        raise Unreadable("there are no octets yet; paste them as hexadecimal, for example 10 02 01 49 4C 16.")
    return typed


def telegram_panel() -> Panel:
    """Paste octets in any spelling; read telegrams, pairs, errors, and every octet."""
    return Panel(
        "What does this telegram say?",
        {
            "text": with_examples("octets", examples(), rows=9, read=_some_text),
            "show": fields.choice("show", (ORDER, OCTETS, UNUSUAL)),
            "number": fields.whole("telegram no.", "5", 1, 1_000_000),
        },
        telegram_answer,
        draw=DRAW,
        hint="Any usual spelling: 10 02 01, 0x10, 16#10, 10h, commas, time stamps in front, rows of a saved "
        "table. → and ← tell which answer belongs to which request. The example is from Saltmarsh Mill, an invented "
        "site.",
    )


# Octets to begin with, by service; the ident number is one that no device holds, the station is an invented drive.
_READY = {
    "Data_Exchange": "04 7F 20 00",
    "Set_Prm": "88 01 14 0B FF F1 00",
    "Chk_Cfg": "F5",
    "Global_Control": "00 00",
    "Set_Slave_Add": "0D FF F1 00",
}


def _data(typed: str) -> bytes:
    found = recording_text.read(typed).octets if typed.strip() else b""
    in_range("data", len(found), 0, 244, "byte")
    return found


def maker_panel() -> Panel:
    """Put a telegram together and see its octets; another service brings its own data to begin with."""
    services = (*message.services(), STATUS, TOKEN)
    service, data = fields.choice("service", services), fields.text("data", _READY[services[0]], _data)

    def begin(change: dict[str, str]) -> None:
        data.widget.value = _READY.get(change["new"], "")

    service.widget.observe(begin, "value")
    return Panel(
        "Put a telegram together",
        {
            "service": service,
            "sender": fields.whole("from station", "1", 0, 126),
            "to": fields.whole("to station", "12", 0, 127),
            "data": data,
            "count": fields.choice("frame count", function_code.COUNTS, "counted, 1"),
        },
        maker_answer,
        draw=DRAW,
        hint="Change one value at a time and watch which octets follow: FCS does nearly always. To 127 means to all; "
        "only what nobody answers may go there. Data is hexadecimal.",
    )


def distance_panel() -> Panel:
    """Let bits arrive wrong, and see who notices."""
    return Panel(
        "How many wrong bits does a telegram bear?",
        {
            "telegram": fields.choice("telegram", list(TELEGRAMS)),
            "wrong": fields.slider("wrong bits", 2, 0, hamming.MOST_WRONG),
            "where": fields.choice("where", (WORST, ANYWHERE)),
            "throw": fields.slider("throw no.", 1, 1, 50),
        },
        distance_answer,
        draw=DRAW,
        hint="One row is one octet: start bit (st.), eight bits, bit 0 first, parity (par.), stop bit (sp.). ✗ marks "
        "a bit that arrives wrong. “throw no.” throws them to other places if they may be anywhere.",
    )
