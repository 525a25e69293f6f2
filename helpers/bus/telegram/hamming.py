"""How many wrong bits turn one telegram into another that a receiver believes, counted out.

A receiver looks at the start bit, the parity and the stop bit of each character, at the delimiters, at both lengths,
and at the check sum. The smallest number of wrong bits that all of them miss is the Hamming distance. M. Felser,
PROFIBUS Manual, telegram formats, claims 4. It holds for every telegram with a check sum. It does not hold for the
token, which has none, nor between two of the delimiters (see `delimiters`).

Parity makes the counting short: an odd number of wrong bits in one character is always noticed, and so is a wrong
start or stop bit. What is left are octets that differ by 2, 4 … bits, parity bit included.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from itertools import combinations
from math import comb
from typing import NamedTuple

from helpers import facts
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.characters import BITS, bits_of, character_bits, distance
from helpers.bus.telegram.characters import read as read_characters
from helpers.bus.telegram.frame import Frame
from helpers.errors import in_range

MOST_OCTETS = 12  # longer telegrams take too long to count out, and show nothing new
MOST_WRONG = 4


class DelimiterPair(NamedTuple):
    """Two delimiters and the number of bits in which they differ on the wire, parity bit included."""

    one: str
    other: str
    bits: int


class WrongBitCount(NamedTuple):
    """Of all ways to have so many wrong bits in a telegram: how many there are, and how many a receiver believes."""

    wrong: int
    ways: int
    believed: int


class Received(NamedTuple):
    """What a receiver makes of a telegram with wrong bits: the telegram it believes, or what it notices."""

    frame: Frame | None
    notices: str


def delimiters() -> tuple[DelimiterPair, ...]:
    """Every pair of delimiters with the distance between them, the nearest first.

    >>> delimiters()[:2]
    (DelimiterPair(one='SD1', other='ED', bits=2), DelimiterPair(one='SD1', other='SD2', bits=4))
    """
    octets = {row["name"]: row.whole("octet") for row in facts.rows("telegram_bytes")}
    pairs = (DelimiterPair(one, other, distance(octets[one], octets[other])) for one, other in combinations(octets, 2))
    return tuple(sorted(pairs, key=lambda pair: pair.bits))


def impostors(octets: bytes, wrong: int) -> Iterator[bytes]:
    """Every other telegram of the same length that differs in exactly so many bits on the wire.

    Parameters: octets of one telegram, at most `MOST_OCTETS`; wrong, 1 to `MOST_WRONG`. Raises `OutOfRange`.

    >>> next(impostors(bytes.fromhex("DC 01 02"), 2)).hex(" ").upper()
    'DC 00 02'
    """
    in_range("octets of the telegram", len(octets), 1, MOST_OCTETS)
    in_range("wrong bits", wrong, 1, MOST_WRONG)
    for count in range(1, wrong // 2 + 1):
        for places in combinations(range(len(octets)), count):
            for changed in _changed(octets, places, wrong):
                if frames.whole(changed):
                    yield changed


def _changed(octets: bytes, places: tuple[int, ...], wrong: int) -> Iterator[bytes]:
    """The octets with each of these places changed, and so many wrong bits altogether."""
    first, rest = places[0], places[1:]
    for bits in range(2, wrong - 2 * len(rest) + 1, 2) if rest else (wrong,):
        for other in _at_distance(octets[first], bits):
            changed = octets[:first] + bytes((other,)) + octets[first + 1 :]
            yield from _changed(changed, rest, wrong - bits) if rest else (changed,)


@cache
def _at_distance(octet: int, bits: int) -> tuple[int, ...]:
    return tuple(other for other in range(256) if distance(octet, other) == bits)


@cache
def counted(octets: bytes) -> tuple[WrongBitCount, ...]:
    """For 1 to 4 wrong bits: how many ways there are to have them, and how many of these are believed.

    Parameters and errors as for `impostors`.

    >>> [(count.wrong, count.ways, count.believed) for count in counted(bytes.fromhex("10 02 01 49 4C 16"))][:3]
    [(1, 66, 0), (2, 2145, 0), (3, 45760, 0)]
    """
    bits = BITS * len(octets)
    return tuple(
        WrongBitCount(wrong, comb(bits, wrong), sum(1 for _ in impostors(octets, wrong)))
        for wrong in range(1, MOST_WRONG + 1)
    )


def places(octets: bytes, others: bytes) -> tuple[int, ...]:
    """At which bits on the wire (from 0) two rows of octets of one length differ.

    >>> places(bytes([1]), bytes([0]))
    (1, 9)
    """
    in_range("octets to compare", len(others), len(octets), len(octets))
    both = zip(character_bits(octets), character_bits(others), strict=True)
    return tuple(at for at, (one, other) in enumerate(both) if one != other)


def received(octets: bytes, wrong: Iterable[int]) -> Received:
    """What a receiver makes of a telegram when the bits at these places arrive wrong.

    Parameters: octets; wrong, places on the wire from 0, eleven for each octet. Raises `OutOfRange`.

    >>> received(bytes.fromhex("10 02 01 49 4C 16"), [12]).notices
    'octet 2: the parity does not fit'
    """
    bits = list(character_bits(octets))
    for place in wrong:
        in_range("place of a wrong bit", place, 0, len(bits) - 1)
        bits[place] ^= 1
    for number, at in enumerate(range(0, len(bits), BITS), 1):
        if bits[at]:
            return Received(None, f"octet {number}: the start bit is missing")
        character = read_characters(bits[at : at + BITS])[0]
        if character.problem:
            return Received(None, f"octet {number}: {character.problem}")
    arrived = bytes(_octet(bits[at : at + BITS]) for at in range(0, len(bits), BITS))
    found = frames.whole(arrived)
    return Received(found, "") if found else Received(None, next(frames.read(arrived)).problem)


def _octet(eleven: list[int]) -> int:
    return next(octet for octet in range(256) if list(bits_of(octet)) == eleven)
