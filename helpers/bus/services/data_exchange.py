"""Data_Exchange: outputs to the station and inputs back, in every cycle; and Rd_Inp and Rd_Outp, which only read.

The telegrams themselves, with their short forms, are made by `helpers.bus.services.message`.
"""

from __future__ import annotations

from functools import lru_cache

from helpers.bus.services.bits import OctetLine
from helpers.device.identifiers import BYTES_PER, Configuration

WAYS = ("output", "input")


def explain(
    octets: bytes, way: str, configuration: Configuration | None = None, *, first: int = 1
) -> tuple[OctetLine, ...]:
    r"""Every output or input, named by the configuration if that is known and has so many.

    Parameters: way, `output` or `input`, as the controller sees it; first, the number of the first octet.

    >>> from helpers.device.identifiers import decode
    >>> [(line.name, line.meaning) for line in explain(bytes.fromhex("047F0000"), "output", decode(b"\xf1"))]
    [('output word 1', '16#047F, place 1'), ('output word 2', '16#0000, place 1')]
    >>> explain(b"\x04", "output")[0].name
    'output byte 1'
    """
    items = _items(configuration, way) if configuration else ()
    if sum(item[1] for item in items) == len(octets):
        return tuple(
            OctetLine(first + at, octets[at : at + size], name, f"16#{octets[at : at + size].hex().upper()}, {place}")
            for at, size, name, place in items
        )
    columns = _columns(way, first, len(octets))
    return tuple([column[octet] for column, octet in zip(columns, octets, strict=True)])


@lru_cache(512)
def _columns(way: str, first: int, count: int) -> tuple[tuple[OctetLine, ...], ...]:
    return tuple(_column(way, first, n) for n in range(1, count + 1))


@lru_cache(1024)
def _column(way: str, first: int, number: int) -> tuple[OctetLine, ...]:
    """The lines of one byte for every value it can have; a long recording asks for the same ones again and again."""
    name = f"{way} byte {number}"
    return tuple(OctetLine(first + number - 1, bytes((octet,)), name, f"16#{octet:02X}") for octet in range(256))


@lru_cache(256)
def _items(configuration: Configuration, way: str) -> tuple[tuple[int, int, str, str], ...]:
    """The bytes and words of one direction: where each begins (from 0), its size, its name, its place."""
    found, at, counts = [], 0, dict.fromkeys(BYTES_PER, 0)
    for n, place in enumerate(configuration.identifiers, 1):
        area = place.output if way == "output" else place.input
        for _ in range(area.count if area else 0):
            unit = area.unit if area else ""
            counts[unit] += 1
            found.append((at, BYTES_PER[unit], f"{way} {unit} {counts[unit]}", f"place {n}"))
            at += BYTES_PER[unit]
    return tuple(found)


def summary(octets: bytes, way: str) -> str:
    """The data in one line, cut where it is long.

    >>> summary(bytes.fromhex("047F0000"), "output")
    '4 output bytes: 04 7F 00 00'
    """
    shown = octets[:12].hex(" ").upper() + (" …" if len(octets) > 12 else "")
    return f"{len(octets)} {way} byte{'s' if len(octets) != 1 else ''}: {shown}"
