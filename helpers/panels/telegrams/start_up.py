"""Panels for the start of a station: step by step on the practice line, and the octets that start it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import ipywidgets as widgets

from helpers import written
from helpers.answer import Answer
from helpers.bus.recording.start_up_octets import (
    LOCKS,
    StartUpPicture,
    build_answer,
    offered_bits,
    read_answer,
    read_groups,
    read_watchdog,
)
from helpers.bus.recording.telegram_meaning import REQUEST, Telegram
from helpers.bus.services import set_prm
from helpers.bus.services.set_prm import DPV1_OCTETS, STANDARD_OCTETS, SetPrm
from helpers.bus.time.watchdog import BASES_S
from helpers.device.description.set_up_answer import read_values
from helpers.errors import in_range
from helpers.line.traffic.start_up import StartUpStep
from helpers.line.traffic.start_up_answer import (
    BEFORE,
    MOST,
    STATION,
    Act,
    LadderPicture,
    cases,
    start,
    start_up_answer,
    unanswered,
)
from helpers.panels.device.description import ACCEPTED, CHOICES, NOTHING, ModuleLists, description_called
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import Draw
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.fields import Field, Upload
from helpers.panels.kit.panel import Panel
from helpers.panels.telegrams.diagnosis import DPV1, chosen_description, description_or_none
from helpers.panels.telegrams.telegrams import with_examples
from helpers.quantity import time_text
from helpers.wording import octets_text, short

# -- step by step -------------------------------------------------------------------------------------

_ROW, _TOP = 46.0, 22.0
_LANE, _WIDE = 178.0, 758.0
_WORDS = 47  # characters over an arrow


def ladder(picture: LadderPicture) -> Drawing:
    """At the left what the controller does next, at the right the state of the station, between them the telegrams."""
    shown = picture.shown
    last = shown[-1]
    sheet = Drawing(_WIDE, _TOP + _ROW * len(shown) + 6, picture.says)
    sheet.text(28 + _LANE / 2, 15, "the controller now …", size=12, bold=True)
    sheet.text(_WIDE - 6 - _LANE / 2, 15, "the station", size=12, bold=True)
    for n, item in enumerate(shown):
        y = _TOP + n * _ROW
        here = item is last
        sheet.text(12, y + 24, item.number, size=12, bold=here)
        if isinstance(item, Act):
            sheet.box(28, y + 6, _WIDE - 34, 30, fill=PAPER, stroke=ORANGE, line=3 if here else 1.5)
            sheet.text(_WIDE / 2 + 14, y + 26, f"by hand: {item.words}", size=12, bold=here)
            continue
        for x, words, fill in ((28.0, item.controller, SKY), (_WIDE - 6 - _LANE, item.station, SAND)):
            sheet.box(x, y + 2, _LANE, 38, fill=fill, line=3 if here else 1)
            sheet.text(x + _LANE / 2, y + 25, words, size=12, bold=here)
        _exchange(sheet, item, y, bold=here)
    return sheet


def _exchange(sheet: Drawing, step: StartUpStep, y: float, *, bold: bool) -> None:
    """Request and answer of a step as two arrows with their words."""
    left, right = 28 + _LANE + 6, _WIDE - 12 - _LANE
    asked = next(one for one in step.telegrams if one.role == REQUEST)
    _arrow(sheet, left, right, y + 17, _short_of(asked), BLUE, bold)
    if step.answer:
        _arrow(sheet, right, left, y + 37, _short_of(step.answer), INK, bold)
    else:
        sheet.line(right, y + 37, left + 90, y + 37, stroke=ORANGE, dash="4 4")
        sheet.text((left + right) / 2, y + 33, unanswered(step).rstrip("."), size=11, bold=True, fill=ORANGE)


def _arrow(sheet: Drawing, start_x: float, end_x: float, y: float, words: str, colour: str, bold: bool) -> None:
    way = 1 if end_x > start_x else -1
    sheet.line(start_x, y, end_x, y, stroke=colour, width=2 if bold else 1.2)
    sheet.path([(end_x, y), (end_x - 8 * way, y - 4), (end_x - 8 * way, y + 4)], stroke=colour, fill=colour)
    sheet.text((start_x + end_x) / 2, y - 4, words, size=11, bold=bold, fill=GREY if not bold else INK)


def _short_of(telegram: Telegram) -> str:
    """What a telegram says, as short as an arrow of the drawing."""
    said = telegram.meaning.removeprefix("asks for the ").removesuffix(" of the station")
    if telegram.role != REQUEST and telegram.meaning.startswith("RS"):
        return "RS: refused"
    if telegram.kind == "SC":
        return "SC: received"
    words = f"{telegram.service}: {said}" if telegram.role == REQUEST else said
    if len(words) <= _WORDS:
        return words
    end = max(words.rfind(sign, 0, _WORDS) for sign in ("; ", ", "))
    return f"{words[:end]} …" if end > 0 else short(words, _WORDS)


# -- the octets ---------------------------------------------------------------------------------------

_BOX, _MARGIN, _MOST = 34.0, 76.0, 19


def bytes_drawing(picture: StartUpPicture) -> Drawing:
    """The octets of Set_Prm and of Chk_Cfg in the order in which they are sent, with what they belong to."""
    parameters, identifiers = picture.parameters, picture.identifiers
    parts = [(1, "bits"), (2, "watchdog"), (1, "TSDR"), (2, "ident"), (1, "groups")]
    own = len(parameters) - STANDARD_OCTETS
    if picture.dpv1 and own >= len(DPV1_OCTETS):
        parts.append((len(DPV1_OCTETS), "DPV1"))
        own -= len(DPV1_OCTETS)
    parts += [(own, "own parameters" if own > 3 else "own")] if own else []
    sheet = Drawing(_MARGIN + _BOX * (_MOST + 1) + 4, 116, picture.says)
    _octet_line(sheet, 16, "Set_Prm", parameters, parts)
    _octet_line(sheet, 76, "Chk_Cfg", identifiers, [(len(identifiers), "")])
    return sheet


def _octet_line(sheet: Drawing, y: float, name: str, octets: bytes, parts: Sequence[tuple[int, str]]) -> None:
    sheet.text(4, y + 15, name, anchor="start", bold=True)
    if not octets:
        sheet.text(_MARGIN, y + 15, "not given", size=12, anchor="start", fill=GREY)
    shown = len(octets) if len(octets) <= _MOST + 1 else _MOST
    at = 0
    for n, (size, words) in enumerate(parts):
        here = min(size, shown - at)
        if here <= 0:
            break
        x = _MARGIN + at * _BOX
        for k in range(here):
            sheet.box(x + k * _BOX, y, _BOX - 2, 20, fill=(SAND, SKY, PAPER)[n % 3], stroke=INK, line=1)
            sheet.text(x + k * _BOX + _BOX / 2 - 1, y + 15, f"{octets[at + k]:02X}", size=12)
            sheet.text(x + k * _BOX + _BOX / 2 - 1, y - 4, at + k + 1, size=11, fill=GREY)
        sheet.text(x + here * _BOX / 2, y + 33, words if len(words) <= 5 * here + 2 else words[:6], size=11)
        at += size
    if shown < len(octets):
        sheet.text(_MARGIN + _MOST * _BOX + 2, y + 15, f"+{len(octets) - shown}", size=11, anchor="start")


DRAW: Draw = {LadderPicture: ladder, StartUpPicture: bytes_drawing}


# -- the panels ---------------------------------------------------------------------------------------


def start_up_panel() -> Panel:
    """Step through the start of one station, with a choice of what is wrong."""
    return Panel(
        "How a station starts",
        {
            "wrong": fields.choice("what is wrong", list(cases())),
            "put_right": fields.tick(f"put it right after step {BEFORE}"),
            "number": fields.play("step", 1, 1, MOST),
        },
        start_up_answer,
        draw=DRAW,
        hint="Each step is one turn of the bus. The telegrams are those of the practice line: the cooling fan of "
        "Saltmarsh Mill, an invented site. Go on until nothing new comes. Then choose what is wrong, and look at "
        "which step it shows. “Watchdog too short” is played at 93.75 kbit/s.",
    )


def start_up_bytes_panel() -> Panel:
    """Choose a station's parameters, and see the octets of Set_Prm and Chk_Cfg."""
    choice, files = fields.choice("description", CHOICES), fields.upload("Upload your own", ACCEPTED)
    places = [fields.choice(f"module in place {n}", [NOTHING]) for n in (1, 2)]
    ModuleLists(choice, files, [(place.widget, "" if n == 0 else NOTHING) for n, place in enumerate(places)])

    def answer(description: str, files: Sequence[Upload], place_1: str, place_2: str, values: dict[str, str],
               **choices: object) -> Answer:  # fmt: skip
        modules = [name for name in (place_1, place_2) if name != NOTHING]
        return build_answer(description_called(description, files), modules, values, **choices)

    extra = widgets.SelectMultiple(
        options=offered_bits(), description="asked for", rows=3, style=choice.widget.style, layout=choice.widget.layout
    )
    return Panel(
        "The octets that start a station",
        {
            "description": choice,
            "files": files,
            "place_1": places[0],
            "place_2": places[1],
            "ident": fields.text("ident number", "", _ident),
            "watchdog": fields.text("watchdog", "200 ms", read_watchdog),
            "base_s": fields.choice("watchdog base", [(time_text(base_s), base_s) for base_s in BASES_S]),
            "min_tsdr_bits": fields.whole("min TSDR in bits", str(set_prm.MIN_TSDR_BITS), 0, 255),
            "lock": fields.choice("lock", list(LOCKS)),
            "groups": fields.text("groups", "none", read_groups),
            "extra": Field(extra),
            "values": fields.lines("values", "", read_values, rows=2),
        },
        answer,
        draw=DRAW,
        hint="Watchdog: a time (200 ms), two factors (1 x 20), or off. No ident number: the description's. Ctrl and a "
        "click: several. Values: one a line, as in “when the bus fails = ramp down”.",
    )


