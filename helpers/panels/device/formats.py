"""Panels for data formats: a family side by side, one format word by word, the shortest that carries the needs."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence

import ipywidgets as widgets

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.time.message_cycle import Exchange, message_cycle
from helpers.device import choose, signals
from helpers.device import formats as data_formats
from helpers.device.choose import Assignment, Choice, FormatRow, mapping
from helpers.device.formats import BYTES_PER_WORD, DataFormat
from helpers.device.signals import Signal
from helpers.errors import Unknown, Unreadable, in_range
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.quantity import time_text
from helpers.safe_work import cautions
from helpers.wording import capital_first, short

FAMILIES = {
    "PPO 1 to 5": data_formats.ppo_types,
    "the Saltmarsh Mill drive's own": data_formats.demo_formats,
    "standard telegrams": data_formats.standard_telegrams,
}
OFFERS: dict[str, Callable[[], tuple[DataFormat, ...]]] = {
    "PPO 1 to 5 and its own": lambda: data_formats.ppo_types() + data_formats.demo_formats(),
    "PPO 1 to 5": data_formats.ppo_types,
    "its own": data_formats.demo_formats,
    "standard telegrams": data_formats.standard_telegrams,
    "every known format": data_formats.all_formats,
}
_WAY = {"out": "out: controller → drive", "in": "in: drive → controller"}
_FILL = {"parameter": SAND, "fixed": SKY, "free": PAPER}
_USUAL = ("STW1", "NSOLL_A", "ZSW1", "NIST_A")


def read_signals(typed: str) -> tuple[Signal, ...]:
    """Signals as people list them: names or numbers with commas between; `2 words in`; `drum speed 32 bit in`.

    Errors: `Unknown` for a name, `OutOfRange` for a width or a count.

    >>> [signal.name for signal in read_signals("current, 2 words in, drum speed 32 bit in")]
    ['CURRENT', 'word 1 in', 'word 2 in', 'drum speed']
    """
    found: list[Signal] = []
    for part in (part.strip() for part in re.split(r"[,;\n]", typed)):
        several = re.fullmatch(r"(\d{1,3})\s*words?\s+(out|in)", part, re.IGNORECASE)
        own = re.fullmatch(r"(.*\S)\s+(\d{1,3})\s*(?:bits?)?\s+(out|in)", part, re.IGNORECASE)
        if several:
            in_range("number of words", int(several[1]), 1, 20)
            way = several[2].lower()
            found += [
                signals.own_signal(f"word {n} {way}", bits=16, direction=way) for n in range(1, int(several[1]) + 1)
            ]
        elif own:
            found.append(signals.own_signal(own[1], bits=int(own[2]), direction=own[3].lower()))
        elif part:
            found.append(_known(part))
    return tuple(found)


def _known(name: str) -> Signal:
    try:
        return signals.find(name)
    except Unknown:
        # The list of all names would fill the panel.
        raise Unknown(
            f"{name[:40]!r} is no signal of our tables; one of your own needs its width and direction, as in drum "
            "speed 32 bit in, or 2 words out."
        ) from None


# -- a family side by side ----------------------------------------------------------------------------


def strips_drawing(listed: Sequence[DataFormat], needs: Sequence[Signal] = ()) -> Drawing:
    """Formats under each other, all to one scale: a box for each word, out at the left and in at the right.

    With needs, a bold number marks a word that carries one of them.
    """
    box, top, high = 18, 34, 24
    longest = {way: max(10, *(len(one.words(way)) for one in listed)) for way in _WAY}
    names = [one.name.replace("standard telegram", "telegram") for one in listed]
    left = 20 + 8 * max(map(len, names))
    start = {"out": left, "in": left + box * longest["out"] + 24}
    width = max(600, start["in"] + box * longest["in"] + 112)  # the legend needs 600
    says = "; ".join(
        f"{one.name}: " + " and ".join(f"{_counted(one, way)} {way}" for way in _WAY) + f", {one.bytes_both} bytes"
        for one in listed
    )
    sheet = Drawing(width, top + high * len(listed) + 26, says)
    for way, x in start.items():
        sheet.text(x, 20, _WAY[way], size=12, anchor="start", bold=True)
    for n, one in enumerate(listed):
        y = top + n * high
        sheet.text(8, y + 14, names[n], anchor="start", bold=len(listed) > 1)
        for way, x in start.items():
            for place, (label, kind, used) in enumerate(_labels(one, way, needs)):
                fill = SKY if used and kind == "free" else _FILL[kind]
                line = 1.8 if used else 1.0
                sheet.box(x + place * box + 1, y, box - 2, 18, fill=fill, stroke=INK if used else GREY, line=line)
                sheet.text(x + place * box + box / 2, y + 13, label, size=11, bold=used, fill=INK if used else GREY)
        end = start["in"] + box * longest["in"] + 12
        sheet.text(end, y + 14, f"{one.bytes_out} + {one.bytes_in} bytes", anchor="start")
    legend = "P: parameter channel (PKW) · number: process data word (PZD) · "
    legend += "bold: carries a need" if needs else "shaded: its signal is fixed · white: free"
    sheet.text(8, top + high * len(listed) + 14, legend, size=11, anchor="start", fill=GREY)
    return sheet


def _labels(one: DataFormat, way: str, needs: Sequence[Signal]) -> list[tuple[str, str, bool]]:
    """For each word of one direction: what stands in its box, its kind, and whether it carries a need."""
    wanted = {signal.name for signal in needs}
    placed = [a for a in mapping(one, needs) if a.parameter == signals.list_parameter(way)]
    carried = iter([a.signal in wanted if needs else a.fixed for a in placed])
    numbers = iter(range(1, len(placed) + 1))
    return [
        ("P", word.kind, False) if word.kind == "parameter" else (str(next(numbers)), word.kind, next(carried))
        for word in one.words(way)
    ]


def _counted(one: DataFormat, way: str) -> str:
    process = len(one.process_words(way))
    channel = len(one.words(way)) - process
    plus = f"{channel} words of parameter channel and " if channel else ""
    return f"{plus}{process} process data word{'s' if process > 1 else ''}"


def family_view(family: str) -> Answer:
    """The formats of one family side by side."""
    listed = FAMILIES[family]()
    fixed = [one for one in listed if not one.free_words("out") + one.free_words("in")]
    free = "All words of these formats are fixed." if len(fixed) == len(listed) else ""
    claims = data_formats.vendor_claims()
    beyond = "PPO 6 and above are no part of the profile: makers use these numbers for different formats."
    return Answer(
        f"{len(listed)} formats, from {min(one.bytes_both for one in listed)} to "
        f"{max(one.bytes_both for one in listed)} bytes in each cycle, both directions together.",
        because=beyond if family.startswith("PPO") else free,
        pictures=[strips_drawing(listed)],
        sources=[f"{one.name}: {one.cited}" for one in listed]
        + [f"{claim.name}: {claim.identifiers.hex(' ').upper()}, {claim.source}" for claim in claims],
    )


def family_panel() -> Panel:
    """The formats of a family side by side, to scale."""
    return Panel(
        "Formats side by side",
        {"family": fields.choice("formats", FAMILIES)},
        family_view,
        hint="One box is one word of 16 bits, that is 2 bytes.",
    )


# -- one format word by word --------------------------------------------------------------------------


def format_drawing(one: DataFormat, needs: Sequence[Signal] = ()) -> Drawing:
    """One format word by word, out above in, with the bytes under each word."""
    assigned = mapping(one, needs)
    told, strips = [], []
    for way in _WAY:
        process = iter([_name(a) for a in assigned if a.parameter == signals.list_parameter(way)])
        names = [word.name if word.kind == "parameter" else next(process) for word in one.words(way)]
        told.append(f"{_WAY[way]}: {', '.join(names) or 'nothing'}")
        strips.append((way, names, _widths(names)))
    sheet = Drawing(760, 200, f"{one.name}. {'. '.join(told)}.")
    for row, (way, names, (limit, widths)) in enumerate(strips):
        x, y = 8.0, 22.0 + row * 100
        sheet.text(8, y - 8, f"{_WAY[way]}, {_counted(one, way)}", size=12, anchor="start", bold=True)
        for n, (word, name, width) in enumerate(zip(one.words(way), names, widths, strict=True)):
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


def _name(assignment: Assignment) -> str:
    return f"{assignment.signal} {assignment.half}".strip() or "free"


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


def layout_view(name: str, needs: tuple[Signal, ...] = ()) -> Answer:
    """One format: its words, its bytes, and the two lists that give the free words their signals."""
    one = data_formats.by_name(name)
    row = choose.choose(needs, formats=[one]).rows[0]
    lost = [*row.missing_out, *row.missing_in]
    count = {way: one.free_words(way) for way in _WAY}
    free = f"Free words: {count['out']} out, {count['in']} in." if any(count.values()) else "All words are fixed."
    return Answer(
        f"{capital_first(one.name)}: {one.bytes_out} bytes out, {one.bytes_in} bytes in. Identifiers "
        f"{one.identifiers.hex(' ').upper()}." + (f" No room for {', '.join(lost)}." if lost else ""),
        because=free + (f" {capital_first(one.remark)}." if one.remark else ""),
        caution=cautions("changed list") if any(count.values()) and needs else (),
        pictures=[format_drawing(one, needs)],
        rows=list_rows(one, needs),
        sources=[f"{one.name}: {one.cited}", *(f"list {r['pnu']}: {r.cited}" for r in facts.rows("signal_lists"))],
    )


def list_rows(one: DataFormat, needs: Sequence[Signal]) -> list[Row]:
    """The lists 915 and 916 side by side: one row for each process data word."""
    assigned = mapping(one, needs)
    by_place = {(a.parameter, a.pzd): a for a in assigned}
    rows: list[Row] = []
    for pzd in range(1, max(a.pzd for a in assigned) + 1):
        row: dict[str, object] = {"word": f"PZD {pzd}"}
        for way in _WAY:
            pnu = signals.list_parameter(way)
            found = by_place.get((pnu, pzd))
            row[f"{way} (list {pnu})"] = "–" if found is None else _name(found)
            row[f"number in {pnu}"] = "–" if found is None else _number(found)
        rows.append(row)
    return rows


def _number(assignment: Assignment) -> str:
    number = "see the manual" if assignment.number is None else str(assignment.number)
    return f"{number} (fixed)" if assignment.fixed else number


def layout_panel() -> Panel:
    """A format word by word, with signals of your own choice in its free words."""
    return Panel(
        "A format word by word",
        {
            "name": fields.choice("format", [one.name for one in data_formats.all_formats()], "PPO 2"),
            "needs": fields.lines("for free words", "RAMP_TIME, CURRENT, ENERGY", read_signals, rows=3),
        },
        layout_view,
        hint="Free words are filled in the order in which you name the signals. “2 words in” or "
        "“drum speed 32 bit in” will do too.",
    )


# -- the shortest format ------------------------------------------------------------------------------


def choice_view(
    needs: Iterable[Signal | str], parameters: bool = False, offered: str = "PPO 1 to 5", bit_rate: float = 1_500_000
) -> Answer:
    """The shortest format that carries the needs, and every other held against it."""
    found = choose.choose(needs, parameters=parameters, formats=OFFERS[offered]())
    if not found.needs_out + found.needs_in and not parameters:
        raise Unreadable("nothing is asked for; tick at least one signal.")
    rows = [_row(row, found, bit_rate) for row in found.rows]
    sources = [f"{row.format.name}: {row.format.cited}" for row in found.rows]
    if found.best is None:
        nearest = min(found.rows, key=lambda row: row.missing_words_out + row.missing_words_in)
        return Answer(
            f"None of the {len(rows)} formats carries everything.",
            because=f"Nearest is {nearest.format.name}, which lacks {_missing(nearest)}. Send less in each cycle, or "
            "look whether the drive has longer formats of its own.",
            rows=rows,
            sources=sources,
        )
    rule = facts.one("format_rules", rule="shortest")
    return Answer(
        capital_first(found.sentences[0]),
        because=" ".join([f"{capital_first(rule['says'])} ({rule.cited}).", *_reasons(found, bit_rate)]),
        pictures=[strips_drawing([found.best.format], (*found.needs_out, *found.needs_in))],
        rows=rows,
        sources=sources,
    )


def _row(row: FormatRow, found: Choice, bit_rate: float) -> Row:
    message = _message_s(row.format, bit_rate)
    against = ""
    if found.best is not None and row is not found.best:
        extra = message - _message_s(found.best.format, bit_rate)
        against = time_text(extra, signed=True)
    return {
        "format": row.format.name,
        "carries all": "▶ shortest" if row is found.best else "yes" if row.fits else "no",
        "missing": _missing(row),
        "out": row.format.bytes_out,
        "in": row.format.bytes_in,
        f"message, {bit_rate_text(bit_rate)}": time_text(message),
        "against the choice": against,
    }


def _missing(row: FormatRow) -> str:
    parts = ["parameter channel"] if row.missing_parameters else []
    for way, words in (("out", row.missing_words_out), ("in", row.missing_words_in)):
        parts += [f"{words} word{'s' if words > 1 else ''} {way}"] if words else []
    return ", ".join(parts)


def _reasons(found: Choice, bit_rate: float) -> list[str]:
    """Why no shorter one will do, who is just as short, and what the largest would cost."""
    assert found.best is not None
    told = []
    if found.shorter:
        told.append(
            f"{capital_first(found.shorter[-1].format.name)} is shorter, but lacks {found.shorter[-1].missing}."
        )
    if found.equally_short:
        told.append(f"Equally short: {', '.join(row.format.name for row in found.equally_short)}.")
    largest = max((row for row in found.rows if row.fits), key=lambda row: row.format.bytes_both)
    if largest.extra_bytes:
        cost = _message_s(largest.format, bit_rate) - _message_s(found.best.format, bit_rate)
        told.append(
            f"The largest, {largest.format.name}, would add {largest.extra_bytes} bytes, that is {time_text(cost)} for "
            "each drive in each cycle."
        )
    return told


def _message_s(one: DataFormat, bit_rate: float) -> float:
    return message_cycle(Exchange(one.bytes_out, one.bytes_in), bit_rate=bit_rate).seconds


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
        return choice_view([*(name for name, on in ticked.items() if on), *others], parameters, offered, bit_rate)

    return Panel("Choose the shortest format", ticks | more, answer)


def _small_tick(label: str, value: bool, heading: str = "", tip: str = "") -> fields.Field:
    """A box to tick that takes little height, under a heading if it is the first of its group."""
    box = widgets.Checkbox(value=value, description=label, indent=False, tooltip=tip)
    box.layout = widgets.Layout(width="290px", height="22px", margin="0 0 0 8px")
    head = widgets.HTML(f"<b style='color:{BLUE}'>{heading}</b>", layout=widgets.Layout(height="22px", margin="0"))
    return fields.Field(box, around=widgets.VBox([head, box]) if heading else None)
