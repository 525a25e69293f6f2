"""A panel that plays one rotation of the demo line, telegram by telegram: who sends, who is meant, which octets."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache

from helpers.answer import Answer, Row
from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.rotation import AGAIN, ANSWER, GAP, TOKEN, Piece, Polled, Spoken, pieces, rotation
from helpers.bus.time.timing import rule_bits, rule_source
from helpers.device import formats
from helpers.drive import words
from helpers.errors import Unknown, in_range
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.plan import convert
from helpers.plan.model import Station
from helpers.plan.my_networks import demo_network
from helpers.quantity import time_text
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
        exchange = convert.exchange(station) or Exchange(0, 0)
        outputs, inputs = bytes(exchange.outputs), bytes(exchange.inputs)
    return Polled(station.address or 0, station.name, outputs, inputs)


def _data(listed: Sequence[formats.Word]) -> bytes:
    return b"".join(_VALUES.get(word.signal or word.name, 0).to_bytes(2, "big") for word in listed)


# -- the view -----------------------------------------------------------------------------------------


def polling_view(step: int, bit_rate: float = 1_500_000, silent: int | None = None) -> Answer:
    """One telegram of the rotation: what it is, who may speak next, and the clock.

    Parameters: step, from 1; bit_rate [bit/s]; silent, the address of a station that does not answer.
    Raises `OutOfRange` for a step beyond the last telegram.
    """
    said = rotation(demo_line(silent), bit_rate=bit_rate, controller=CONTROLLER)
    in_range("telegram", step, 1, len(said))
    now, names = said[step - 1], {station.address or 0: station.name for station in demo_stations()}
    sentence, because = _told(now, names, bit_rate)
    return Answer(
        f"Telegram {step} of {len(said)}, at {_clock(now.start_bits, bit_rate)}: {sentence}",
        because=because,
        pictures=[polling_drawing(said, step, names, bit_rate)],
        rows=_time_rows(said, step, bit_rate),
        sources=[rule_source("character"), now.silence.source, *([rule_source("request again")] * (now.kind == AGAIN))],
    )


def _told(now: Spoken, names: Mapping[int, str], bit_rate: float) -> tuple[str, str]:
    """What happens, and why it is this station's turn; each short enough for one line."""
    silence = f"{now.silence.bits:g} bit times ({_clock(now.silence.bits, bit_rate)})"
    if now.kind == TOKEN:
        return (
            "the controller hands the token to itself.",
            "Only the holder of the token may begin. A controller that is alone hands it to itself (common practice).",
        )
    if now.kind == GAP:
        return (
            f"the controller looks for a newcomer at address {now.receiver}.",
            f"Nobody has it: {silence} of slot time run out. One address in each rotation (common practice).",
        )
    if now.kind == ANSWER:
        return (
            f"{names[now.sender]} (address {now.sender}) answers.",
            f"It was asked, so it speaks, once. Then all keep quiet for {silence}, and the controller goes on.",
        )
    asked = f"{names[now.receiver]} (address {now.receiver})"
    if now.kind == AGAIN:
        return (
            f"the controller asks {asked} again, the same.",
            f"{silence} of slot time run out again. The controller goes on; all others have waited.",
        )
    if now.silence.name == "TSL":
        return f"the controller asks {asked}.", f"Nobody answers. The controller waits out the slot time of {silence}."
    return (
        f"the controller asks {asked}.",
        f"All stations hear it. Only address {now.receiver} may answer; it begins after {silence}.",
    )


def _time_rows(said: Sequence[Spoken], step: int, bit_rate: float) -> list[Row]:
    now, character = said[step - 1], rule_bits("character")
    return [
        _row("telegram", now.bits, bit_rate, f"{len(now.octets)} bytes × {character} bit times"),
        _row(f"silence {now.silence.name}", now.silence.bits, bit_rate, now.silence.why),
        _row("clock after it", now.end_bits, bit_rate, f"the whole rotation: {_clock(said[-1].end_bits, bit_rate)}"),
    ]


def _row(item: str, bits: float, bit_rate: float, why: str) -> Row:
    return {"item": item, "bit times": round(bits), "time": _clock(bits, bit_rate), "why": why}


def _clock(bits: float, bit_rate: float) -> str:
    return time_text(bits / bit_rate)


# -- the drawing --------------------------------------------------------------------------------------

_WIDTH = 760.0


