"""The acyclic services that carry parameter requests, and the polling until the response is ready.

    written      5F · slot · index 2F · length · request
    confirmed    5F · slot · index 2F · length
    asked        5E · slot · index 2F · length that fits
    refused      DE · 80 · error code 1 · error code 2      while the drive is still working: B5
    read back    5E · slot · index 2F · length · response

Sources: ABB FPBA-01 manual p.100 and p.103, SEW manual DH.41B p.79, Stöber manual p.48. One request at a time:
the next one is written when the response to the first has been read.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers import facts
from helpers.drive.parameters import acyclic
from helpers.drive.parameters.access import check, profile_parameter
from helpers.drive.parameters.acyclic import Request, Response
from helpers.errors import Unreadable, in_range, one_of

READ, WRITE = (facts.one("acyclic_codes", field="function", name=name).whole("code") for name in ("read", "write"))
REFUSED = 0x80  # a refusal bears the function with bit 7 set
DATA_RECORD = facts.one("acyclic_codes", field="index").whole("code")
DECODE = facts.one("acyclic_codes", field="error decode").whole("code")
HEADER = 4
STILL_WORKING = facts.one("acyclic_service_errors", meaning="state conflict").whole("code")


@dataclass(frozen=True)
class Service:
    """An acyclic service: function 5E or 5F, slot, index of the data record, length, and the data if it bears any."""

    function: int
    slot: int
    length: int
    data: bytes = b""
    index: int = DATA_RECORD


@dataclass(frozen=True)
class ServiceRefusal:
    """A refused service: function DE or DF, error decode, error codes 1 and 2."""

    function: int
    code_1: int
    code_2: int = 0
    decode: int = DECODE


@dataclass(frozen=True)
class OctetPart:
    """One line of an explanation: where it stands (octet 1 is the first), the octets, and what they mean."""

    first: int
    octets: str
    meaning: str


@dataclass(frozen=True)
class ServiceTelegram:
    """One telegram of a dialogue: who sends, its octets, and what happens."""

    sender: str
    octets: bytes
    sentence: str


def encode(service: Service | ServiceRefusal) -> bytes:
    """The octets of a service.

    >>> encode(written(Request("read", (acyclic.Address(110),), reference=37), slot=2)).hex(" ").upper()
    '5F 02 2F 0A 25 01 01 01 10 00 00 6E 00 00'
    """
    if isinstance(service, ServiceRefusal):
        one_of("function", service.function, (READ | REFUSED, WRITE | REFUSED))
        for octet in (service.decode, service.code_1, service.code_2):
            in_range("error octet", octet, 0, 0xFF, source="one octet")
        return bytes((service.function, service.decode, service.code_1, service.code_2))
    one_of("function", service.function, (READ, WRITE))
    in_range("slot", service.slot, 0, 0xFF, source="one octet")
    in_range("index", service.index, 0, 0xFF, source="one octet")
    check("octets per request or response", service.length)
    if service.data and len(service.data) != service.length:
        raise Unreadable(f"length says {service.length} octets, {len(service.data)} follow.")
    return bytes((service.function, service.slot, service.index, service.length)) + service.data


def decode(octets: bytes) -> Service | ServiceRefusal:
    """The fields of a service. A length that does not count the octets that follow is `Unreadable`.

    >>> decode(bytes.fromhex("DE80B500"))
    ServiceRefusal(function=222, code_1=181, code_2=0, decode=128)
    """
    if len(octets) < HEADER:
        raise Unreadable(f"an acyclic service has at least {HEADER} octets; got {len(octets)}.")
    function, second, third, fourth = octets[:HEADER]
    if function in (READ | REFUSED, WRITE | REFUSED):
        if len(octets) > HEADER:
            raise Unreadable(f"a refusal has {HEADER} octets; got {len(octets)}.")
        return ServiceRefusal(function, third, fourth, second)
    if function not in (READ, WRITE):
        raise Unreadable(f"function is 16#{function:02X}; known are 16#5E, 16#5F, 16#DE and 16#DF.")
    data = octets[HEADER:]
    if data and len(data) != fourth:
        raise Unreadable(f"length says {fourth} octets (16#{fourth:02X}), {len(data)} (16#{len(data):02X}) follow.")
    return Service(function, second, fourth, data, third)


def written(request: Request, *, slot: int = 0) -> Service:
    """The service that writes a request."""
    data = acyclic.encode_request(request)
    return Service(WRITE, slot, len(data), data)


def asked(*, slot: int = 0, length: int = 240) -> Service:
    """The service that asks for the response; length: how many octets the controller has room for."""
    return Service(READ, slot, length)


def read_back(response: Response, *, slot: int = 0) -> Service:
    """The service that brings the response."""
    data = acyclic.encode_response(response)
    return Service(READ, slot, len(data), data)


def refusal_meaning(refused: ServiceRefusal) -> str:
    """What a refused service means, in a sentence.

    >>> refusal_meaning(ServiceRefusal(0xDE, 0xB5))
    'Read refused, error B5 (access: state conflict): the drive is still working on the request: read again.'
    """
    if refused.decode != DECODE:
        return (
            f"The octet before the error code is {refused.decode:02X}, not {DECODE:02X}: our table does not tell this "
            "code; look it up in the drive's manual."
        )
    kind = "Read" if refused.function == READ | REFUSED else "Write"
    row = service_error(refused.code_1)
    if row is None:
        return f"{kind} refused, error {refused.code_1:02X}: not in the table; look it up in the drive's manual."
    use = f": {row['with_parameters']}" if row.has("with_parameters") else ""
    return f"{kind} refused, error {refused.code_1:02X} ({row['class']}: {row['meaning']}){use}."


def service_error(code: int) -> facts.Fact | None:
    """The row of error code 1 of a refused service; None if the table has none.

    >>> service_error(0xB5)["meaning"]
    'state conflict'
    """
    return next((row for row in facts.rows("acyclic_service_errors") if row.whole("code") == code), None)


def poll(request: Request, response: Response, *, slot: int = 0, refusals: int = 1) -> tuple[ServiceTelegram, ...]:
    """The telegrams of one request: written, confirmed, asked until the drive is ready, read back.

    Parameters: refusals, how often the drive is still working when it is asked.

    >>> [e.octets[:1].hex() for e in poll(Request("read", (acyclic.Address(918),)), \
Response("change", False, 1), refusals=1)]
    ['5f', '5f', '5e', 'de', '5e', '5e']
    """
    in_range("refusals", refusals, 0, 10_000)
    write = written(request, slot=slot)
    ask = encode(asked(slot=slot))
    busy = ServiceRefusal(READ | REFUSED, STILL_WORKING)
    polls = []
    for _ in range(refusals):
        polls.append(ServiceTelegram("controller", ask, "Is the response ready?"))
        polls.append(ServiceTelegram("drive", encode(busy), refusal_meaning(busy)))
    verdict = acyclic.belongs(request, response) or "The response belongs to the request."
    return (
        ServiceTelegram("controller", encode(write), f"Writes the request to {request.kind}."),
        ServiceTelegram(
            "drive", encode(Service(WRITE, slot, write.length)), "Confirms the write; no parameter data yet."
        ),
        *polls,
        ServiceTelegram("controller", ask, "Is the response ready?"),
        ServiceTelegram("drive", encode(read_back(response, slot=slot)), verdict),
    )


def explain(octets: bytes) -> tuple[OctetPart, ...]:
    """An acyclic service and the request or response in it, part by part, in the order of the octets.

    A write bears a request, a read bears a response.

    >>> [part.meaning for part in explain(bytes.fromhex("5E022F082501010106010050"))][-1]
    'parameter 1: Unsigned16: 80'
    """
    service = decode(octets)
    if isinstance(service, ServiceRefusal):
        return (OctetPart(1, octets.hex(" ").upper(), refusal_meaning(service)),)
    action = "write" if service.function == WRITE else "read"
    pieces = [
        (1, f"{action} a data record"),
        (1, "slot " + str(service.slot)),
        (1, "data record 47: parameter requests" if service.index == DATA_RECORD else f"data record {service.index}"),
        (1, f"length: {service.length} octets" + ("" if service.data else ", none follow")),
    ]
    if service.data and service.index == DATA_RECORD:
        pieces += _of_request(service.data) if service.function == WRITE else _of_response(service.data)
    elif service.data:
        pieces.append((len(service.data), "data"))
    parts, at = [], 0
    for size, meaning in pieces:
        parts.append(OctetPart(at + 1, octets[at : at + size].hex(" ").upper(), meaning))
        at += size
    return tuple(parts)


def _of_request(data: bytes) -> list[tuple[int, str]]:
    request = acyclic.decode_request(data)
    pieces = [
        (1, f"request reference {request.reference}; the response repeats it"),
        (1, f"{request.kind} parameters"),
        (1, _axis(request.axis)),
        (1, f"number of parameters: {len(request.addresses)}"),
    ]
    for address in request.addresses:
        known = profile_parameter(address.number)
        name = f" ({known.name})" if known else ""
        elements = f"elements: {address.elements}, from subindex {address.subindex}" if address.elements else "no array"
        pieces.append(
            (acyclic.ADDRESS, f"{_attribute(address.attribute)} of parameter {address.number}{name}, {elements}")
        )
    pieces += [(len(acyclic.encode_values(v)), f"value {n}: {v.sentence}") for n, v in enumerate(request.values, 1)]
    return pieces


def _of_response(data: bytes) -> list[tuple[int, str]]:
    response = acyclic.decode_response(data)
    outcome = "at least one failed" if response.failed else "all done"
    return [
        (1, f"request reference {response.reference}"),
        (1, f"{response.kind} parameters: {outcome}"),
        (1, _axis(response.axis)),
        (1, f"number of parameters: {response.count}"),
        *((len(acyclic.encode_values(v)), f"parameter {n}: {v.sentence}") for n, v in enumerate(response.values, 1)),
    ]


def _axis(axis: int) -> str:
    return "the device itself" if axis == 0 else f"axis {axis}"


def _attribute(code: int) -> str:
    return acyclic.attributes().get(code, f"attribute 16#{code:02X}")
