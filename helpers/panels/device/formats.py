"""Panels for data formats and identifiers: side by side, word by word, the shortest, octets read and put together."""

from __future__ import annotations

import re
from collections.abc import Sequence

import ipywidgets as widgets

from helpers.answer import Answer
from helpers.bus.time.format_choice import OFFERS, choice_answer
from helpers.device import signals
from helpers.device.choose import mapping
from helpers.device.format_answers import (
    FAMILIES,
    WAYS,
    FormatPicture,
    IdentifiersPicture,
    StripsPicture,
    build_answer,
    counted_words,
    family_answer,
    identifiers_answer,
    layout_answer,
)
from helpers.device.formats import BYTES_PER_WORD, DataFormat, all_formats
from helpers.device.identifiers import BYTES_PER, octets_from_text
from helpers.device.signals import Signal, read_signals
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import Draw
from helpers.panels.kit.drawing import BLUE, GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.wording import short

_FILL = {"parameter": SAND, "fixed": SKY, "free": PAPER}
_USUAL = ("STW1", "NSOLL_A", "ZSW1", "NIST_A")
_BIT, _HIGH = 26, 52  # px, of a bit and of an octet's line


def strips_drawing(picture: StripsPicture) -> Drawing:
    """Formats under each other: a box for each word, out at the left and in at the right.

    With needs, a bold number marks a word that carries one of them.
    """
    listed, needs = picture.formats, picture.needs
    box, top, high = 18, 34, 24
    longest = {way: max(10, *(len(form.words(way)) for form in listed)) for way in WAYS}
    names = [form.name.replace("standard telegram", "telegram") for form in listed]
    left = 20 + 8 * max(map(len, names))
    start = {"out": left, "in": left + box * longest["out"] + 24}
    width = max(600, start["in"] + box * longest["in"] + 112)  # the legend needs 600
    sheet = Drawing(width, top + high * len(listed) + 26, picture.says)
    for way, x in start.items():
        sheet.text(x, 20, WAYS[way], size=12, anchor="start", bold=True)
    for n, form in enumerate(listed):
        y = top + n * high
        sheet.text(8, y + 14, names[n], anchor="start", bold=len(listed) > 1)
        for way, x in start.items():
            for place, (label, kind, used) in enumerate(_labels(form, way, needs)):
                fill = SKY if used and kind == "free" else _FILL[kind]
                line = 1.8 if used else 1.0
                sheet.box(x + place * box + 1, y, box - 2, 18, fill=fill, stroke=INK if used else GREY, line=line)
                sheet.text(x + place * box + box / 2, y + 13, label, size=11, bold=used, fill=INK if used else GREY)
        end = start["in"] + box * longest["in"] + 12
        sheet.text(end, y + 14, f"{form.bytes_out} + {form.bytes_in} bytes", anchor="start")
    legend = "P: parameter channel (PKW) · number: process data word (PZD) · "
    legend += "bold: carries a need" if needs else "shaded: its signal is fixed · white: free"
    sheet.text(8, top + high * len(listed) + 14, legend, size=11, anchor="start", fill=GREY)
    return sheet


def _labels(form: DataFormat, way: str, needs: Sequence[Signal]) -> list[tuple[str, str, bool]]:
    """For each word of one direction: what stands in its box, its kind, and whether it carries a need."""
    wanted = {signal.name for signal in needs}
    placed = [a for a in mapping(form, needs) if a.parameter == signals.list_parameter(way)]
    carried = iter([a.signal in wanted if needs else a.fixed for a in placed])
    numbers = iter(range(1, len(placed) + 1))
    return [
        ("P", word.kind, False) if word.kind == "parameter" else (str(next(numbers)), word.kind, next(carried))
        for word in form.words(way)
    ]