def polling_drawing(said: Sequence[Spoken], step: int, names: Mapping[int, str], bit_rate: float) -> Drawing:
    """The line with sender and receiver, the octets of the telegram, and the time line of the rotation."""
    now = said[step - 1]
    octets = now.octets.hex(" ").upper()
    says = (
        f"{_who(now.sender, names)} sends {now.kind} to {_who(now.receiver, names)}: {octets}; then {now.silence.name}"
    )
    sheet = Drawing(
        _WIDTH, 322, f"{says}; clock {_clock(now.start_bits, bit_rate)} of {_clock(said[-1].end_bits, bit_rate)}"
    )
    _line(sheet, now, names, {one.receiver for one in said if one.silence.name == "TSL"})
    _octets(sheet, pieces(now), 184)
    _time_line(sheet, said, step, bit_rate, 252)
    return sheet


def _who(address: int, names: Mapping[int, str]) -> str:
    return f"{names.get(address, 'nobody')} ({address})"


def _line(sheet: Drawing, now: Spoken, names: Mapping[int, str], quiet: set[int]) -> None:
    # A second master would take part in the token ring, so the engineering computer of the demo line is off.
    off = {station.address for station in demo_stations() if station.is_master and station.address != CONTROLLER}
    addresses = sorted({*names, *quiet})
    pitch = (_WIDTH - 16) / len(addresses)
    at = {address: 8 + pitch * (n + 0.5) for n, address in enumerate(addresses)}
    sheet.line(8, 58, _WIDTH - 8, 58, width=4, stroke=GREY)
    for n, address in enumerate(addresses):
        x = at[address]
        away = address in quiet or address in off
        _station(sheet, x, address, sends=address == now.sender, meant=address == now.receiver, away=away)
        label = _wrapped(names.get(address, "nobody"))
        label += ["off"] * (address in off) + ["silent"] * (address in quiet and address in names)
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


def _time_line(sheet: Drawing, said: Sequence[Spoken], step: int, bit_rate: float, y: float) -> None:
    """All telegrams on one scale of time: those of the controller above, the answers below, silences empty."""
    left, right, high = 78.0, _WIDTH - 12, 17.0
    scale = (right - left) / said[-1].end_bits
    for words_, lane in (("controller", 0), ("answers", 1)):
        sheet.text(left - 6, y + 13 + lane * high, words_, size=11, anchor="end")
    sheet.box(left, y, right - left, 2 * high, stroke=GREY, line=1)
    for n, one in enumerate(said, 1):
        lane, x, wide = int(one.kind == ANSWER), left + one.start_bits * scale, one.bits * scale
        here = n == step
        sheet.box(x, y + lane * high + 1, max(wide, 1.5), high - 2, fill=SAND if lane else SKY,
                  stroke=INK if here else GREY, line=2.5 if here else 0.7)  # fmt: skip
        if one.kind in (ANSWER, AGAIN) or (one.kind == GAP and wide > 4):
            address = one.sender if one.kind == ANSWER else one.receiver
            sheet.text(x, y + 2 * high + 14, address, size=11, fill=INK if here else GREY)
    now = said[step - 1]
    x = left + now.start_bits * scale
    sheet.path([(x - 5, y - 9), (x + 5, y - 9), (x, y - 1)], fill=INK)
    sheet.line(x, y, x, y + 2 * high, width=1.5)
    end = f"{_clock(said[-1].end_bits, bit_rate)} for the whole rotation"
    sheet.text(right, y + 2 * high + 32, end, size=11, anchor="end", fill=GREY)
    clock = _clock(now.start_bits, bit_rate)
    sheet.text(min(max(x, left + 20), right - 220), y + 2 * high + 32, clock, size=13, bold=True)


# -- the panel ----------------------------------------------------------------------------------------


def polling_panel() -> Panel:
    """Play one rotation of the demo line, or step through it; let a station fall silent."""
    count = len(rotation(demo_line(), bit_rate=bit_rates()[0], controller=CONTROLLER))
    stations = [(f"{station.address} {station.name}", station.address) for station in demo_line()]
    # A list shows nothing as chosen where the value is None.
    choice = fields.choice("silent station", [("none, all answer", 0), *stations])
    return Panel(
        "Who speaks now?",
        {
            "step": fields.play("telegram", 2, 1, count, pause_ms=1500),
            "bit_rate": fields.bit_rate(1_500_000),
            "silent": fields.Field(choice.widget, lambda address: address or None),
        },
        polling_view,
        hint="Press ▶ to play the rotation, or move the slider with the arrow keys. The line is that of Saltmarsh "
        "Mill, an invented site. The signal's way along the cable is left out.",
    )
