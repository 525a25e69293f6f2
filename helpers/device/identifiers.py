"""Configuration identifiers: the octets that tell how many words a station exchanges, both ways.

The controller sends them when a station starts (Chk_Cfg); the station compares them with its own
format and refuses data exchange if they differ.

Direction is as the controller sees it: **input** goes from the drive to the controller, **output**
from the controller to the drive.

An identifier has one of two forms. A *compact byte* says direction, length, unit and consistency in
one octet. The *special format* begins with a header, then one length octet for each direction, then
octets whose meaning belongs to the maker; it may also mark an empty place. The bits are rows of
`data/identifier_bits.csv`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.errors import OutOfRange, Unreadable, in_range, one_of

BYTES_PER = {"byte": 1, "word": 2}

# The names in data/identifier_bits.csv for which directions an octet holds: (output, input).
_DIRECTIONS = {"empty": (False, False), "in": (False, True), "out": (True, False), "both": (True, True)}


@dataclass(frozen=True)
class DataArea:
    """The data of one direction under one identifier.

    `count` bytes or words (`unit`); `whole` says that the area belongs together. If it is not whole,
    each byte or word is still whole in itself.
    """

    count: int
    unit: str = "word"
    whole: bool = True

    @property
    def length_bytes(self) -> int:
        """Length in bytes; a word has two."""
        return self.count * BYTES_PER[self.unit]

    @property
    def text(self) -> str:
        """The area for a person, for example `4 words, whole`."""
        unit = self.unit if self.count == 1 else f"{self.unit}s"
        return f"{self.count} {unit}, {'whole' if self.whole else f'each {self.unit} for itself'}"


@dataclass(frozen=True)
class Identifier:
    """One identifier: one place of the device, with what it carries in each direction.

    `form` is `compact` or `special`. `vendor` holds the maker's octets of a special format. A header can
    say "no vendor octets" in two ways; `withheld` marks the second one, so that nothing is lost.
    """

    form: str
    output: DataArea | None = None
    input: DataArea | None = None
    vendor: bytes = b""
    withheld: bool = False

    @property
    def bytes_out(self) -> int:
        """Bytes from the controller to the drive."""
        return self.output.length_bytes if self.output else 0

    @property
    def bytes_in(self) -> int:
        """Bytes from the drive to the controller."""
        return self.input.length_bytes if self.input else 0

    @property
    def octets(self) -> bytes:
        """The octets of this identifier alone."""
        return encode([self])

    @property
    def text(self) -> str:
        """The identifier for a person.

        >>> decode(bytes.fromhex("C3 C1 C1 FD 00 01")).identifiers[0].text
        'output and input 2 words, whole; vendor octets FD 00 01'
        """
        if self.output and self.output == self.input:
            parts = [f"output and input {self.output.text}"]
        else:
            parts = [f"{name} {area.text}" for name, area in (("output", self.output), ("input", self.input)) if area]
        if not parts:
            parts = ["empty place"]
        if self.vendor:
            parts.append(f"vendor octets {self.vendor.hex(' ').upper()}")
        return "; ".join(parts)


@dataclass(frozen=True)
class Configuration:
    """All identifiers of one station, in the order of its places."""

    identifiers: tuple[Identifier, ...]

    @property
    def places(self) -> int:
        """Number of places; an empty place counts."""
        return len(self.identifiers)

    @property
    def bytes_out(self) -> int:
        """Bytes from the controller to the drive in each cycle."""
        return sum(one.bytes_out for one in self.identifiers)

    @property
    def bytes_in(self) -> int:
        """Bytes from the drive to the controller in each cycle."""
        return sum(one.bytes_in for one in self.identifiers)

    @property
    def octets(self) -> bytes:
        """The octets of the whole configuration."""
        return encode(self.identifiers)

    @property
    def complaints(self) -> tuple[str, ...]:
        """What does not go on the bus: a sentence for each direction that is too long; empty if none is.

        Each direction has its own limit; the most generous source decides (`data/cyclic_lengths.csv`).
        """
        limit = facts.most(facts.where("cyclic_lengths", what="cyclic data"), "most_octets")
        return tuple(
            f"{name} is {length} bytes; allowed is 0 to {limit.last:g} bytes ({limit.cited})."
            for name, length in (("output", self.bytes_out), ("input", self.bytes_in))
            if length > limit.last
        )


def decode(octets: bytes) -> Configuration:
    """What a station's configuration identifiers say.

    Parameters: octets, all identifiers one after the other, at most the length that one telegram takes.
    Return: a `Configuration`; `.octets` gives the same octets back.
    Errors: `Unreadable` if the last identifier is cut off; `OutOfRange` if there are
    no octets or too many. A configuration whose data is too long for the bus is decoded; see `complaints`.
    Sources: M. Felser, PROFIBUS Manual, compact format; WAGO 750-833 manual p.79, special format; Pilz ST SB DP S
    manual p.4-9, length octet of the special format.

    >>> found = decode(bytes.fromhex("F3 F5"))
    >>> found.places, found.bytes_out, found.bytes_in
    (2, 20, 20)
    """
    _check_length(len(octets))
    identifiers: list[Identifier] = []
    at = 0
    while at < len(octets):
        one, at = _take(octets, at, len(identifiers) + 1)
        identifiers.append(one)
    return Configuration(tuple(identifiers))


@dataclass(frozen=True)
class IdentifierField:
    """One field of an octet: its name, its highest and lowest bit, the number in it, and what that means."""

    name: str
    high_bit: int
    low_bit: int
    value: int
    meaning: str
    source: str


@dataclass(frozen=True)
class Octet:
    """One octet of a configuration: its place (from 1), its role, and its fields, bit 7 first.

    `role` is `compact byte`, `header`, `length of output`, `length of input` or `vendor octet`; only the last has
    no fields, because its meaning is the maker's.
    """

    value: int
    place: int
    role: str
    fields: tuple[IdentifierField, ...]


def explain(octets: bytes) -> tuple[Octet, ...]:
    """Every octet of a configuration, field by field. Parameters and errors as for `decode`.

    >>> [(field.name, field.value, field.meaning) for field in explain(bytes.fromhex("F1"))[0].fields][2:]
    [('direction', 3, 'output and input of the same length'), ('length', 1, '1 + 1 = 2 words')]
    """
    explained: list[Octet] = []
    for place, one in enumerate(decode(octets).identifiers, 1):
        lengths = ["length of output"] * bool(one.output) + ["length of input"] * bool(one.input)
        roles = ["compact byte"] if one.form == "compact" else ["header", *lengths]
        roles += ["vendor octet"] * len(one.vendor)
        explained += [Octet(n, place, role, _explained(role, n)) for role, n in zip(roles, one.octets, strict=True)]
    return tuple(explained)


@cache
def _explained(role: str, octet: int) -> tuple[IdentifierField, ...]:
    if role == "vendor octet":
        return ()
    form = {"compact byte": "compact", "header": "special"}.get(role, "length")
    names = dict.fromkeys(row["field"] for row in facts.where("identifier_bits", form=form))
    fields = []
    for name in names:
        value, code = _value(form, name, octet), _code(form, name, octet)
        row = next(row for row in _fields(form, name) if row["code"] == code)
        meaning = row["meaning"]
        if name == "length":
            unit = _code(form, "unit", octet)
            meaning = f"{value} + 1 = {value + 1} {unit if value == 0 else f'{unit}s'}"
        elif code == "count":
            meaning = f"{value} vendor octet{'s follow' if value > 1 else ' follows'}"
        fields.append(IdentifierField(name, row.whole("high_bit"), row.whole("low_bit"), value, meaning, row.cited))
    return tuple(fields)


def encode(identifiers: Iterable[Identifier]) -> bytes:
    """The octets of identifiers, one after the other.

    Parameters: identifiers, in the order of the places. Return: octets.
    Errors: `OutOfRange` for a length or a number of vendor octets that the form can't hold, or a
    configuration that one telegram can't; `Unreadable` for a compact byte that would have to carry vendor
    octets or two different areas; `Unknown` for a form or a unit that does not exist.
    Source: see `decode`.

    >>> four, two = (Identifier("compact", output=DataArea(n), input=DataArea(n)) for n in (4, 2))
    >>> encode([four, two]).hex(" ")
    'f3 f1'
    """
    octets = b"".join(_put(one) for one in identifiers)
    _check_length(len(octets))
    return octets


def shortest(output: DataArea | None = None, input: DataArea | None = None, vendor: bytes = b"") -> Identifier:
    """The shortest identifier for what one place carries: a compact byte if that can hold it.

    Parameters: output and input, the area of each direction, None for none; vendor, the maker's octets.
    Return: an `Identifier` in the compact or the special form. Errors: `OutOfRange` as in `encode`.

    >>> shortest(output=DataArea(2), input=DataArea(3)).octets.hex(" ")
    'c0 c1 c2'
    >>> shortest(input=DataArea(2, "byte", whole=False)).octets.hex(" ")
    '11'
    """
    one = Identifier("special", output, input, vendor)
    areas = {area for area in (output, input) if area}
    highest = length_limit("compact")
    if len(areas) == 1 and not vendor and all(area.count <= highest for area in areas):
        one = Identifier("compact", output, input)
    encode([one])
    return one


def octets_from_text(text: str) -> bytes:
    """Octets as people write them: `F3 F1`, `0xF3,0xF1`, `16#F3 16#F1`, `F3h F1h`, `F3F1`.

    Errors: `Unreadable` for anything else.

    >>> octets_from_text("0xF3, 0xF1").hex(" ")
    'f3 f1'
    """
    parts = [part for part in re.split(r"[\s,;]+", text) if part]
    digits = [re.sub(r"^(0x|([bw]#)?16#|\$|&h)|h$", "", part, flags=re.IGNORECASE) for part in parts]
    if not digits or not all(re.fullmatch(r"([0-9a-fA-F]{2})+", one) for one in digits):
        raise Unreadable(
            f"{text.strip()[:60]!r} is not a row of octets; write two hexadecimal digits for each, for example F3 F1."
        )
    return bytes.fromhex("".join(digits))


def as_written(octets: bytes) -> str:
    """Identifiers as people write them, so that nobody takes them for numbers of bytes: `16#11 16#21`."""
    return " ".join(f"16#{octet:02X}" for octet in octets)


def _check_length(octets: int) -> None:
    limit = facts.one("cyclic_lengths", what="configuration")
    least, most = limit.whole("least_octets"), limit.whole("most_octets")
    in_range("number of configuration octets", octets, least, most, source=limit.cited)


def _take(octets: bytes, at: int, place: int) -> tuple[Identifier, int]:
    """The identifier that begins at index `at`, and the index behind it."""
    first = octets[at]
    direction = _code("compact", "direction", first)
    if direction != "special":
        area = _area("compact", first)
        holds_out, holds_in = _DIRECTIONS[direction]
        return Identifier("compact", area if holds_out else None, area if holds_in else None), at + 1

    holds_out, holds_in = _DIRECTIONS[_code("special", "direction", first)]
    lengths = holds_out + holds_in
    vendor_code = _code("special", "vendor", first)
    vendors = _value("special", "vendor", first) if vendor_code == "count" else 0
    rest = octets[at + 1 : at + 1 + lengths + vendors]
    if len(rest) < lengths + vendors:
        header = _fields("special", "vendor")[0]
        raise Unreadable(
            f"place {place}: the header 16#{first:02X} announces {lengths} length octets and {vendors} vendor octets; "
            f"allowed is {lengths + vendors} octets or more behind it, got {len(rest)} ({header.cited})."
        )
    areas = iter([_area("length", octet) for octet in rest[:lengths]])
    output = next(areas) if holds_out else None
    return Identifier(
        "special",
        output,
        next(areas) if holds_in else None,
        vendor=rest[lengths:],
        withheld=vendor_code == "withheld",
    ), at + 1 + lengths + vendors


def _put(one: Identifier) -> bytes:
    """The octets of one identifier."""
    one_of("form of an identifier", one.form, ("compact", "special"))
    direction = next(name for name, held in _DIRECTIONS.items() if held == (bool(one.output), bool(one.input)))
    areas = [area for area in (one.output, one.input) if area]
    if one.form == "compact":
        if direction == "empty" or one.vendor or one.withheld or len(set(areas)) != 1:
            source = _fields("compact", "direction")[0].cited
            raise Unreadable(
                f"a compact byte can't hold {one.text}; allowed is output, input or both with the same area, and no "
                f"vendor octets ({source}). Use the special form."
            )
        return bytes([_octet("compact", direction=direction) | _area_octet("compact", areas[0])])

    most_vendor = max(row.whole("last") for row in _fields("special", "vendor") if row["code"] == "count")
    in_range(
        "number of vendor octets",
        len(one.vendor),
        0,
        0 if one.withheld else most_vendor,
        source=_fields("special", "vendor")[0].cited,
    )
    vendor = len(one.vendor) if one.vendor else _octet("special", vendor="withheld" if one.withheld else "none")
    header = _octet("special", direction=direction, marker="special") | vendor
    return bytes([header, *(_area_octet("length", area) for area in areas)]) + one.vendor


@cache
def _area(form: str, octet: int) -> DataArea:
    return DataArea(
        _value(form, "length", octet) + 1,  # the octet holds the length less one
        _code(form, "unit", octet),
        _code(form, "consistency", octet) == "whole",
    )


def _area_octet(form: str, area: DataArea) -> int:
    one_of("unit of an area", area.unit, BYTES_PER)
    source = _fields(form, "length")[0].cited
    in_range(f"length in {area.unit}s", area.count, 1, length_limit(form), source=source)
    if area.count != int(area.count):
        raise OutOfRange(f"length is {area.count} {area.unit}s; allowed are whole numbers ({source}).")
    return _octet(form, unit=area.unit, consistency="whole" if area.whole else "each") | (int(area.count) - 1)


def length_limit(form: str) -> int:
    """How many bytes, or words, one area holds: a `compact` byte, or a `length` octet of the special format."""
    return _fields(form, "length")[0].whole("last") + 1


@cache
def _fields(form: str, field: str) -> tuple[facts.Fact, ...]:
    return facts.where("identifier_bits", form=form, field=field)


@cache
def _value(form: str, field: str, octet: int) -> int:
    """The number that stands in a field of an octet."""
    row = _fields(form, field)[0]
    high, low = row.whole("high_bit"), row.whole("low_bit")
    return (octet >> low) & ((1 << (high - low + 1)) - 1)


@cache
def _code(form: str, field: str, octet: int) -> str:
    """The name of what stands in a field of an octet. The rows of a field cover every value."""
    value = _value(form, field, octet)
    return next(row["code"] for row in _fields(form, field) if row.whole("first") <= value <= row.whole("last"))


def _octet(form: str, **codes: str) -> int:
    """An octet with the named codes in its fields and zero elsewhere."""
    octet = 0
    for field, code in codes.items():
        row = next(row for row in _fields(form, field) if row["code"] == code)
        octet |= row.whole("first") << row.whole("low_bit")
    return octet
