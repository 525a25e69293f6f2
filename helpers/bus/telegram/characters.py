"""Characters on the wire: eleven bits for every octet.

    start 0 · bit 0 … bit 7 (the least first) · even parity · stop 1

Even parity: the eight bits and the parity bit together hold an even number of ones. The line rests at 1. Within a
telegram the characters follow each other without a pause. Sources: 11 bits a character, M. Felser, PROFIBUS Manual,
calculation for single masters; their order and the parity are from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from helpers.errors import OutOfRange, in_range

NAMES = ("start", *(f"bit {n}" for n in range(8)), "parity", "stop")
BITS = len(NAMES)


class Character(NamedTuple):
    """One character as a receiver reads it: the place of its start bit, the octet, and what is wrong with it.

    `problem` is empty, or a sentence: the parity does not fit, the stop bit is missing, or it is cut off.
    """

    at: int
    octet: int
    problem: str = ""


def bits_of(octet: int) -> tuple[int, ...]:
    """The eleven bits of an octet in the order in which they are sent, named by `NAMES`.

    Raises `OutOfRange` for a number that is no octet.

    >>> bits_of(0x10)
    (0, 0, 0, 0, 0, 1, 0, 0, 0, 1, 1)
    """
    in_range("octet", octet, 0, 0xFF)
    return _BITS[octet]


def _made(octet: int) -> tuple[int, ...]:
    eight = [octet >> n & 1 for n in range(8)]
    return (0, *eight, sum(eight) % 2, 1)


_BITS = tuple(map(_made, range(256)))


def character_bits(data: bytes) -> tuple[int, ...]:
    r"""The bits of all octets, one after the other, as they go over the wire.

    >>> character_bits(b"\xe5")
    (0, 1, 0, 1, 0, 0, 1, 1, 1, 1, 1)
    """
    return tuple(bit for octet in data for bit in _BITS[octet])


def read(bits: Sequence[int]) -> tuple[Character, ...]:
    r"""The characters in a row of bits: each begins with a 0 after the line has rested or a character has ended.

    Parameters: bits, 0 and 1. A character with a wrong stop bit is given, and the search goes on behind it.
    Raises `OutOfRange` for anything but 0 and 1.

    >>> [(c.at, hex(c.octet)) for c in read((1, 1, *character_bits(b"\x10\x16"), 1))]
    [(2, '0x10'), (13, '0x16')]
    """
    try:
        row = bytes(tuple(bits))
    except (TypeError, ValueError):
        row = b"\2"
    if row.translate(None, b"\0\1"):
        raise OutOfRange(f"the bits are {str(bits)[:40]}; allowed are 0 and 1.")
    found = []
    at = row.find(0)
    while at >= 0:
        eleven = row[at : at + BITS]
        # A character that is cut off has 0 for the bits that are missing.
        found.append(Character(at, _OCTETS[eleven[1:9].ljust(8, b"\0")], _problem(eleven)))
        at = row.find(0, at + BITS)
    return tuple(found)


_OCTETS = {bytes(eleven[1:9]): octet for octet, eleven in enumerate(_BITS)}


def _problem(eleven: bytes) -> str:
    if len(eleven) < BITS:
        return f"cut off: {len(eleven)} of {BITS} bits are there"
    if not eleven[-1]:
        return "the stop bit is 0"
    return "" if sum(eleven[1:10]) % 2 == 0 else "the parity does not fit"


def distance(one: int, other: int) -> int:
    """In how many of their eleven bits two octets differ; parity makes it even, and 2 at the least for two that differ.

    >>> distance(0x10, 0x16), distance(0x68, 0xE5)
    (2, 4)
    """
    return sum(a != b for a, b in zip(bits_of(one), bits_of(other), strict=True))
