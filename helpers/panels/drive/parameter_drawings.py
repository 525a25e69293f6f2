"""Drawings for parameters: the words of the channel, a dialogue, an acyclic exchange, a maker's own words."""

from __future__ import annotations

from helpers.drive.parameters import acyclic_service
from helpers.drive.parameters import parameter_channel as channel
from helpers.drive.parameters.acyclic_answers import ExchangePicture, WaysPicture
from helpers.drive.parameters.channel_answers import ChannelPicture, DialoguePicture, first_word
from helpers.drive.parameters.device_request import RequestPicture
from helpers.panels.kit.as_html import Draw
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.quantity import quantity

_PITCH = 20  # from one arrow to the next
_OCTETS = 20  # octets of a telegram that a line of the picture holds


def channel_drawing(picture: ChannelPicture) -> Drawing:
    """The four words: PKE with its three fields bit by bit, then IND and the two halves of the value."""
    shown, octets, kind, spelled = picture.shown, picture.octets, picture.kind, picture.words
    sheet = Drawing(760, 104, picture.says)
    pke = int.from_bytes(octets[:2], "big")
    parts = ((15, 12, f"{kind} {shown.identifier}"), (11, 11, "report"), (10, 0, f"number {shown.number}"))
    for n, (high, low, text) in enumerate(parts):
        for bit in range(high, low - 1, -1):
            x = 8 + (15 - bit) * 24 + n * 4
            sheet.box(x, 24, 22, 26, fill=PAPER if n == 1 else SKY, stroke=INK, line=1)
            sheet.text(x + 11, 42, pke >> bit & 1, size=13)
            if bit in (high, low):
                sheet.text(x + 11, 18, bit, size=11, fill=GREY)
        middle = 8 + (15 - (high + low) / 2) * 24 + n * 4 + 11
        sheet.text(middle, 66, text, size=12, bold=True)
    known = (channel.tasks() if kind == "task" else channel.answers())[shown.identifier]
    index = f"element {shown.subindex}" if known.indexed else "page" if shown.page else "not used"
    if shown.page:
        index += f" +{shown.page * channel.PAGE}"
    for n, (name, under) in enumerate((("IND", index), ("PWE1", "high"), ("PWE2", "low"))):
        x = 424 + n * 112
        sheet.box(x, 24, 104, 26, fill=SAND if n else PAPER, stroke=INK, line=1)
        sheet.text(x + 52, 42, spelled[n + 1], size=14)
        sheet.text(x + 52, 18, name, size=11, fill=GREY)
        sheet.text(x + 52, 66, under, size=12)
    sheet.text(8, 94, "PKE", size=11, fill=GREY, anchor="start")
    sheet.text(40, 94, spelled[0], size=14, anchor="start", bold=True)
    sheet.text(700, 94, f"PWE1 and PWE2 together: {shown.value}", size=12, anchor="end")
    return sheet


def dialogue_drawing(picture: DialoguePicture) -> Drawing:
    """Cycle by cycle; an answer that belongs is framed, an old one is greyed."""
    talk = picture.dialogue
    sheet = Drawing(760, 118, picture.says)
    sheet.text(2, 44, "request", size=11, anchor="start", fill=GREY)
    sheet.text(2, 84, "answer", size=11, anchor="start", fill=GREY)
    for n, cycle in enumerate(picture.cycles):
        x = 52.0 + n * 50
        last = n + 1 == len(talk.cycles) or talk.cycles[n + 1].task != cycle.task
        sheet.text(x + 24, 14, cycle.number, size=11, fill=GREY)
        sheet.box(x, 22, 48, 34, fill=SKY if cycle.task % 2 else PAPER, stroke=INK, line=1)
        sheet.box(x, 62, 48, 34, fill=SAND if cycle.match.belongs else PAPER, stroke=BLUE if cycle.match.belongs else
                  GREY, line=2.5 if cycle.match.belongs else 1)  # fmt: skip
        for y, words in ((22.0, cycle.request), (62.0, cycle.answer)):
            colour = INK if y < 50 or cycle.match.belongs else GREY
            sheet.text(x + 24, y + 14, first_word(words), size=11, fill=colour)
            sheet.text(x + 24, y + 28, _small(words.value), size=11, fill=colour)
        if last:
            right = talk.outcomes[cycle.task - 1].right
            sheet.text(
                x + 24, 110, "▲ taken" if right else "✗ taken", size=11, fill=BLUE if right else ORANGE, bold=True
            )
    return sheet