def format_drawing(picture: FormatPicture) -> Drawing:
    """One format word by word, out above in, with the bytes under each word."""
    sheet = Drawing(760, 200, picture.says)
    for row, way in enumerate(WAYS):
        names = picture.names(way)
        limit, widths = _widths(names)
        x, y = 8.0, 22.0 + row * 100
        sheet.text(8, y - 8, f"{WAYS[way]}, {counted_words(picture.format, way)}", size=12, anchor="start", bold=True)
        for n, (word, name, width) in enumerate(zip(picture.format.words(way), names, widths, strict=True)):
            sheet.box(x, y, width - 2, 50, fill=_FILL[word.kind], stroke=INK if name != "free" else GREY, line=1.2)
            shown = broken(name, limit)
            for line, part in enumerate(shown):
                ink = GREY if name == "free" else INK
                sheet.text(x + width / 2 - 1, y + 29 + 14 * (line - (len(shown) - 1) / 2), part, size=11, fill=ink)
            first = BYTES_PER_WORD * n
            sheet.text(x + width / 2 - 1, y + 63, f"{first}–{first + 1}", size=11, fill=GREY)
            x += width
        sheet.text(x + 4, y + 63, "byte", size=11, anchor="start", fill=GREY)
    return sheet


def _widths(names: Sequence[str]) -> tuple[int, list[float]]:
    """The longest line that still lets all boxes of a strip stand side by side, and the width of each box."""
    widths: list[float] = []
    for limit in range(9, 3, -1):
        widths = [7.2 * max(4, *(len(part) for part in broken(name, limit))) + 8 for name in names]
        if sum(widths) <= 716:
            break
    return limit, widths


def broken(name: str, limit: int) -> list[str]:
    """A signal's name in up to three lines, broken after `_` and at spaces; what is too long is cut."""
    lines: list[str] = []
    for word in name.split():
        lines.append("")
        for part in re.findall(r"[^_]*_|[^_]+", word):
            if len(lines[-1] + part) <= min(limit, 7):
                lines[-1] += part
            else:
                lines.append(part)
    return [short(line, limit) for line in lines if line][:3]


def identifiers_drawing(picture: IdentifiersPicture) -> Drawing:
    """The first octets bit by bit, each field with what it says."""
    shown = picture.shown
    sheet = Drawing(760, 18 + _HIGH * len(shown), picture.says)
    for bit in range(8):
        sheet.text(_left(bit) + _BIT / 2, 12, bit, size=11, fill=GREY)
    for n, octet in enumerate(shown):
        y = 20.0 + n * _HIGH
        sheet.text(4, y + 14, f"16#{octet.value:02X}", size=13, anchor="start", bold=True)
        sheet.text(4, y + 30, octet.role, size=11, anchor="start", fill=GREY)
        for number, field in enumerate(octet.fields):
            # Neighbouring fields differ in fill; a gap parts them too.
            fill = SKY if number % 2 else PAPER
            for bit in range(field.high_bit, field.low_bit - 1, -1):
                sheet.box(_left(bit) + 1, y, _BIT - 2, 22, fill=fill, stroke=INK, line=1)
                sheet.text(_left(bit) + _BIT / 2, y + 16, octet.value >> bit & 1, size=13)
            middle = (_left(field.low_bit) + _left(field.high_bit) + _BIT) / 2
            sheet.text(middle, y + 35, _short(field.name), size=11, fill=GREY)
        for line, text in enumerate(_lines([field.meaning for field in octet.fields])):
            sheet.text(360, y + 10 + 14 * line, text, size=11, anchor="start")
    return sheet


def _left(bit: int) -> float:
    return 112.0 + (7 - bit) * _BIT + 6.0 * ((bit < 7) + (bit < 6) + (bit < 4))


def _short(name: str) -> str:
    return {"consistency": "whole", "direction": "way"}.get(name, name)


def _lines(meanings: Sequence[str]) -> list[str]:
    """The meanings of an octet in up to three lines, shortened to what a person needs."""
    brief = [meaning.partition(";")[0].partition(" (")[0] for meaning in meanings]
    lines = [""]
    for text in brief:
        joined = f"{lines[-1]}, {text}".removeprefix(", ")
        if len(joined) <= 58:
            lines[-1] = joined
        else:
            lines.append(text)
    return lines[:3]


DRAW: Draw = {StripsPicture: strips_drawing, FormatPicture: format_drawing, IdentifiersPicture: identifiers_drawing}


# -- the panels ---------------------------------------------------------------------------------------


