"""Panels for control and status words: read one bit by bit, compare two, put one together."""

from __future__ import annotations

import ipywidgets as widgets

from helpers.answer import Answer
from helpers.drive import words
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions
from helpers.wording import capital_first

_RUN = words.encode(on=["on", "enable operation", "control by PLC"])
_BOX, _TOP, _HIGH = 44, 40, 34
_HOLDS = "◆"


def word_drawing(value: int | str, kind: str = "control") -> Drawing:
    """The 16 bits as boxes, bit 15 on the left; a set bit is dark-framed and says 1.

    A bit that keeps the drive from running is framed as well, be it 0 or 1, and bears a sign. A bracket above
    marks the bits that the maker decides.
    """
    number = words.word(value)
    rows = words.decode(number, kind)
    set_names = [f"{row.bit} {row.name}" for row in rows if row.value]
    holding = [f"{row.bit} = {row.value}" for row in rows if row.holds]
    held = f"; keep the drive from running: {', '.join(holding)}" if holding else ""
    says = f"{words.spelled(number)}: bits set: {', '.join(set_names) or 'none'}{held}"
    sheet = Drawing(16 * _BOX + 8, _TOP + _HIGH + 24 + (18 if holding else 0), says)
    _heads(sheet, kind)
    _bit_boxes(sheet, _TOP, number, kind)
    if holding:
        sheet.text(8, _TOP + _HIGH + 38, f"{_HOLDS} keeps the drive from running", size=12, anchor="start")
    for nibble in range(4):
        x = 4 + nibble * 4 * _BOX
        sheet.line(x + 4, _TOP + _HIGH + 5, x + 4 * _BOX - 4, _TOP + _HIGH + 5, stroke=GREY)
        sheet.text(x + 2 * _BOX, _TOP + _HIGH + 20, f"{number >> 12 - 4 * nibble & 15:X}", size=14, bold=True)
    return sheet


def compare_drawing(before: int, after: int, kind: str = "control") -> Drawing:
    """Two words one below the other; a triangle between them marks each bit that rises or falls."""
    changed = words.compare(before, after, kind)
    says = f"{words.spelled(before)} above {words.spelled(after)}: {' '.join(changed) or 'no bit changes.'}"
    sheet = Drawing(16 * _BOX + 8, _TOP + 2 * _HIGH + 46, says)
    _heads(sheet, kind)
    _bit_boxes(sheet, _TOP, before, kind)
    _bit_boxes(sheet, _TOP + _HIGH + 22, after, kind)
    if any(row.holds for row in (*words.decode(before, kind), *words.decode(after, kind))):
        sheet.text(8, _TOP + 2 * _HIGH + 40, f"{_HOLDS} keeps the drive from running", size=12, anchor="start")
    for bit in range(16):
        if (before ^ after) >> bit & 1:
            x = 4 + (15 - bit) * _BOX + _BOX / 2
            rises = after >> bit & 1
            sheet.text(x, _TOP + _HIGH + 16, "▲ 1" if rises else "▼ 0", size=13, bold=True)
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


def _bit_boxes(sheet: Drawing, y: float, number: int, kind: str) -> None:
    for row in words.decode(number, kind):
        x = 4 + (15 - row.bit) * _BOX
        marked = row.value or row.holds
        fill, stroke = (SAND, ORANGE) if row.holds else (SKY, BLUE) if row.value else (PAPER, GREY)
        sheet.box(x + 2, y, _BOX - 4, _HIGH, fill=fill, stroke=stroke, line=2 if marked else 1)
        sheet.text(x + _BOX / 2, y + 23, row.value, size=17, bold=bool(marked), fill=INK if marked else GREY)
        if row.holds:
            sheet.text(x + _BOX - 10, y + 13, _HOLDS, size=10)


def word_view(kind: str, value: int, before: int | None = None) -> Answer:
    """One word explained; with the word before it, what changed."""
    known = words.usual(value, kind)
    sentence = f"{words.spelled(value)} = {words.pattern(value)} = {value}."
    because = []
    if known:
        sentence += f" {capital_first(known.name)}."
        because.append(f"{capital_first(known.meaning)}.")
    if kind == "status":
        because.append(words.state(value).sentence)
    if before is not None:
        changes = words.compare(before, value, kind)
        because.append(f"Against {words.spelled(before)}: " + (" ".join(changes) or "no bit changed."))
    starts = kind == "control" and value & _RUN == _RUN
    rows = words.decode(value, kind)
    return Answer(
        sentence,
        because=" ".join(because),
        caution=cautions("word starts") if starts else (),
        pictures=[word_drawing(value, kind)],
        rows=[
            {
                "bit": row.bit,
                "value": row.value,
                "name": row.name + _mark(row),
                "what it says now": row.meaning,
                "standing": row.standing,
            }
            for row in rows
        ],
        sources=[f"bit {row.bit}: {row.source}" for row in rows if row.source],
    )


def compare_view(kind: str, before: int, after: int) -> Answer:
    """Two words: which bits differ, what each said and says, and what it means for the state."""
    rows = [
        {"bit": new.bit, "name": new.name + _mark(new), "said": old.meaning, "says now": new.meaning}
        for old, new in zip(words.decode(before, kind), words.decode(after, kind), strict=True)
        if old.value != new.value
    ]
    count = f"{len(rows)} bit{'s' if len(rows) != 1 else ''} differ{'' if len(rows) != 1 else 's'}"
    because = ""
    if kind == "status":
        was, now = words.state(before).name, words.state(after).name
        because = f"State: {was} → {now}." if was != now else f"The state stays {now}."
    starts = kind == "control" and after & _RUN == _RUN
    return Answer(
        f"From {words.spelled(before)} to {words.spelled(after)}: {count if rows else 'no bit differs'}.",
        because=because,
        caution=cautions("word starts") if starts else (),
        pictures=[compare_drawing(before, after, kind)],
        rows=rows,
        sources=[
            f"bit {row.bit}: {row.source}" for row in words.decode(after, kind) if (before ^ after) >> row.bit & 1
        ],
    )


def _mark(row: words.BitRow) -> str:
    return " (maker)" if row.maker_specific else ""


def compare_panel() -> Panel:
    """Two words of the same kind: which bits differ, and what that says."""
    return Panel(
        "Compare two words",
        {
            "kind": fields.choice("kind of word", words.KINDS, "status"),
            "before": fields.text("word before", "16#0337", words.word),
            "after": fields.text("word now", "16#02B8", words.word),
        },
        compare_view,
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
        word_view,
        hint="Type 16#047F, 0x047F, 1151 or 2#0000_0100_0111_1111. With only one word, leave “word before” empty.",
    )


def _bits_view(kind: str, on: tuple[int, ...]) -> Answer:
    return word_view(kind, words.encode(kind, on=on))


def build_word_panel(kind: str = "control") -> Panel:
    """Put a word together from its bits: choose the bits that are to be 1."""
    names = [(f"{bit.number:2}  {bit.name}", bit.number) for bit in words.bits(kind)]
    ready = tuple(row.bit for row in words.decode(words.common(kind)[0].value, kind) if row.value)
    chosen = widgets.SelectMultiple(options=names, value=ready, rows=16, layout=widgets.Layout(width="290px"))
    return Panel(
        f"Put a {kind} word together",
        {"on": fields.Field(chosen)},
        lambda on: _bits_view(kind, on),
        hint="Choose the bits that are to be 1: Ctrl and click, or Ctrl, arrow keys and space.",
    )