def _small(value: int) -> str:
    return f"{value}" if value < 1_000_000 else "…"


def exchange_drawing(picture: ExchangePicture) -> Drawing:
    """Controller at the left, drive at the right, one arrow for each telegram, from top to bottom."""
    shown = picture.telegrams
    sheet = Drawing(760, 30 + _PITCH * len(shown), picture.says)
    sheet.text(40, 14, "controller", size=12, bold=True)
    sheet.text(720, 14, "drive", size=12, bold=True)
    sheet.line(40, 20, 40, 26 + _PITCH * len(shown), stroke=GREY)
    sheet.line(720, 20, 720, 26 + _PITCH * len(shown), stroke=GREY)
    for n, telegram in enumerate(shown):
        y, out = 40.0 + _PITCH * n, telegram.sender == "controller"
        refused = bool(telegram.octets[0] & acyclic_service.REFUSED)
        colour = ORANGE if refused else BLUE if out else INK
        sheet.line(44, y, 716, y, stroke=colour, width=1.5, dash="5 4" if refused else "none")
        tip = 716.0 if out else 44.0
        back = tip - 8 if out else tip + 8
        sheet.path([(tip, y), (back, y - 4), (back, y + 4)], stroke=colour, fill=colour)
        octets = telegram.octets[:_OCTETS].hex(" ").upper() + (" …" if len(telegram.octets) > _OCTETS else "")
        sheet.text(380, y - 4, octets + (" (still working)" if refused else ""), size=11, fill=colour)
    return sheet


def ways_drawing(picture: WaysPicture) -> Drawing:
    """A bar for each way, as long as its time."""
    longest = max(time_s for _, time_s in picture.times_s) or 1.0
    sheet = Drawing(760, 70, picture.says)
    for n, (name, time_s) in enumerate(picture.times_s):
        y = 8.0 + 32 * n
        sheet.text(4, y + 15, name, size=12, anchor="start")
        sheet.box(120, y, max(1.0, 480 * time_s / longest), 20, fill=SKY, stroke=BLUE, line=1)
        sheet.text(
            126 + 480 * time_s / longest, y + 15, quantity(1e3 * time_s, "ms", decimals=1), size=12, anchor="start"
        )
    return sheet


def request_drawing(picture: RequestPicture) -> Drawing:
    """The five words out and the five in, each with its name; the two running numbers are joined."""
    same = picture.agree
    sheet = Drawing(760, 132, picture.says)
    for row, (way, words) in enumerate(picture.words.items()):
        y = 18.0 + 66 * row
        sheet.text(4, y + 22, way, size=12, anchor="start", bold=True)
        for n, (name, word) in enumerate(words):
            x = 40.0 + n * 142
            sheet.text(x + 67, y - 5, name, size=11, fill=GREY)
            sheet.box(x, y, 134, 32, fill=SKY if n == 0 else PAPER, stroke=INK, line=1)
            sheet.text(x + 67, y + 21, f"{word} = 16#{word:04X}", size=13)
    sheet.line(60, 51, 60, 72, stroke=BLUE if same else ORANGE, width=2.5, dash="none" if same else "4 3")
    return sheet


DRAW: Draw = {
    ChannelPicture: channel_drawing,
    DialoguePicture: dialogue_drawing,
    ExchangePicture: exchange_drawing,
    WaysPicture: ways_drawing,
    RequestPicture: request_drawing,
}