def family_panel() -> Panel:
    """The formats of a family side by side, to scale."""
    return Panel(
        "Formats side by side",
        {"family": fields.choice("formats", FAMILIES)},
        family_answer,
        draw=DRAW,
        hint="One box is one word of 16 bits, that is 2 bytes.",
    )


def layout_panel() -> Panel:
    """A format word by word, with signals of your own choice in its free words."""
    return Panel(
        "A format word by word",
        {
            "name": fields.choice("format", [one.name for one in all_formats()], "PPO 2"),
            "needs": fields.lines("for free words", "RAMP_TIME, CURRENT, ENERGY", read_signals, rows=3),
        },
        layout_answer,
        draw=DRAW,
        hint="Free words are filled in the order in which you name the signals. “2 words in” or "
        "“drum speed 32 bit in” will do too.",
    )


def choice_panel() -> Panel:
    """Tick what the application needs; the panel names the shortest format that carries it."""
    ticks: dict[str, fields.Field] = {}
    for way, heading in (("out", "To the drive (out)"), ("in", "From the drive (in)")):
        usual = [signals.find(name) for name in _USUAL]
        listed = [one for one in (*usual, *signals.demo_signals()) if one.direction == way]
        for n, signal in enumerate(listed):
            meaning = re.split(r" in | that | since | \(", signal.meaning)[0]
            label = f"{signal.name} · {meaning}" + (f", {signal.words} words" if signal.words > 1 else "")
            ticked = signal.name in (*_USUAL, "CURRENT")
            ticks[signal.name] = _small_tick(label, ticked, heading if n == 0 else "", signal.meaning)
    more = {
        "parameters": _small_tick("parameters in every cycle (PKW)", False, "Besides"),
        "others": fields.text("other signals", "", read_signals),
        "offered": fields.choice("the drive offers", OFFERS),
        "bit_rate": fields.bit_rate(1_500_000),
    }

    def answer(parameters: bool, others: tuple[Signal, ...], offered: str, bit_rate: float, **ticked: bool) -> Answer:
        return choice_answer([*(name for name, on in ticked.items() if on), *others], parameters, offered, bit_rate)

    return Panel("Choose the shortest format", ticks | more, answer, draw=DRAW)


def _small_tick(label: str, value: bool, heading: str = "", tip: str = "") -> fields.Field:
    """A box to tick that takes little height, under a heading if it is the first of its group."""
    box = widgets.Checkbox(value=value, description=label, indent=False, tooltip=tip)
    box.layout = widgets.Layout(width="290px", height="22px", margin="0 0 0 8px")
    head = widgets.HTML(f"<b style='color:{BLUE}'>{heading}</b>", layout=widgets.Layout(height="22px", margin="0"))
    return fields.Field(box, around=widgets.VBox([head, box]) if heading else None)


def _other(typed: str) -> bytes:
    return octets_from_text(typed) if typed.strip() else b""


def identifier_panel() -> Panel:
    """Read configuration identifiers, and compare those of drive and controller."""
    return Panel(
        "Read configuration identifiers",
        {
            "octets": fields.text("octets in the drive", "F3 F5", octets_from_text),
            "other": fields.text("in the controller", "", _other),
        },
        identifiers_answer,
        draw=DRAW,
        hint="They stand in the device description as 0xF3,0xF5 and in manuals as F3 F5 or F3h F5h. Fill in the "
        "controller's as well, and both are compared.",
    )


def build_identifier_panel() -> Panel:
    """Put one identifier together from what it is to carry."""
    return Panel(
        "Put an identifier together",
        {
            "out": fields.whole("length out", "2", 0, 64),
            "out_unit": fields.choice("counted in", BYTES_PER, "word"),
            "into": fields.whole("length in", "3", 0, 64),
            "in_unit": fields.choice("counted in ", BYTES_PER, "word"),
            "whole": fields.tick("each area belongs together", True),
            "vendor": fields.text("vendor octets", "", _other),
        },
        build_answer,
        draw=DRAW,
        hint="0 means nothing in that direction. Vendor octets are what the maker's manual asks for; mostly there are "
        "none.",
    )
