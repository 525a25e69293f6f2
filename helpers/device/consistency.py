"""Consistency: what an identifier keeps whole, and what comes out when a value is read in pieces.

The bus delivers new data while the program runs. Who reads an area in several accesses may find old data in front
and new data behind. An identifier promises either that its whole area belongs together, or only that each byte or
each word does. The promise holds as far as the image of the controller; a program that reads a whole area piece
by piece tears it all the same, unless the controller offers a way to copy it in one go.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.answer import Answer, Row
from helpers.device.byte_order import ON_THE_BUS, iec_type, read_as, to_bus, value_typed
from helpers.device.formats import DataFormat
from helpers.device.identifiers import BYTES_PER, Configuration, decode, octets_from_text
from helpers.device.signals import DIRECTIONS
from helpers.errors import OutOfRange, in_range, one_of
from helpers.verdict import Degree
from helpers.wording import octets_text

CHANNEL = "8 octets"
_CHANNEL_BYTES = 8
_OPEN_ROWS = 5  # of a table in an answer

ACCESSES = {"byte by byte": 1, "word by word": 2, "double word by double word": 4}


@dataclass(frozen=True)
class ConsistentPiece:
    """What one identifier carries in one direction: where in the station's bytes, and in which units it is whole."""

    first_byte: int
    length_bytes: int
    unit_bytes: int
    text: str

    @property
    def last_byte(self) -> int:
        """Its last byte, counted from the station's first."""
        return self.first_byte + self.length_bytes - 1

    def keeps_whole(self, first_byte: int, length_bytes: int) -> bool:
        """True if the identifier promises that these bytes of it belong together."""
        unit = (first_byte - self.first_byte) // self.unit_bytes
        end = self.first_byte + (unit + 1) * self.unit_bytes
        return self.first_byte <= first_byte and first_byte + length_bytes <= min(end, self.last_byte + 1)


@cache
def pieces(one: DataFormat | Configuration, direction: str) -> tuple[ConsistentPiece, ...]:
    """The pieces of one direction of a format or a configuration, as its identifiers say.

    Parameters: one, a format or a configuration; direction, `out` or `in` as the controller sees it.
    Errors: `Unknown` for a direction.
    Source: M. Felser, PROFIBUS Manual, compact format (`data/identifier_bits.csv`).

    >>> from helpers.device.formats import by_name
    >>> [(piece.first_byte, piece.last_byte, piece.text) for piece in pieces(by_name("PPO 1"), "in")]
    [(0, 7, '4 words, whole'), (8, 11, '2 words, whole')]
    """
    one_of("direction", direction, DIRECTIONS)
    found: list[ConsistentPiece] = []
    at = 0
    configuration = one if isinstance(one, Configuration) else decode(one.identifiers)
    for identifier in configuration.identifiers:
        area = identifier.output if direction == "out" else identifier.input
        if area:
            unit = area.length_bytes if area.whole else BYTES_PER[area.unit]
            found.append(ConsistentPiece(at, area.length_bytes, unit, area.text))
            at += area.length_bytes
    return tuple(found)


@dataclass(frozen=True)
class Mixture:
    """One possible reading: its octets, for each access from front to back whether it saw new data, and the outcome.

    The outcome is `new` or `old` if the octets are those of the area behind or before the change, else `torn`.
    """

    octets: bytes
    new: tuple[bool, ...]
    outcome: str

    @property
    def torn(self) -> bool:
        """True if these octets never stood in the area."""
        return self.outcome == "torn"

    @property
    def text(self) -> str:
        """The octets in hexadecimal."""
        return self.octets.hex(" ").upper()

    @property
    def new_accesses(self) -> int:
        """How many accesses saw new data."""
        return sum(self.new)

    @property
    def old_accesses(self) -> int:
        """How many accesses saw old data."""
        return len(self.new) - self.new_accesses


