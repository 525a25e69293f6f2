"""Octets whose bits have names: read, written and explained by a table of bits; and the line of an explanation.

A table has the columns octet, bit, name, one, zero, source, standing. Every bit of an octet has a row, reserved ones
too, so that whatever was read can be written again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from typing import NamedTuple

from helpers import facts
from helpers.errors import in_range, one_of


class BitRow(NamedTuple):
    """One bit of an octet (the first octet is 1): its value, its name, and what that value means."""

    octet: int
    bit: int
    value: int
    name: str
    meaning: str
    source: str


class OctetLine(NamedTuple):
    """One line of an explanation: where its octets begin (the first is 1), the octets, their name, what they say."""

    first: int
    octets: bytes
    name: str
    meaning: str
    source: str = ""


@cache
def names(table: str) -> tuple[str, ...]:
    """The names of all bits of a table.

    >>> names("global_control_bits")[2:7]
    ('Sync', 'Unsync', 'Freeze', 'Unfreeze', 'Clear_Data')
    """
    return tuple(row["name"] for row in facts.rows(table))


@cache
def flags(table: str, octet: int, value: int) -> frozenset[str]:
    """The names of the bits of an octet that are 1.

    Parameters: table, one of the tables of bits; octet, its number; value, 0 to 255.

    >>> sorted(flags("set_prm_bits", 1, 0xB8))
    ['Freeze_Req', 'Lock_Req', 'Sync_Req', 'WD_On']
    """
    return frozenset(row.name for row in rows(table, octet, value) if row.value)


def check(table: str, chosen: Iterable[str]) -> None:
    """Raise `Unknown` for a name that is no bit of the table."""
    for name in chosen:
        one_of("bit", name, names(table))


def octet_of(table: str, octet: int, chosen: frozenset[str]) -> int:
    """The octet in which the bits with these names are 1; names of other octets are left alone.

    >>> hex(octet_of("set_prm_bits", 1, frozenset({"Lock_Req", "WD_On"})))
    '0x88'
    """
    return sum(1 << bit for bit, name in _places(table, octet) if name in chosen)


@cache
def _places(table: str, octet: int) -> tuple[tuple[int, str], ...]:
    return tuple((row.whole("bit"), row["name"]) for row in facts.where(table, octet=octet))


@cache
def rows(table: str, octet: int, value: int) -> tuple[BitRow, ...]:
    """An octet bit by bit, bit 7 first. Raises `OutOfRange` for a value that is no octet.

    >>> [row.name for row in rows("global_control_bits", 1, 0x02) if row.value]
    ['Clear_Data']
    """
    in_range(f"octet {octet}", value, 0, 0xFF, source="one octet")
    found = (_row(fact, value) for fact in facts.where(table, octet=octet))
    return tuple(sorted(found, key=lambda row: -row.bit))


def _row(fact: facts.Fact, value: int) -> BitRow:
    bit = fact.whole("bit")
    one = value >> bit & 1
    return BitRow(fact.whole("octet"), bit, one, fact["name"], fact["one" if one else "zero"], fact.cited)


@cache
def sentence(table: str, octet: int, value: int) -> str:
    """The bits of an octet that are 1, in one line.

    >>> sentence("global_control_bits", 1, 0x02)
    'Clear_Data: the outputs are cleared'
    """
    told = "; ".join(f"{row.name}: {row.meaning}" for row in rows(table, octet, value) if row.value)
    return told or "no bit is 1"


@cache
def limit(service: str, what: str) -> tuple[int, int, str]:
    """Least, most and source of a size in `data/service_limits.csv`."""
    row = facts.one("service_limits", service=service, what=what)
    return row.whole("least"), row.whole("most"), row.cited


def check_length(service: str, octets: bytes) -> None:
    """Raise `OutOfRange` unless so many octets can belong to the service."""
    least, most, source = limit(service, "octets")
    in_range(f"number of octets of {service}", len(octets), least, most, source=source)


def placed(pieces: Iterable[tuple[int, str, str]], octets: bytes, first: int = 1) -> Iterator[OctetLine]:
    """Lines from pieces (how many octets, name, meaning) that lie one behind the other."""
    at = 0
    for size, name, meaning in pieces:
        yield OctetLine(first + at, octets[at : at + size], name, meaning)
        at += size


def moved(lines: Iterable[OctetLine], first: int) -> tuple[OctetLine, ...]:
    """The same lines where the octets of the service begin at octet `first` of a telegram.

    >>> moved([OctetLine(2, b"A", "n", "m")], 10)[0].first
    11
    """
    return tuple(
        OctetLine(at + first - 1, octets, name, meaning, source) for at, octets, name, meaning, source in lines
    )
