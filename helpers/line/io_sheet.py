"""The I/O test sheet: words of the controller's image, live, and words written by a person in place of the program.

The image is laid out as `helpers.device.io_image` lays it: one station behind the other, inputs and outputs apart.
"""

from __future__ import annotations

from typing import NamedTuple

from helpers import facts
from helpers.device import io_image
from helpers.device.formats import BYTES_PER_WORD
from helpers.device.io_image import AREA, Image, Station, Stretch
from helpers.drive.scaling import signed
from helpers.drive.words import pattern, spelled
from helpers.errors import OutOfRange, in_range, one_of
from helpers.line.line import Line

FIRST_BYTE = {row["area"]: row.whole("first_byte") for row in facts.rows("demo/io_image")}
MOST_WORDS = 32
HEX, UNSIGNED, SIGNED, BINARY = DISPLAYS = ("hexadecimal", "unsigned", "signed", "binary")


class Word(NamedTuple):
    """One word: its address, the station that has it ("" for none), its value; None without valid data."""

    address: str
    station: str
    value: int | None


def image(line: Line) -> Image:
    """Where each station of the loaded project has its bytes."""
    laid = [Station(handler.name, handler.configured.configuration) for handler in line.handlers]
    return io_image.lay_out(laid, first_in=FIRST_BYTE["in"], first_out=FIRST_BYTE["out"])


def words(line: Line, first: str, count: int) -> tuple[Word, ...]:
    """So many words from an address on. `Unreadable` or `OutOfRange` for what is no word of an image.

    >>> from helpers.facts import DATA
    >>> from helpers.line.build import installation_of
    >>> from helpers.plan.read import read_plan
    >>> mill = Line(installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0]))
    >>> words(mill, "%IW400", 1)[0].value is None, mill.run(1), words(mill, "%QW600", 1)[0].value is None
    (True, None, False)
    """
    way, start, length = io_image.read_address(first)
    if length != BYTES_PER_WORD:
        raise OutOfRange(
            f"{first.strip()} is no word; the sheet lists words, so write for example %IW{FIRST_BYTE['in']}."
        )
    in_range("number of words", count, 1, MOST_WORDS, source="as many as can be watched at once")
    known = _octets(line, way)
    found = []
    for at in range(start, start + count * BYTES_PER_WORD, BYTES_PER_WORD):
        high, low = known.get(at), known.get(at + 1)
        names = " and ".join(dict.fromkeys(octet[0] for octet in (high, low) if octet))
        whole = high is not None and low is not None and high[1] is not None and low[1] is not None
        value = (high[1] << 8 | low[1]) if whole else None  # type: ignore[index,operator]
        found.append(Word(f"%{AREA[way]}W{at}", names, value))
    return tuple(found)


def _octets(line: Line, way: str) -> dict[int, tuple[str, int | None]]:
    """Each byte of the image: whose it is, and its value."""
    stretches = {one.station: one for one in image(line).of(way)}
    known: dict[int, tuple[str, int | None]] = {}
    for handler in line.handlers:
        if handler.name not in stretches:
            continue
        stretch = stretches[handler.name]
        values = handler.inputs if way == "in" else handler.outputs
        for n in range(stretch.length_bytes):
            known[stretch.first_byte + n] = handler.name, None if values is None else values[n]
    return known


def shown(value: int | None, display: str) -> str:
    """A word as the sheet shows it.

    >>> shown(0xFFFE, "signed"), shown(0x047F, "hexadecimal"), shown(None, "unsigned")
    ('-2', '16#047F', 'not valid')
    """
    one_of("display", display, DISPLAYS)
    if value is None:
        return "not valid"
    if display == HEX:
        return spelled(value)
    if display == BINARY:
        return pattern(value)
    return str(signed(value) if display == SIGNED else value)


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


def _output(line: Line, address: str, value: int) -> tuple[Stretch, int, int]:
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
