"""The I/O image: at which bytes of the controller the words of each station lie.

The controller keeps two areas, and each counts from 0 on its own. Direction is as the controller sees it: what a
drive sends stands in the inputs (%I), what goes to a drive stands in the outputs (%Q). So a drive's status word is
an input, although it leaves the drive.

Addresses are written as in IEC 61131-3: %IB, %IW, %ID for a byte, a word, a double word. Here the number is that of
the first byte. Some makers count words instead; `address` gives both. A station's start is chosen by hand, or comes
from a rule (`data/io_layout_rules.csv`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import NamedTuple

from helpers import facts
from helpers.device.byte_order import iec_type
from helpers.device.choose import mapping
from helpers.device.consistency import pieces
from helpers.device.formats import BYTES_PER_WORD, DataFormat
from helpers.device.identifiers import BYTES_PER, Configuration
from helpers.device.signals import DIRECTIONS, Signal, find, list_parameter
from helpers.errors import OutOfRange, Unreadable, in_range, one_of

AREA = {"out": "Q", "in": "I"}
SIZES = {1: "B", 2: "W", 4: "D"}
NUMBERINGS = ("byte numbers", "word numbers")


@dataclass(frozen=True)
class ImageStation:
    """A station to be laid into the image.

    format: a data format, or the configuration of a station that has none (a remote I/O). needs: the signals in the
    format's free words. bus_address: only the rule `grid` asks for it. first_in, first_out: start bytes chosen by
    hand; None leaves them to the rule.
    """

    name: str
    format: DataFormat | Configuration
    needs: tuple[Signal, ...] = ()
    bus_address: int | None = None
    first_in: int | None = None
    first_out: int | None = None


@dataclass(frozen=True)
class ByteStretch:
    """The bytes of one station in one direction."""

    station: str
    direction: str
    first_byte: int
    length_bytes: int

    @property
    def last_byte(self) -> int:
        """Its last byte."""
        return self.first_byte + self.length_bytes - 1

    @property
    def address(self) -> str:
        """Its bytes as addresses, for example `%IB400 to %IB411`."""
        sign = f"%{AREA[self.direction]}B"
        return f"{sign}{self.first_byte}" + (f" to {sign}{self.last_byte}" if self.length_bytes > 1 else "")


class ImagePlace(NamedTuple):
    """One value in the image: a word, or the two words of a 32-bit signal.

    variable: a short name for a program; type: an IEC 61131-3 type to show it in; kept_whole: True if the identifier
    promises that the value's bytes belong together; promise: what the identifier says.
    """

    station: str
    direction: str
    first_byte: int
    length_bytes: int
    signal: str
    meaning: str
    variable: str
    type: str
    kept_whole: bool
    promise: str

    @property
    def address(self) -> str:
        """The address with byte numbers, for example `%QW600`."""
        return f"%{AREA[self.direction]}{SIZES[self.length_bytes]}{self.first_byte}"

    @property
    def word_address(self) -> str:
        """The address where each size counts in itself; empty if the value has none."""
        return address(self.direction, self.first_byte, self.length_bytes, numbering="word numbers")


@dataclass(frozen=True)
class Image:
    """The whole image: a stretch for each station and direction that has bytes, and the values in them."""

    stations: tuple[ImageStation, ...]
    stretches: tuple[ByteStretch, ...]
    places: tuple[ImagePlace, ...]

    def of(self, direction: str) -> tuple[ByteStretch, ...]:
        """The stretches of one direction in the order of their bytes."""
        one_of("direction", direction, DIRECTIONS)
        found = [one for one in self.stretches if one.direction == direction]
        return tuple(sorted(found, key=lambda one: (one.first_byte, one.last_byte)))

    def stretch(self, station: str, direction: str) -> ByteStretch | None:
        """The bytes of one station, None if it has none this way."""
        return self._by_name.get((station, direction))

    @cached_property
    def _by_name(self) -> dict[tuple[str, str], ByteStretch]:
        return {(one.station, one.direction): one for one in self.stretches}

    def used_bytes(self, direction: str) -> int:
        """Bytes that belong to a station; a byte that two claim counts once."""
        covered, end = 0, 0
        for one in self.of(direction):
            covered += max(0, one.last_byte + 1 - max(end, one.first_byte))
            end = max(end, one.last_byte + 1)
        return covered

    def end(self, direction: str) -> int:
        """The first byte behind all stations; 0 if there is none."""
        return max((one.last_byte + 1 for one in self.of(direction)), default=0)

    def gaps(self, direction: str) -> tuple[tuple[int, int], ...]:
        """The gaps between stations: first byte and length of each.

        >>> from helpers.device.formats import by_name
        >>> three = [ImageStation("a", by_name("PPO 3"), first_in=0), ImageStation("b", by_name("PPO 3"), first_in=10)]
        >>> lay_out(three).gaps("in"), lay_out(three).used_bytes("in"), lay_out(three).end("in")
        (((4, 6),), 8, 14)
        """
        found = []
        listed = self.of(direction)
        end = listed[0].first_byte if listed else 0
        for one in listed:
            if one.first_byte > end:
                found.append((end, one.first_byte - end))
            end = max(end, one.last_byte + 1)
        return tuple(found)


def rules() -> tuple[str, ...]:
    """The names of the rules for start bytes."""
    return tuple(row["rule"] for row in facts.rows("io_layout_rules"))


def lay_out(
    stations: Iterable[ImageStation],
    *,
    rule: str = "packed",
    first_in: int = 0,
    first_out: int = 0,
    grid_bytes: int = 32,
) -> Image:
    """Lay stations into the image, each direction on its own.

    Parameters: stations, in the order in which they are laid; rule, one of `rules()`; first_in, first_out, the byte
    at which the first station begins, or from which the grid counts; grid_bytes, the step of the rule `grid`: a station
    begins at first + bus address × step. A start chosen by hand wins; the next station follows behind it.
    Return: an `Image`. What is wrong with it is not an error but a finding (`helpers.device.io_checks`).
    Errors: `Unknown` for a rule; `OutOfRange` for a byte number, or a grid without a bus address; `Unreadable` for
    two stations of one name.
    Source: the rules are common practice; the length of each station: its data format.

    >>> from helpers.device.formats import by_name
    >>> fans = [ImageStation("fan 1", by_name("PPO 1")), ImageStation("fan 2", by_name("PPO 3"))]
    >>> image = lay_out(fans, first_in=400, first_out=600)
    >>> [one.address for one in image.stretches]
    ['%QB600 to %QB611', '%IB400 to %IB411', '%QB612 to %QB615', '%IB412 to %IB415']
    """
    listed = tuple(stations)
    one_of("rule", rule, rules())
    _different([one.name for one in listed])
    _within("grid step in bytes", grid_bytes)
    row = facts.one("io_layout_rules", rule=rule)
    begin = {"out": first_out, "in": first_in}
    for way, first in begin.items():
        _within("byte number", first, f"first byte {way}")
    following = dict(begin)
    stretches: list[ByteStretch] = []
    places: list[ImagePlace] = []
    for one in listed:
        for way, length, chosen in (
            ("out", one.format.bytes_out, one.first_out),
            ("in", one.format.bytes_in, one.first_in),
        ):
            if not length:
                continue
            if chosen is not None:
                start = chosen
            elif rule == "grid":
                start = begin[way] + grid_bytes * _bus_address(one)
            else:
                start = _next(following[way], row.whole("step_bytes"))
            _within("byte number", start, f"first byte {way} of {one.name}")
            stretches.append(ByteStretch(one.name, way, start, length))
            places += _places(one, way, start)
            following[way] = start + length
    return Image(listed, tuple(stretches), tuple(places))


def address(direction: str, first_byte: int, length_bytes: int, *, numbering: str = "byte numbers") -> str:
    """The address of a byte, a word or a double word.

    Parameters: direction, `out` or `in`; first_byte, its first byte; length_bytes, 1, 2 or 4; numbering, `byte numbers`
    (the number is the first byte) or `word numbers` (each size counts in itself: a word has half the byte number, a
    double word a quarter).
    Return: the address; an empty text if the numbering has none, because the byte can't be divided.
    Errors: `Unknown` for a direction, a length or a numbering.
    Source: IEC 61131-3, directly represented variables; which numbering holds is the maker's (`data/io_numbering.csv`).

    >>> address("in", 400, 2), address("in", 400, 2, numbering="word numbers")
    ('%IW400', '%IW200')
    >>> address("out", 7, 2, numbering="word numbers")
    ''
    """
    sign, step = _sign(direction, length_bytes, numbering)
    return "" if first_byte % step else f"{sign}{first_byte // step}"


@cache
def _sign(direction: str, length_bytes: int, numbering: str) -> tuple[str, int]:
    """What stands before the number, and the bytes that one step of the number counts."""
    one_of("direction", direction, AREA)
    one_of("length in bytes", length_bytes, SIZES)
    one_of("numbering", numbering, NUMBERINGS)
    return f"%{AREA[direction]}{SIZES[length_bytes]}", 1 if numbering == NUMBERINGS[0] else length_bytes


def read_address(text: str, *, numbering: str = "byte numbers") -> tuple[str, int, int]:
    """Direction, first byte and length of an address as people write it.

    Errors: `Unreadable` for anything but `%I` or `%Q` with B, W or D and a number; `Unknown` for a numbering.

    >>> read_address("%QW600"), read_address("%IW200", numbering="word numbers")
    (('out', 600, 2), ('in', 400, 2))
    """
    one_of("numbering", numbering, NUMBERINGS)
    found = re.fullmatch(r"%?([IQ])([BWD])\s*([0-9]{1,9})", text.strip().upper())
    if not found:
        raise Unreadable(f"{text.strip()[:40]!r} is not an address; write for example %IW400 or %QD604.")
    direction = next(way for way, area in AREA.items() if area == found[1])
    length = next(count for count, letter in SIZES.items() if letter == found[2])
    return direction, int(found[3]) * (1 if numbering == NUMBERINGS[0] else length), length


def bytes_told(place: ImagePlace | ByteStretch) -> str:
    """The bytes of a value for a person: `bytes 400 and 401`."""
    last = place.first_byte + place.length_bytes - 1
    if place.length_bytes == 1:
        return f"byte {last}"
    return f"bytes {place.first_byte} {'and' if place.length_bytes == BYTES_PER_WORD else 'to'} {last}"


_Value = tuple[int, int, str, str, str, str]  # byte within the station, length, signal, meaning, variable, type


def _places(one: ImageStation, way: str, start: int) -> list[ImagePlace]:
    """The values of one direction: of a data format its signals, of a configuration its bytes or words."""
    return [
        ImagePlace(one.name, way, start + at, length, signal, meaning, variable, kind, whole, promise)
        for (at, length, signal, meaning, variable, kind), whole, promise in _values(one.format, one.needs, way)
    ]


@cache
def _values(chosen: DataFormat | Configuration, needs: tuple[Signal, ...], way: str) -> list[tuple[_Value, bool, str]]:
    """The values of one direction, each with whether its identifier keeps it whole, and what the identifier says."""
    found = []
    for value in _units(chosen, way) if isinstance(chosen, Configuration) else _signals(chosen, needs, way):
        at, length = value[:2]
        piece = next(piece for piece in pieces(chosen, way) if piece.first_byte <= at <= piece.last_byte)
        found.append((value, piece.keeps_whole(at, length), piece.text))
    return found


def _units(configuration: Configuration, way: str) -> list[_Value]:
    """Bytes or words, as the identifiers count them; what they mean is in the station's manual."""
    found: list[_Value] = []
    at = 0
    for one in configuration.identifiers:
        area = one.output if way == "out" else one.input
        if area is None:
            continue
        for _ in range(area.count):
            length = BYTES_PER[area.unit]
            name = f"{area.unit} {len(found) + 1}"
            found.append((at, length, name, "see the station's manual", f"{way}_{name}", area.unit.upper()))
            at += length
    return found