def _ident(typed: str) -> int | None:
    if not typed.strip():
        return None
    number = written.whole(typed)
    in_range("ident number", number, 0, 0xFFFF)
    return number


def read_examples() -> dict[str, str]:
    """Start-up octets to read: from the practice line, and some with something wrong."""
    ours = "\n".join(step.text for step in start("nothing", False).items[:5] if hasattr(step, "text"))
    return {
        f"start of the {STATION.lower()} (practice line)": ours,
        "seven octets": octets_text(SetPrm(0xFFF1, factor_2=20).octets),
        "with DPV1 octets, base 1 ms": octets_text(set_prm.build(
            ident=0xFFF1, watchdog_s=0.05, base_s=BASES_S[1], dpv1=["Fail_Safe"], user=bytes.fromhex("81 00 64 00")
        ).octets),
        "ident number of another device": octets_text(replace(SetPrm(0xFFF2), factor_2=20).octets),
        "watchdog off": octets_text(SetPrm(0xFFF1, frozenset({"Lock_Req"})).octets),
    }  # fmt: skip


def read_start_up_panel() -> Panel:
    """Paste Set_Prm, or a recording of a start: what it says, and what the station would object to."""
    choice, files = description_or_none()

    def answer(text: str, description: str, files: Sequence[Upload], dpv1: str) -> Answer:
        return read_answer(text, chosen_description(description, files), DPV1[dpv1])

    return Panel(
        "What do these start-up octets say?",
        {
            "text": with_examples("octets", read_examples(), rows=7),
            "description": choice,
            "files": files,
            "dpv1": fields.choice("works by DPV1", list(DPV1)),
        },
        answer,
        draw=DRAW,
        hint="The octets of Set_Prm alone, a telegram, or a recording: then Chk_Cfg is read too. Any usual spelling. "
        "With the station's description, its own parameters are named and its objections told.",
    )
