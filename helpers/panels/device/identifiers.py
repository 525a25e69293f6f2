"""Panels for configuration identifiers: read the octets of a device description or a drive, and put one together."""

from __future__ import annotations

from collections.abc import Sequence

from helpers import facts
from helpers.answer import Answer, Row
from helpers.device import formats as data_formats
from helpers.device.identifiers import (
    BYTES_PER,
    Area,
    Configuration,
    Identifier,
    Octet,
    decode,
    explain,
    octets_from_text,
    shortest,
)
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, PAPER, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.verdict import Degree
from helpers.wording import capital_first

# More octets than these are told in words; a drive's format has two to six.
DRAWN, LISTED = 4, 10
_BIT, _HIGH = 26, 52


def octets_drawing(octets: Sequence[Octet]) -> Drawing:
    """The first octets bit by bit, each field with what it says."""
    shown = [octet for octet in octets if octet.fields][:DRAWN] or list(octets[:1])
    told = [f"16#{o.value:02X} {o.role}: {', '.join(field.meaning for field in o.fields)}" for o in shown]
    sheet = Drawing(760, 18 + _HIGH * len(shown), ". ".join(told))
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


def identifiers_view(octets: bytes, other: bytes = b"") -> Answer:
    """What the octets say, and whether the octets set at the other side are the same."""
    found, explained = decode(octets), explain(octets)
    same = [one.name for one in data_formats.by_identifiers(octets)]
    said = (
        f"{_octets(octets)}: {found.bytes_out} bytes out, {found.bytes_in} bytes in"
        + (f", as in {' and '.join(same)}" if same else "")
        + "."
    )
    degree = Degree.CANNOT_WORK if found.complaints else None
    because = " ".join(capital_first(complaint) for complaint in found.complaints)
    sources = [field.source for octet in explained for field in octet.fields]
    if other:
        agreement, agrees = _agreement(octets, other)
        degree = max(agreement, degree or Degree.IN_ORDER)
        said = f"{said} {agrees}"
        rule = facts.one("format_rules", rule="agree")
        because = f"{because} {capital_first(rule['says'])}.".strip()
        sources.insert(0, rule.cited)
    return Answer(
        said,
        degree,
        because=because,
        pictures=[octets_drawing(explained)],
        rows=place_rows(found),
        sources=sources,
    )


def _agreement(octets: bytes, other: bytes) -> tuple[Degree, str]:
    if octets == other:
        return Degree.IN_ORDER, "Drive and controller agree."
    there = decode(other)
    sizes = f"{there.bytes_out} bytes out and {there.bytes_in} in"
    at = next((n for n, pair in enumerate(zip(octets, other, strict=False)) if pair[0] != pair[1]), None)
    where = "one list is longer" if at is None else f"octet {at + 1} is {octets[at]:02X} here and {other[at]:02X} there"
    return Degree.CANNOT_WORK, f"The other side has {_octets(other)}, {sizes}: they differ ({where})."


def _octets(octets: bytes) -> str:
    text = octets.hex(" ").upper()
    return text if len(text) <= 48 else f"{text[:44]} … ({len(octets)} octets)"


def place_rows(found: Configuration) -> list[Row]:
    """One row for each place of the device; a long list is cut, and the last row says so."""
    rows: list[Row] = [_place(number, one) for number, one in enumerate(found.identifiers[:LISTED], 1)]
    rest = found.places - LISTED
    if rest > 0:
        rows.append({"place": "…", "octets": f"{rest} more place{'s' if rest > 1 else ''}"})
    return rows


def _place(number: int, one: Identifier) -> Row:
    return {
        "place": str(number),
        "octets": one.octets.hex(" ").upper(),
        "form": one.form,
        "out": one.output.text if one.output else "–",
        "in": one.input.text if one.input else "–",
        "bytes out": one.bytes_out,
        "bytes in": one.bytes_in,
        "vendor octets": one.vendor.hex(" ").upper() or "–",
    }


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
        identifiers_view,
        hint="They stand in the device description as 0xF3,0xF5 and in manuals as F3 F5 or F3h F5h. Fill in the "
        "controller's as well, and both are compared.",
    )


def build_view(*, out: int, out_unit: str, into: int, in_unit: str, whole: bool = True, vendor: bytes = b"") -> Answer:
    """The shortest identifier for what one place carries."""
    output = Area(out, out_unit, whole) if out else None
    input_ = Area(into, in_unit, whole) if into else None
    one = shortest(output, input_, vendor)
    why = (
        "One compact byte is enough."
        if one.form == "compact"
        else "A compact byte holds one area of up to 16 bytes or words, the same both ways. This is more: special form."
    )
    octets = explain(one.octets)
    return Answer(
        f"{capital_first(one.text)}: {_octets(one.octets)}.",
        because=why,
        pictures=[octets_drawing(octets)],
        rows=[_place(1, one)],
        sources=[field.source for octet in octets for field in octet.fields],
    )


def build_identifier_panel() -> Panel:
    """Put one identifier together from what it is to carry."""

    def answer(**entered: object) -> Answer:
        return build_view(**entered)  # type: ignore[arg-type]

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
        answer,
        hint="0 means nothing in that direction. Vendor octets are what the maker's manual asks for; mostly there are "
        "none.",
    )
