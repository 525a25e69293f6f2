"""Answers on data formats and identifiers: a family, one format word by word, octets read and put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from helpers import facts
from helpers.answer import Answer, Row
from helpers.device import choose, signals
from helpers.device.choose import Assignment, mapping
from helpers.device.formats import (
    DataFormat,
    by_identifiers,
    by_name,
    demo_formats,
    ppo_types,
    standard_telegrams,
    vendor_claims,
)
from helpers.device.identifiers import Configuration, DataArea, Identifier, Octet, decode, explain, shortest
from helpers.device.signals import Signal
from helpers.safe_work import cautions
from helpers.verdict import Degree
from helpers.wording import capital_first, counted

FAMILIES = {
    "PPO 1 to 5": ppo_types,
    "the Saltmarsh Mill drive's own": demo_formats,
    "standard telegrams": standard_telegrams,
}
WAYS = {"out": "out: controller → drive", "in": "in: drive → controller"}
# More octets than these are told in words; a drive's format has two to six.
_DRAWN, LISTED = 4, 10


@dataclass(frozen=True)
class StripsPicture:
    """Formats under each other, all to one scale; with `needs`, the words that carry one of them are marked."""

    formats: tuple[DataFormat, ...]
    needs: tuple[Signal, ...] = ()

    @property
    def says(self) -> str:
        """Each format with its words and bytes."""
        return "; ".join(
            f"{form.name}: " + " and ".join(f"{counted_words(form, way)} {way}" for way in WAYS)
            + f", {form.bytes_both} bytes"
            for form in self.formats
        )  # fmt: skip


@dataclass(frozen=True)
class FormatPicture:
    """One format word by word, out above in; the free words carry the `needs` in their order."""

    format: DataFormat
    needs: tuple[Signal, ...] = ()

    def names(self, way: str) -> list[str]:
        """What each word of one direction carries."""
        listed = signals.list_parameter(way)
        process = iter([carried(a) for a in mapping(self.format, self.needs) if a.parameter == listed])
        return [word.name if word.kind == "parameter" else next(process) for word in self.format.words(way)]

    @property
    def says(self) -> str:
        """What each word carries."""
        told = (f"{heading}: {', '.join(self.names(way)) or 'nothing'}" for way, heading in WAYS.items())
        return f"{self.format.name}. {'. '.join(told)}."


@dataclass(frozen=True)
class IdentifiersPicture:
    """The first octets bit by bit, each field with what it says."""

    octets: tuple[Octet, ...]

    @property
    def shown(self) -> tuple[Octet, ...]:
        """The octets that have fields, as many as there is room for."""
        return tuple(octet for octet in self.octets if octet.fields)[:_DRAWN] or self.octets[:1]

    @property
    def says(self) -> str:
        """Each octet with what its fields say."""
        return ". ".join(f"16#{o.value:02X} {o.role}: {', '.join(f.meaning for f in o.fields)}" for o in self.shown)


def counted_words(form: DataFormat, way: str) -> str:
    """How many words a format has in one direction, those of the parameter channel apart."""
    process = len(form.process_words(way))
    channel = len(form.words(way)) - process
    plus = f"{channel} words of parameter channel and " if channel else ""
    return f"{plus}{counted(process, 'process data word')}"


def family_answer(family: str) -> Answer:
    """The formats of one family side by side."""
    listed = FAMILIES[family]()
    fixed = [one for one in listed if not one.free_words("out") + one.free_words("in")]
    free = "All words of these formats are fixed." if len(fixed) == len(listed) else ""
    claims = vendor_claims()
    beyond = "PPO 6 and above are no part of the profile: makers use these numbers for different formats."
    return Answer(
        f"{len(listed)} formats, from {min(one.bytes_both for one in listed)} to "
        f"{max(one.bytes_both for one in listed)} bytes in each cycle, both directions together.",
        because=beyond if family.startswith("PPO") else free,
        pictures=[StripsPicture(listed)],
        sources=[f"{one.name}: {one.cited}" for one in listed]
        + [f"{claim.name}: {claim.identifiers.hex(' ').upper()}, {claim.source}" for claim in claims],
    )


# -- one format word by word --------------------------------------------------------------------------


def carried(assignment: Assignment) -> str:
    """What stands in a free word: its signal and which half of it, or “free”."""
    return f"{assignment.signal} {assignment.half}".strip() or "free"


def layout_answer(name: str, needs: tuple[Signal, ...] = ()) -> Answer:
    """One format: its words, its bytes, and the two lists that give the free words their signals."""
    form = by_name(name)
    row = choose.choose(needs, formats=[form]).rows[0]
    lost = [*row.missing_out, *row.missing_in]
    count = {way: form.free_words(way) for way in WAYS}
    free = f"Free words: {count['out']} out, {count['in']} in." if any(count.values()) else "All words are fixed."
    return Answer(
        f"{capital_first(form.name)}: {form.bytes_out} bytes out, {form.bytes_in} bytes in. Identifiers "
        f"{form.identifiers.hex(' ').upper()}." + (f" No room for {', '.join(lost)}." if lost else ""),
        because=free + (f" {capital_first(form.remark)}." if form.remark else ""),
        caution=cautions("changed list") if any(count.values()) and needs else (),
        pictures=[FormatPicture(form, needs)],
        rows=list_rows(form, needs),
        sources=[f"{form.name}: {form.cited}", *(f"list {r['pnu']}: {r.cited}" for r in facts.rows("signal_lists"))],
    )


def list_rows(form: DataFormat, needs: Sequence[Signal]) -> list[Row]:
    """The lists 915 and 916 side by side: form row for each process data word."""
    assigned = mapping(form, needs)
    by_place = {(a.parameter, a.pzd): a for a in assigned}
    rows: list[Row] = []
    for pzd in range(1, max(a.pzd for a in assigned) + 1):
        row: dict[str, object] = {"word": f"PZD {pzd}"}
        for way in WAYS:
            pnu = signals.list_parameter(way)
            assignment = by_place.get((pnu, pzd))
            row[f"{way} (list {pnu})"] = "–" if assignment is None else carried(assignment)
            row[f"number in {pnu}"] = "–" if assignment is None else _number(assignment)
        rows.append(row)
    return rows


def _number(assignment: Assignment) -> str:
    number = "see the manual" if assignment.number is None else str(assignment.number)
    return f"{number} (fixed)" if assignment.fixed else number


# -- identifiers --------------------------------------------------------------------------------------


def identifiers_answer(octets: bytes, other: bytes = b"") -> Answer:
    """What the octets say, and whether the octets set at the other side are the same."""
    found, explained = decode(octets), explain(octets)
    same = [one.name for one in by_identifiers(octets)]
    sentence = (
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
        sentence = f"{sentence} {agrees}"
        rule = facts.one("format_rules", rule="agree")
        because = f"{because} {capital_first(rule['says'])}.".strip()
        sources.insert(0, rule.cited)
    return Answer(
        sentence,
        degree,
        because=because,
        pictures=[IdentifiersPicture(explained)],
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


def _place(number: int, identifier: Identifier) -> Row:
    return {
        "place": str(number),
        "octets": identifier.octets.hex(" ").upper(),
        "form": identifier.form,
        "out": identifier.output.text if identifier.output else "–",
        "in": identifier.input.text if identifier.input else "–",
        "bytes out": identifier.bytes_out,
        "bytes in": identifier.bytes_in,
        "vendor octets": identifier.vendor.hex(" ").upper() or "–",
    }


def build_answer(
    *, out: int, out_unit: str, into: int, in_unit: str, whole: bool = True, vendor: bytes = b""
) -> Answer:
    """The shortest identifier for what one place carries."""
    output = DataArea(out, out_unit, whole) if out else None
    input_ = DataArea(into, in_unit, whole) if into else None
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
        pictures=[IdentifiersPicture(octets)],
        rows=[_place(1, one)],
        sources=[field.source for octet in octets for field in octet.fields],
    )
