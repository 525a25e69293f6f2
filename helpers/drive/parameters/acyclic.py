"""Acyclic parameter requests: the block that is written to data record 47, and the one that is read back.

    request     reference · 01 read or 02 change · axis · number of parameters
                then for each parameter: attribute · number of elements · parameter number · subindex
                then, for a change, for each parameter: format · number of values · values
    response    reference · 01/02 good or 81/82 failed · axis · number of parameters
                then for each parameter: format · number of values · values, or format 44 and the error number

Values of an odd number of octets are filled up with 00. A change that succeeds altogether is answered by the
header alone. Sources: Eaton manual MN040010EN p.94, ABB RETA-02 manual p.84. Octets run high byte first.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.drive.parameters.access import check, refusal
from helpers.errors import Unknown, Unreadable, WorkbookError, in_range, one_of

HEADER = 4
ADDRESS = 6
ZERO, ERROR = (facts.one("acyclic_formats", name=name).whole("code") for name in ("Zero", "Error"))
FAILED = 0x80
_REQUESTS = {row["name"]: row.whole("code") for row in facts.where("acyclic_codes", field="request")}
_RESPONSES = tuple(row.whole("code") for row in facts.where("acyclic_codes", field="response"))
KINDS = tuple(_REQUESTS)


@dataclass(frozen=True)
class ValueFormat:
    """How a value is coded: octets per value, and its kind (unsigned, signed, float, text)."""

    code: int
    name: str
    octets: int
    kind: str
    remark: str
    source: str
    standing: str


@dataclass(frozen=True)
class Address:
    """Which parameter: number, first subindex, number of elements (0: no array), attribute (16#10: value)."""

    number: int
    subindex: int = 0
    elements: int = 0
    attribute: int = 0x10


@dataclass(frozen=True)
class ParameterValues:
    """The values of one parameter: format code and raw values, unsigned as they stand in the octets."""

    format: int
    raw: tuple[int, ...] = ()

    @property
    def readable(self) -> tuple[int | float | str, ...]:
        """The values as numbers or characters, by their format.

        >>> ParameterValues(0x03, (0xFFFE,)).readable
        (-2,)
        """
        known = format_of(self.format)
        return tuple(_readable(value, known) for value in self.raw)

    @property
    def error(self) -> int | None:
        """The error number, if the parameter failed."""
        return self.raw[0] if self.format == ERROR and self.raw else None

    @property
    def sentence(self) -> str:
        """ValueFormat and values, or the refusal, for a person.

        >>> ParameterValues(0x42, (3,)).sentence
        'Word: 3'
        """
        if self.error is not None:
            told = refusal(self.error, acyclic=True)
            about = f" It concerns subindex {self.raw[1]}." if told.with_subindex and len(self.raw) > 1 else ""
            return told.sentence + about
        known = format_of(self.format)
        if known.kind == "text":
            return f"{known.name}: {''.join(map(str, self.readable))!r}"
        return f"{known.name}: {', '.join(f'{value:g}' for value in self.readable) or 'no value'}"


@dataclass(frozen=True)
class Request:
    """A parameter request. `values` is empty for a read, one for each address for a change."""

    kind: str
    addresses: tuple[Address, ...]
    values: tuple[ParameterValues, ...] = ()
    reference: int = 1
    axis: int = 1

    def __post_init__(self) -> None:
        one_of("kind of request", self.kind, KINDS)
        _counted("request", self.values, len(self.addresses) if self.kind == "change" else 0)


@dataclass(frozen=True)
class Response:
    """A parameter response. `count` is the number of parameters; `values` is empty after a change that succeeded."""

    kind: str
    failed: bool
    count: int
    values: tuple[ParameterValues, ...] = ()
    reference: int = 1
    axis: int = 1

    def __post_init__(self) -> None:
        one_of("kind of response", self.kind, KINDS)
        _counted("response", self.values, self.count if self.failed or self.kind == "read" else 0)


def _counted(what: str, groups: tuple[ParameterValues, ...], wanted: int) -> None:
    if len(groups) != wanted:
        raise WorkbookError(f"this {what} has {wanted} groups of values; got {len(groups)}.")


@cache
def formats() -> tuple[ValueFormat, ...]:
    """The formats of values, by code.

    >>> [f.name for f in formats() if f.code == 0x42]
    ['Word']
    """
    return tuple(
        ValueFormat(
            row.whole("code"),
            row["name"],
            row.whole("octets"),
            row["kind"],
            row["remark"],
            row.source,
            row.standing,
        )
        for row in facts.rows("acyclic_formats")
    )


@cache
def attributes() -> dict[int, str]:
    """The attributes that can be asked for, by code.

    >>> attributes()[0x10]
    'value'
    """
    return {row.whole("code"): row["name"] for row in facts.where("acyclic_codes", field="attribute")}


@cache
def format_of(code: int | str) -> ValueFormat:
    """The format of a code or of a name; `Unknown` for one that is reserved.

    >>> format_of("Integer16").code
    3
    """
    for known in formats():
        if code in (known.code, known.name):
            return known
    shown = f"16#{code:02X}" if isinstance(code, int) else repr(code)
    raise Unknown(f"format {shown} is not one whose length is known; known are {', '.join(f.name for f in formats())}.")


def values(format: int | str, numbers: Iterable[float | str]) -> ParameterValues:
    """Values to be written, from numbers or, for a text, from its characters.

    >>> values("Integer16", [-2])
    ParameterValues(format=3, raw=(65534,))
    >>> values("VisibleString", "Fan").sentence
    "VisibleString: 'Fan'"
    """
    known = format_of(format)
    return ParameterValues(known.code, tuple(_raw(number, known) for number in numbers))


def encode_request(request: Request) -> bytes:
    """The octets of a request, without the header of the acyclic service.

    >>> encode_request(Request("read", (Address(110),), reference=37)).hex(" ").upper()
    '25 01 01 01 10 00 00 6E 00 00'
    """
    head = _header(request.reference, _REQUESTS[request.kind], request.axis, len(request.addresses))
    octets = head + b"".join(map(_encode_address, request.addresses)) + b"".join(map(encode_values, request.values))
    check("octets per request or response", len(octets))
    return octets


def decode_request(octets: bytes) -> Request:
    """The fields of a request; `Unreadable` says at which octet it breaks off.

    >>> decode_request(bytes.fromhex("250101011000006E0000")).addresses
    (Address(number=110, subindex=0, elements=0, attribute=16),)
    """
    reference, code, axis, count = _head(octets)
    kind = next((name for name, known in _REQUESTS.items() if known == code), "")
    if not kind:
        raise Unreadable(f"request identifier is {code}; known are 1 (read) and 2 (change).")
    end = HEADER + count * ADDRESS
    if len(octets) < end:
        raise Unreadable(f"{count} parameters need {end} octets for their addresses; got {len(octets)}.")
    addresses = tuple(_decode_address(octets[at : at + ADDRESS]) for at in range(HEADER, end, ADDRESS))
    groups = decode_values(octets[end:], count if kind == "change" else 0)
    return Request(kind, addresses, groups, reference, axis)


def encode_response(response: Response) -> bytes:
    """The octets of a response, without the header of the acyclic service.

    >>> encode_response(Response("change", False, 1, reference=37)).hex(" ").upper()
    '25 02 01 01'
    """
    code = _REQUESTS[response.kind] | (FAILED if response.failed else 0)
    head = _header(response.reference, code, response.axis, response.count)
    octets = head + b"".join(map(encode_values, response.values))
    check("octets per request or response", len(octets))
    return octets


def decode_response(octets: bytes) -> Response:
    """The fields of a response; `Unreadable` says where it breaks off.

    >>> decode_response(bytes.fromhex("2501010106010050")).values[0].readable
    (80,)
    """
    reference, code, axis, count = _head(octets)
    if code not in _RESPONSES:
        raise Unreadable(f"response identifier is 16#{code:02X}; known are 16#01, 16#02, 16#81 and 16#82.")
    failed = bool(code & FAILED)
    kind = next(name for name, known in _REQUESTS.items() if known == code & ~FAILED)
    groups = decode_values(octets[HEADER:], 0 if kind == "change" and not failed else count)
    return Response(kind, failed, count, groups, reference, axis)


def encode_values(group: ParameterValues) -> bytes:
    """ValueFormat, number of values, values; filled up with 00 to an even number of octets."""
    known = format_of(group.format)
    in_range("number of values", len(group.raw), 0, 0xFF, source="one octet")
    for value in group.raw:
        in_range("value", value, 0, (1 << 8 * known.octets) - 1, source=f"{known.name} has {known.octets} octets")
    octets = bytes((group.format, len(group.raw))) + b"".join(v.to_bytes(known.octets, "big") for v in group.raw)
    return octets + bytes(len(octets) % 2)


def decode_values(octets: bytes, count: int) -> tuple[ParameterValues, ...]:
    """That many groups of values; `Unreadable` if the octets end too early or too late."""
    groups: list[ParameterValues] = []
    at = 0
    for n in range(1, count + 1):
        if len(octets) < at + 2:
            raise Unreadable(f"the octets end before the values of parameter {n} of {count}.")
        known, size = format_of(octets[at]), octets[at + 1]
        first, end = at + 2, at + 2 + size * known.octets
        at = end + end % 2
        if len(octets) < at:
            raise Unreadable(
                f"parameter {n} of {count} has {size} values of {known.octets} octets ({known.name}); "
                f"{len(octets) - first} octets are left."
            )
        width = known.octets
        raw = tuple(int.from_bytes(octets[first + i * width : first + (i + 1) * width], "big") for i in range(size))
        groups.append(ParameterValues(known.code, raw))
    if len(octets) > at:
        raise Unreadable(f"{len(octets) - at} octets are left over after the values of {count} parameters.")
    return tuple(groups)


def belongs(request: Request, response: Response) -> str:
    """Empty if the response belongs to the request, else a sentence why not.

    >>> belongs(Request("read", (Address(918),), reference=9), Response("change", False, 1, reference=8))
    'The response bears reference 8, the request 9: it is the answer to another request.'
    """
    if response.reference != request.reference:
        return (
            f"The response bears reference {response.reference}, the request {request.reference}: "
            "it is the answer to another request."
        )
    if (response.kind, response.axis) != (request.kind, request.axis):
        return (
            f"The response is to {response.kind} on axis {response.axis}, the request to {request.kind} "
            f"on axis {request.axis}."
        )
    if response.count != len(request.addresses):
        return f"The response is on {response.count} parameters, the request on {len(request.addresses)}."
    return ""


def _header(reference: int, code: int, axis: int, count: int) -> bytes:
    check("request reference", reference)
    check("axis", axis)
    check("parameters per request", count)
    return bytes((reference, code, axis, count))


def _head(octets: bytes) -> bytes:
    if len(octets) < HEADER:
        raise Unreadable(f"a parameter request or response has at least {HEADER} octets; got {len(octets)}.")
    return octets[:HEADER]


def _encode_address(address: Address) -> bytes:
    one_of("attribute", address.attribute, attributes())
    check("elements per parameter", address.elements)
    check("parameter number, acyclic", address.number)
    check("subindex, acyclic", address.subindex)
    return struct.pack(">BBHH", address.attribute, address.elements, address.number, address.subindex)


def _decode_address(octets: bytes) -> Address:
    attribute, elements, number, subindex = struct.unpack(">BBHH", octets)
    return Address(number, subindex, elements, attribute)


def _readable(value: int, known: ValueFormat) -> int | float | str:
    if known.kind == "signed" and value >> (8 * known.octets - 1):
        return value - (1 << 8 * known.octets)
    if known.kind == "float":
        return float(struct.unpack(">f", value.to_bytes(4, "big"))[0])
    return chr(value) if known.kind == "text" else value


def _raw(number: float | str, known: ValueFormat) -> int:
    if isinstance(number, str):
        if known.kind != "text":
            raise Unreadable(f"{number!r} is a text; {known.name} carries numbers.")
        in_range("character", ord(number), 0, 0xFF, source="one octet per character")
        return ord(number)
    if known.kind == "float":
        try:
            return int.from_bytes(struct.pack(">f", number), "big")
        except OverflowError:
            raise Unreadable(f"{number} is too large for a Float of four octets (IEEE 754).") from None
    if not math.isfinite(number) or number != int(number):
        raise Unreadable(f"{number} is not whole; {known.name} carries whole numbers.")
    low = -(1 << 8 * known.octets - 1) if known.kind == "signed" else 0
    high = (1 << 8 * known.octets - (known.kind == "signed")) - 1
    in_range("value", number, low, high, source=known.name)
    return int(number) & ((1 << 8 * known.octets) - 1)