def mixtures(old: bytes, new: bytes, *, access_bytes: int, backwards: bool = False) -> tuple[Mixture, ...]:
    """What a program may read while the data change once from old to new.

    The program takes the area in accesses of `access_bytes`, from front to back, or `backwards`. The change falls
    between two of them, or before or behind all. An access itself is taken to be whole.

    Parameters: old, new, the area before and after, of the same length; access_bytes, 1 or more.
    Return: one `Mixture` for each moment of the change, the earliest first: all new, then more and more old. `torn`
    is True for octets that never stood in the area. A reading in one access is never torn.
    Errors: `OutOfRange` for areas of different length, for none, or for an access of less than a byte.
    Validity: one change during the reading; with several, other mixtures are possible.

    >>> torn = mixtures(bytes.fromhex("0000FFFF"), bytes.fromhex("00010000"), access_bytes=2)
    >>> [(one.octets.hex(), one.torn) for one in torn]
    [('00010000', False), ('00000000', True), ('0000ffff', False)]
    """
    if len(old) != len(new) or not old:
        raise OutOfRange(
            f"the areas have {len(old)} and {len(new)} bytes; allowed are equal lengths of 1 byte or more."
        )
    in_range("bytes of an access", access_bytes, 1, max(ACCESSES.values()), "bytes", "widths of data/iec_types.csv")
    starts = list(range(0, len(old), access_bytes))
    found = []
    for seen_old in range(len(starts) + 1):
        new_ones = [n >= seen_old for n in range(len(starts))]
        if backwards:
            new_ones.reverse()
        parts = (
            (new if is_new else old)[start : start + access_bytes]
            for start, is_new in zip(starts, new_ones, strict=True)
        )
        octets = b"".join(parts)
        outcome = "new" if octets == new else "old" if octets == old else "torn"
        found.append(Mixture(octets, tuple(new_ones), outcome))
    return tuple(found)


@dataclass(frozen=True)
class TearingPicture:
    """Every possible reading, octet by octet: which were old and which new."""

    readings: tuple[Mixture, ...]
    access_bytes: int

    @property
    def says(self) -> str:
        """Each reading with its moment."""
        return "; ".join(f"{moment(reading)}: {octets_text(reading.octets)}" for reading in self.readings)


def tearing_answer(kind: str, before: str, after: str, access: str = "word by word", backwards: bool = False) -> Answer:
    """What a program may read while a value changes once, if it takes the value in pieces."""
    old, new = (_octets(kind, text) for text in (before, after))
    readings = mixtures(old, new, access_bytes=ACCESSES[access], backwards=backwards)
    torn = [one for one in readings if one.torn]
    shown = ", ".join(dict.fromkeys(_shown(kind, one.octets) for one in torn))
    many = "readings" if len({one.octets for one in torn}) > 1 else "a reading"
    table: list[Row] = [
        {
            "the change comes": moment(one),
            "octets read": octets_text(one.octets),
            "shown": _shown(kind, one.octets),
            "which is": f"{'▲' if one.torn else '●'} {one.outcome}",
        }
        for one in readings
    ]
    return Answer(
        f"Read {access}, {many} can come out that never was there: {shown}."
        if torn
        else f"Read {access}, only the old or the new value comes out.",
        degree=Degree.CAUTION if torn else Degree.IN_ORDER,
        because="The identifier promises what belongs together on the bus and in the image. A program that takes it in "
        "pieces must make sure itself: copy the whole area in one go, or read until two readings agree."
        if torn
        else "One access takes the whole value, or no piece of it differs from both.",
        pictures=[TearingPicture(readings, ACCESSES[access])],
        rows=table if len(table) <= _OPEN_ROWS else (),
        folded=[] if len(table) <= _OPEN_ROWS else [("Every moment of the change", table)],
        sources=sorted({row.cited for row in facts.where("identifier_bits", form="compact", field="consistency")}),
    )


def moment(reading: Mixture) -> str:
    """When the change came, seen from the reading."""
    if not reading.old_accesses:
        return "before reading"
    if not reading.new_accesses:
        return "after reading"
    return f"after access {reading.old_accesses}"


def _octets(kind: str, text: str) -> bytes:
    if kind != CHANNEL:
        return to_bus(value_typed(text, kind), kind)
    octets = octets_from_text(text)
    if len(octets) != _CHANNEL_BYTES:
        raise OutOfRange(
            f"number of octets is {len(octets)}; allowed is {_CHANNEL_BYTES}, those of a parameter channel."
        )
    return octets


def _shown(kind: str, octets: bytes) -> str:
    return octets_text(octets) if kind == CHANNEL else iec_type(kind).shown(read_as(octets, kind, ON_THE_BUS))
