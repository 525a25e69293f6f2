"""The telegram reader: pasted octets in any spelling, told telegram by telegram and octet by octet."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from functools import lru_cache

import ipywidgets as widgets

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.recording_text import Capture, skipped
from helpers.bus.recording.telegram_meaning import ANSWER, DAMAGED, REQUEST, RUBBISH, TOKEN, Telegram
from helpers.bus.services.bits import Line
from helpers.errors import Unreadable, in_range
from helpers.facts import DATA
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.wording import capital_first, short

MOST_PASTED = 300_000  # characters; more of it belongs into the panel that reads a file
ORDER, OCTETS, UNUSUAL = "telegrams in order", "one telegram, octet by octet", "only what is unusual"
_WINDOW = 12  # telegrams listed at a time
_UNUSUAL_SHOWN = 40
_LONGEST_MEANING, _MOST_VALUES = 96, 12
_ROLES = {REQUEST: "requests", ANSWER: "answers", TOKEN: "tokens", DAMAGED: "damaged", RUBBISH: "pieces of rubbish"}


def examples() -> dict[str, str]:
    """Worked examples by name: the demo recording, and single telegrams as published.

    >>> list(examples())[1]
    'FDL status request, station 1 to station 2'
    """
    demo = (DATA / "demo" / "bus_recording.txt").read_text(encoding="utf-8")
    single = {row["meaning"]: row["octets"] for row in facts.rows("published/bus_telegrams")}
    return {"start of the cooling fan (invented)": demo} | single


@lru_cache(4)
def _read(text: str) -> tuple[Capture, tuple[Telegram, ...]]:
    in_range("pasted text", len(text), 0, MOST_PASTED, "characters", "for more, the panel that reads a file")
    recording = recording_text.read(text)
    return recording, tuple(telegram_meaning.read(recording.octets))


def telegram_view(text: str, show: str = ORDER, number: int = 1) -> Answer:
    """A recording: its telegrams in order, what is unusual in it, or one telegram octet by octet.

    Parameters: text, as pasted; show, one of the three ways; number of the telegram, from 1 (beyond the last one: the
    last). Raises `Unreadable` where no octets are, `OutOfRange` for too much text.
    """
    recording, told = _read(text)
    one = told[min(number, len(told)) - 1]
    because = []
    if number > len(told):
        many = f"are {len(told)} telegrams" if len(told) > 1 else "is 1 telegram"
        because = [f"There {many}, so the last one is shown."]
    because += [f"Line {p.line}: {p.sentence}" for p in recording.problems[:3]]
    if recording.unread > 3:
        because.append(f"And {recording.unread - 3} more lines could not be read.")
    octets = octet_rows(one)
    if show == OCTETS or (len(told) == 1 and show == ORDER):
        return Answer(
            _sentence(one, told),
            because=" ".join(because),
            pictures=[telegram_drawing(one)],
            rows=octets,
            folded=[("The telegrams around it", _listed(recording, told, one.number))],
            sources=_sources(one),
        )
    if show == UNUSUAL:
        strange = [t for t in told if t.remark]
        rows = [_row(recording, t) for t in strange[:_UNUSUAL_SHOWN]]
        if len(strange) > len(rows):
            because.append(f"The first {len(rows)} are listed.")
        return Answer(
            (f"{len(strange)} of {len(told)} telegrams and pieces are unusual" if strange else "Nothing unusual")
            + f"{f'; {left}' if (left := skipped(recording.unread)) else ''}.",
            because=" ".join([*because, *(["What is wrong is said at its octet."] if strange else [])]),
            rows=rows,
        )
    return Answer(
        summary(told, recording.unread),
        because=" ".join(because),
        pictures=[telegram_drawing(one)],
        rows=_listed(recording, told, one.number),
        folded=[(f"Telegram {one.number}, octet by octet", octets)],
        sources=_sources(one),
    )


def summary(told: Sequence[Telegram], unread: int = 0) -> str:
    """What a recording holds, counted, and how many of its lines could not be read.

    >>> summary(tuple(telegram_meaning.read(bytes.fromhex("10 02 01 49 4C 16"))))
    '1 telegram: 1 request; 1 without an answer.'
    """
    roles = Counter(one.role for one in told)
    named = [_counted(roles[role], words) for role, words in _ROLES.items() if roles[role]]
    odd = {"without an answer": "no answer", "repeated": "repeated", "that nobody asked for": "nobody asked"}
    seen = [(words, sum(remark in one.remark for one in told)) for words, remark in odd.items()]
    more = ", ".join(f"{count} {words}" for words, count in seen if count)
    return f"{_counted(len(told), 'telegrams')}: {'; '.join(filter(None, (', '.join(named), more, skipped(unread))))}."


def _counted(count: int, words: str) -> str:
    one = words.replace("pieces", "piece").removesuffix("s") if count == 1 else words
    return f"{count} {one}"


def _sentence(one: Telegram, told: Sequence[Telegram]) -> str:
    """One telegram in a sentence, and the one that belongs to it."""
    if one.role in (DAMAGED, RUBBISH):
        return f"No. {one.number} is {one.role}: {one.remark}."
    said = _said(one)
    what = f"{one.kind} {one.role}" if one.role != one.kind else one.kind
    begin = f"No. {one.number}, {what}{f' from {one.way}' if one.way else ''}"
    unusual = f" {capital_first(one.remark)}." if one.remark else ""
    if not one.partner:
        return f"{begin} – {said}.{unusual}"
    other = told[one.partner - 1]
    which = "Its answer is" if one.role == REQUEST else "It answers"
    return f"{begin} – {said}.{unusual} {which} no. {other.number}: {short(other.meaning, _LONGEST_MEANING)}."


def _listed(recording: Capture, told: Sequence[Telegram], number: int) -> list[Row]:
    """A window on the telegrams, the chosen one marked."""
    first = max(0, min(number - 4, len(told) - _WINDOW))
    return [_row(recording, one, chosen=one.number == number) for one in told[first : first + _WINDOW]]


def _row(recording: Capture, one: Telegram, *, chosen: bool = False) -> Row:
    line = recording.line_of(one.at)
    row: dict[str, object] = (
        {"no.": f"{one.number}{' ◀' if chosen else ''}"} | telegram_row(one) | {"line": line.number}
    )
    if any(line.stamp for line in recording.lines[:20]):
        row["time stamp"] = line.stamp
    return row


def telegram_row(one: Telegram, names: Mapping[int, str] | None = None) -> dict[str, object]:
    """A telegram as one row of a table: who to whom, what it says, what is unusual, its octets, its pair.

    Parameters: one; names, of the stations by their addresses, where they are known.
    """
    pair = {REQUEST: "→ ", ANSWER: "← "}.get(one.role, "") + str(one.partner) if one.partner else ""
    return {
        "who to whom": one.between(names or {}) or ("no address in it" if one.frame else ""),
        "meaning": _said(one),
        "remark": one.remark,
        "octets": _values(one.octets),
        "pair": pair,
    }


def _said(one: Telegram) -> str:
    """Service and meaning; a telegram without a service bears its role there, which is told already."""
    if one.frame is None:
        return one.role
    service = one.service if one.service != one.role else ""
    return ": ".join(filter(None, (service, short(one.meaning, _LONGEST_MEANING))))


def octet_rows(one: Telegram) -> list[Row]:
    """Every octet of a telegram explained, as the rows of a table.

    >>> (told,) = telegram_meaning.read(bytes.fromhex("DC 01 02"))
    >>> [(row["octet"], row["value"], row["name"]) for row in octet_rows(told)]
    [('1', 'DC', 'SD4'), ('2', '01', 'DA'), ('3', '02', 'SA')]
    """
    return [
        {"octet": _place(line), "value": _values(line.octets), "name": line.name, "meaning": line.meaning}
        for line in one.lines
    ]


def _place(line: Line) -> str:
    last = line.first + len(line.octets) - 1
    return f"{line.first} to {last}" if last > line.first else str(line.first) if line.octets else ""


def _values(octets: bytes) -> str:
    shown = octets[:_MOST_VALUES].hex(" ").upper()
    return shown + (f" … {len(octets) - _MOST_VALUES} more" if len(octets) > _MOST_VALUES else "")


def _sources(one: Telegram) -> list[str]:
    return [f"{line.name}: {line.source}" for line in one.lines if line.source]


# -- the drawing --------------------------------------------------------------------------------------

_CELL, _HIGH, _PER_ROW, _MOST_ROWS = 37.0, 54.0, 20, 3
_FRAME = ("SD1", "SD2", "SD3", "SD4", "SC", "LE", "LEr", "FCS", "ED")
_WHO = ("DA", "SA", "FC", "DSAP", "SSAP")


def telegram_drawing(one: Telegram) -> Drawing:
    """The octets as boxes in the order on the wire: frame white, addresses and function blue, data sand."""
    octets = one.octets
    room = _PER_ROW * _MOST_ROWS
    # Of a long telegram the middle is left out: its beginning and its end say what it is.
    shown = [*range(len(octets))] if len(octets) <= room else [*range(room - 3), -1, len(octets) - 2, len(octets) - 1]
    names = {line.first - 1: line.name for line in one.lines if line.octets}
    parts = dict.fromkeys(range(len(octets)), SAND)
    parts |= {at: PAPER if name in _FRAME else SKY for at, name in names.items() if name in _FRAME + _WHO}
    wrong = (
        {int(found) - 1 for found in re.findall(r"octets? (\d+)(?: and \d+)?:", one.remark)}
        if one.frame is None
        else set()
    )
    rows = -(-len(shown) // _PER_ROW)
    sheet = Drawing(760, rows * _HIGH + 18, f"{one.kind}: {_values(octets)}")
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


# -- the panel ----------------------------------------------------------------------------------------


def _paste() -> fields.Field:
    """The text to read, with a list of examples above it that fills it in."""
    ready = examples()
    own = "your own, typed or pasted below"
    field = fields.lines("octets", next(iter(ready.values())), _some_text, rows=9)
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
            "text": _paste(),
            "show": fields.choice("show", (ORDER, OCTETS, UNUSUAL)),
            "number": fields.whole("telegram no.", "5", 1, 1_000_000),
        },
        telegram_view,
        hint="Any usual spelling: 10 02 01, 0x10, 16#10, 10h, commas, time stamps in front, rows of a saved "
        "table. → and ← tell which answer belongs to which request. The example is from Saltmarsh Mill, an invented "
        "site.",
    )
