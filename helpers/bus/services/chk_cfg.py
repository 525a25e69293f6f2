"""Chk_Cfg and Get_Cfg: the configuration that the controller sends, and the one that the station has.

Both hold configuration identifiers and nothing else; what an identifier says is told by `helpers.device.identifiers`.
A station accepts Chk_Cfg if its identifiers are its own; else it reports Cfg_Fault and exchanges no data.
"""

from __future__ import annotations

from itertools import zip_longest

from helpers.bus.services.bits import OctetLine
from helpers.device import identifiers
from helpers.device.identifiers import Configuration, Identifier

decode = identifiers.decode


def encode(configuration: Configuration) -> bytes:
    """The octets of Chk_Cfg or of the answer to Get_Cfg.

    >>> encode(decode(bytes.fromhex("F3 F1"))).hex(" ").upper()
    'F3 F1'
    """
    return configuration.octets


def explain(octets: bytes) -> tuple[OctetLine, ...]:
    """Every octet of a configuration, one line each. Raises as `identifiers.decode`.

    >>> for line in explain(bytes.fromhex("F3")):
    ...     print(line.name, "–", line.meaning)
    place 1, compact byte – output and input 4 words, whole
    """
    lines = []
    places = decode(octets).identifiers
    for n, octet in enumerate(identifiers.explain(octets), 1):
        last = octet.fields[-1].source if octet.fields else ""
        name = f"place {octet.place}, {octet.role}"
        lines.append(OctetLine(n, bytes((octet.value,)), name, _meaning(octet, places[octet.place - 1]), last))
    return tuple(lines)


def _meaning(octet: identifiers.Octet, place: Identifier) -> str:
    if octet.role in ("compact byte", "header"):
        return place.text
    if octet.role == "vendor octet":
        return "the maker gives it its meaning"
    area = place.output if octet.role.endswith("output") else place.input
    return area.text if area else ""


def summary(octets: bytes) -> str:
    """A configuration in one line.

    >>> summary(bytes.fromhex("F3 F1"))
    '2 places, 12 bytes out, 12 bytes in'
    """
    found = decode(octets)
    places = f"{found.places} place{'s' if found.places != 1 else ''}"
    return f"{places}, {found.bytes_out} bytes out, {found.bytes_in} bytes in"


def compare(sent: Configuration, own: Configuration) -> tuple[str, ...]:
    """Why a station that has the configuration `own` refuses `sent`: a sentence for each place that differs.

    Empty if the octets are the same.

    >>> compare(decode(bytes.fromhex("F3 F1")), decode(bytes.fromhex("F1")))[0]
    'Place 1: the controller sends F3 (output and input 4 words, whole); the station has F1 (output and input 2 words, \
whole).'
    """
    pairs = enumerate(zip_longest(sent.identifiers, own.identifiers), 1)
    return tuple(
        f"Place {n}: the controller sends {_shown(one)}; the station has {_shown(other)}."
        for n, (one, other) in pairs
        if one is None or other is None or one.octets != other.octets
    )


def _shown(place: Identifier | None) -> str:
    return f"{place.octets.hex(' ').upper()} ({place.text})" if place else "nothing"