def _signals(chosen: DataFormat, needs: tuple[Signal, ...], way: str) -> list[_Value]:
    """The signals of a data format; the two words of a 32-bit signal are one value."""
    assigned = iter([a for a in mapping(chosen, needs) if a.parameter == list_parameter(way)])
    named: list[tuple[int, str, int]] = []  # word within the station, signal, words
    for n, word in enumerate(chosen.words(way)):
        if word.kind == "parameter":
            named.append((n, word.name, 1))
            continue
        assignment = next(assigned)
        if assignment.half == "low":
            at, signal, words = named.pop()
            named.append((at, signal, words + 1))
        else:
            named.append((n, assignment.signal, 1))
    return [
        (BYTES_PER_WORD * n, BYTES_PER_WORD * words, signal, *_told(signal, words, n)) for n, signal, words in named
    ]


def _told(signal: str, words: int, word: int) -> tuple[str, str, str]:
    """Meaning, variable name and type of a signal; a free word without a signal is called after its place."""
    if not signal:
        return "free word, no signal assigned", f"free_word_{word + 1}", "WORD"
    row = _known().get(signal)
    if row is None or iec_type(row["type"]).length_bytes != BYTES_PER_WORD * words:
        return "a signal of the drive's own", signal, "WORD" if words == 1 else "DWORD"
    return row["meaning"] or find(signal).meaning, row["variable"], row["type"]


@cache
def _known() -> dict[str, facts.Fact]:
    return {row["signal"]: row for table in ("io_signals", "demo/io_signals") for row in facts.rows(table)}


def _next(byte: int, step: int) -> int:
    return -(-byte // step) * step


def _bus_address(one: ImageStation) -> int:
    if one.bus_address is None:
        raise OutOfRange(
            f"{one.name} has no bus address; the rule grid needs one (data/io_layout_rules.csv, common practice)."
        )
    return one.bus_address


def _within(what: str, value: int, name: str = "") -> None:
    limit = facts.one("io_limits", what=what)
    in_range(name or what, value, limit.whole("least"), limit.whole("most"), source=limit.cited)


def _different(names: Sequence[str]) -> None:
    twice = next((name for n, name in enumerate(names) if name in names[:n]), None)
    if twice is not None:
        raise Unreadable(f"two stations are called {twice!r}; allowed is each name once.")
