"""The I/O test sheet: words of the controller's image, live, and words written by a person in place of the program.

The image is laid out as `helpers.device.io_image` lays it: one station behind the other, inputs and outputs apart.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from helpers import facts
from helpers.device import io_image, signals
from helpers.device.formats import BYTES_PER_WORD, by_name
from helpers.device.io_image import AREA, ByteStretch, Image, ImageStation
from helpers.drive.scaling import form, signed
from helpers.drive.words import pattern, spelled
from helpers.errors import OutOfRange, Unknown, in_range, one_of
from helpers.line.traffic.line import Line

FIRST_BYTE = {row["area"]: row.whole("first_byte") for row in facts.rows("demo/io_image")}
MOST_WORDS = 32
HEX, NUMBER, PERCENT, BITS = READINGS = ("hexadecimal", "number", "percent", "bits")
_SPEEDS = ("NSOLL_A", "NIST_A")


class Word(NamedTuple):
    """One word, or the byte that is left behind the last whole word.

    station: whose it is, "" for nobody's; name: what it carries; length in bytes; value: None without valid data.
    """

    address: str
    station: str
    name: str
    length: int
    value: int | None

    @property
    def readings(self) -> tuple[str, ...]:
        """How it can be read, what suits it first."""
        if self.length < BYTES_PER_WORD:
            return HEX, NUMBER, BITS
        return (PERCENT, HEX, NUMBER, BITS) if self.name.split(",")[0] in _SPEEDS else READINGS


def image(line: Line) -> Image:
    """Where each station of the loaded project has its bytes."""
    laid = [ImageStation(handler.name, handler.configured.configuration) for handler in line.handlers]
    return io_image.lay_out(laid, first_in=FIRST_BYTE["in"], first_out=FIRST_BYTE["out"])


def words(line: Line, station: str) -> tuple[Word, ...]:
    """The words of one station by name, outputs first. `Unknown` if the loaded project has no such station.

    >>> from helpers.facts import DATA
    >>> from helpers.line.plant.build import installation_of
    >>> from helpers.plan.read import read_plan
    >>> mill = Line(installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0]))
    >>> mill.run(1)
    >>> first = words(mill, "Dust filter valve")[0]
    >>> first.name, shown(first, "hexadecimal")
    ('STW1, control word 1', '16#047F')
    """
    handler, laid = line.handler(station), image(line)
    found: list[Word] = []
    for way, octets in (("out", handler.outputs), ("in", handler.inputs)):
        if (stretch := laid.stretch(station, way)) is None:
            continue
        names = _names(handler.configured.data_format, way)
        for n, at in enumerate(range(0, stretch.length_bytes, BYTES_PER_WORD)):
            length = min(BYTES_PER_WORD, stretch.length_bytes - at)
            letter = "W" if length == BYTES_PER_WORD else "B"
            name = names[n] if n < len(names) else f"{'word' if letter == 'W' else 'byte'} {n + 1} {way}"
            value = None if octets is None else int.from_bytes(octets[at : at + length], "big")
            found.append(Word(f"%{AREA[way]}{letter}{stretch.first_byte + at}", station, name, length, value))
    return tuple(found)


def _names(data_format: str, way: str) -> list[str]:
    """What the words of a format carry; nothing where only identifiers are known."""
    try:
        listed = by_name(data_format).words(way)
    except Unknown:
        return []
    return [f"{word.name}, {signals.find(word.signal).meaning}" if word.signal else word.name for word in listed]


def unowned(line: Line, typed: str) -> tuple[Word, ...]:
    """The words of a range that no station owns, `%IW900` or `%IW900 to %IW906`: nobody writes or reads them.

    Raises `Unreadable` or `OutOfRange` for what is no range of words, and for what a station owns, with its name.

    >>> from helpers.line.practice.case import mill
    >>> [word.address for word in unowned(Line(mill()), "%QW900 to %QW902")]
    ['%QW900', '%QW902']
    """
    first, _, last = re.sub(r"\s+(?:to|–|-)\s+", "…", typed.strip(), count=1).partition("…")
    ends = [io_image.read_address(one) for one in (first, last or first)]
    for text, (way, _, length) in zip((first, last or first), ends, strict=True):
        if length != BYTES_PER_WORD or way != ends[0][0]:
            raise OutOfRange(f"{text} is no word of such a range; write for example %IW900 to %IW906.")
    (way, start, _), (_, end, _) = ends
    in_range("number of words", (end - start) // BYTES_PER_WORD + 1, 1, MOST_WORDS, source="what the sheet lists")
    found = []
    for at in range(start, end + 1, BYTES_PER_WORD):
        address = f"%{AREA[way]}W{at}"
        if owner := next((s for s in image(line).of(way) if s.first_byte <= at + 1 and at <= s.last_byte), None):
            raise OutOfRange(f"{address} belongs to {owner.station}; choose the station, and its words stand there.")
        found.append(Word(address, "", "no station", BYTES_PER_WORD, None))
    return tuple(found)


def shown(word: Word, reading: str) -> str:
    """A word as it is read; per cent of a normalised word, 16#4000 for 100 %.

    >>> word = Word("%IW900", "fan", "NIST_A", 2, 0xE000)
    >>> [shown(word, reading) for reading in READINGS]
    ['16#E000', '57344, signed -8192', '-50.0 %', '2#1110_0000_0000_0000']
    """
    one_of("reading", reading, READINGS)
    if word.value is None:
        return "not valid"
    byte, value = word.length < BYTES_PER_WORD, word.value
    if reading == HEX:
        return f"16#{value:02X}" if byte else spelled(value)
    if reading == BITS:
        return f"2#{value >> 4:04b}_{value & 0xF:04b}" if byte else pattern(value)
    if reading == PERCENT and not byte:
        return f"{100 * signed(value) / form('N2').full:.1f} %"
    return str(value) if byte or signed(value) == value else f"{value}, signed {signed(value)}"


def station_of(line: Line, address: str, value: int = 0) -> str:
    """The station whose outputs hold all of an address, and whether the value fits there.

    Raises `Unreadable` for a text that is no address, `OutOfRange` for an input, a byte of no station or a value that
    is too large.
    """
    return _output(line, address, value)[0].station


def write(line: Line, address: str, value: int) -> str:
    """Write one output in place of the program, which is cut off from all outputs of that station; the station's name.

    Raises as `station_of`.
    """
    stretch, start, length = _output(line, address, value)
    handler = line.handler(stretch.station)
    octets = bytearray(handler.forced if handler.forced is not None else handler.outputs)
    at = start - stretch.first_byte
    octets[at : at + length] = value.to_bytes(length, "big")
    handler.forced = bytes(octets)
    return handler.name


def _output(line: Line, address: str, value: int) -> tuple[ByteStretch, int, int]:
    """The stretch of the image that holds an output, its first byte and its length."""
    way, start, length = io_image.read_address(address)
    if way != "out":
        raise OutOfRange(f"{address.strip()} is an input; the station writes it. Written can be %QB, %QW and %QD.")
    in_range("value", value, 0, (1 << 8 * length) - 1, source=f"{length} byte")
    stretches = image(line).of("out")
    stretch = next((s for s in stretches if s.first_byte <= start and start + length - 1 <= s.last_byte), None)
    if stretch is None:
        known = ", ".join(f"{s.station} {s.address}" for s in stretches[:4]) + (" …" if len(stretches) > 4 else "")
        raise OutOfRange(f"{address.strip()} is not wholly in the outputs of one station; these are: {known}.")
    return stretch, start, length


def forced(line: Line) -> tuple[str, ...]:
    """The stations whose outputs a person writes."""
    return tuple(handler.name for handler in line.handlers if handler.forced is not None)


def release(line: Line) -> None:
    """The program writes all outputs again."""
    for handler in line.handlers:
        handler.forced = None
