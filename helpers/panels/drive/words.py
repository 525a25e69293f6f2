"""Panels for control and status words: read one bit by bit, compare two, put one together."""

from __future__ import annotations

from collections.abc import Sequence

import ipywidgets as widgets

from helpers.drive import words
from helpers.drive.word_answers import TwoWordsPicture, WordPicture, compare_answer, word_answer
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel

_BOX, _TOP, _HIGH = 44, 40, 34
_HOLDS = "◆"


def word_drawing(picture: WordPicture) -> Drawing:
    """The 16 bits as boxes, bit 15 on the left; a set bit is dark-framed and says 1.

    A bit that keeps the drive from running is framed as well, be it 0 or 1, and bears a sign. A bracket above
    marks the bits that the maker decides.
    """
    holding = any(row.holds for row in picture.rows)
    sheet = Drawing(16 * _BOX + 8, _TOP + _HIGH + 24 + (18 if holding else 0), picture.says)
    _heads(sheet, picture.kind)
    _bit_boxes(sheet, _TOP, picture.rows)
    if holding:
        sheet.text(8, _TOP + _HIGH + 38, f"{_HOLDS} keeps the drive from running", size=12, anchor="start")
    for nibble in range(4):
        x = 4 + nibble * 4 * _BOX
        sheet.line(x + 4, _TOP + _HIGH + 5, x + 4 * _BOX - 4, _TOP + _HIGH + 5, stroke=GREY)
        sheet.text(x + 2 * _BOX, _TOP + _HIGH + 20, f"{picture.value >> 12 - 4 * nibble & 15:X}", size=14, bold=True)
    return sheet


def compare_drawing(picture: TwoWordsPicture) -> Drawing:
    """Two words one below the other; a triangle between them marks each bit that rises or falls."""
    sheet = Drawing(16 * _BOX + 8, _TOP + 2 * _HIGH + 46, picture.says)
    _heads(sheet, picture.kind)
    before, after = (words.decode(value, picture.kind) for value in (picture.before, picture.after))
    _bit_boxes(sheet, _TOP, before)
    _bit_boxes(sheet, _TOP + _HIGH + 22, after)
    if any(row.holds for row in (*before, *after)):
        sheet.text(8, _TOP + 2 * _HIGH + 40, f"{_HOLDS} keeps the drive from running", size=12, anchor="start")
    for old, new in zip(before, after, strict=True):
        if old.value != new.value:
            x = 4 + (15 - new.bit) * _BOX + _BOX / 2
            sheet.text(x, _TOP + _HIGH + 16, "▲ 1" if new.value else "▼ 0", size=13, bold=True)
    return sheet


def _heads(sheet: Drawing, kind: str) -> None:
    """The numbers of the bits, and a bracket over those that the maker decides."""
    makers = [bit.number for bit in words.bits(kind) if bit.maker_specific]
    for bit in range(16):
        sheet.text(4 + (15 - bit) * _BOX + _BOX / 2, _TOP - 8, bit, size=11, fill=GREY)
    if makers:
        left, right = 8 + (15 - max(makers)) * _BOX, (16 - min(makers)) * _BOX
        sheet.path([(left, 22), (left, 17), (right, 17), (right, 22)], stroke=GREY, width=1)
        sheet.text((left + right) / 2, 12, "the maker decides", size=11)


def _bit_boxes(sheet: Drawing, y: float, rows: Sequence[words.WordBit]) -> None:
    for row in rows:
        x = 4 + (15 - row.bit) * _BOX
        marked = row.value or row.holds
        fill, stroke = (SAND, ORANGE) if row.holds else (SKY, BLUE) if row.value else (PAPER, GREY)
        sheet.box(x + 2, y, _BOX - 4, _HIGH, fill=fill, stroke=stroke, line=2 if marked else 1)
        sheet.text(x + _BOX / 2, y + 23, row.value, size=17, bold=bool(marked), fill=INK if marked else GREY)
        if row.holds:
            sheet.text(x + _BOX - 10, y + 13, _HOLDS, size=10)


def compare_panel() -> Panel:
    """Two words of the same kind: which bits differ, and what that says."""
    return Panel(
        "Compare two words",
        {
            "kind": fields.choice("kind of word", words.KINDS, "status"),
            "before": fields.text("word before", "16#0337", words.word),
            "after": fields.text("word now", "16#02B8", words.word),
        },
        compare_answer,
        draw={TwoWordsPicture: compare_drawing},
        hint="Read both words on the same screen at two moments, or from two drives of which one runs.",
    )


def _before(typed: str) -> int | None:
    return words.word(typed) if typed.strip() else None


def word_panel() -> Panel:
    """Read a control or status word: type it in any spelling."""
    return Panel(
        "Read a word",
        {
            "kind": fields.choice("kind of word", words.KINDS),
            "value": fields.text("word", "16#047F", words.word),
            "before": fields.text("word before", "16#047E", _before),
        },
        word_answer,
        draw={WordPicture: word_drawing},
        hint="Type 16#047F, 0x047F, 1151 or 2#0000_0100_0111_1111. With only one word, leave “word before” empty.",
    )


def build_word_panel(kind: str = "control") -> Panel:
    """Put a word together from its bits: choose the bits that are to be 1."""
    names = [(f"{bit.number:2}  {bit.name}", bit.number) for bit in words.bits(kind)]
    ready = tuple(row.bit for row in words.decode(words.common(kind)[0].value, kind) if row.value)
    chosen = widgets.SelectMultiple(options=names, value=ready, rows=16, layout=widgets.Layout(width="290px"))
    return Panel(
        f"Put a {kind} word together",
        {"on": fields.Field(chosen)},
        lambda on: word_answer(kind, words.encode(kind, on=on)),
        draw={WordPicture: word_drawing},
        hint="Choose the bits that are to be 1: Ctrl and click, or Ctrl, arrow keys and space.",
    )
