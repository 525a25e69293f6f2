"""A segment as people write it down while they walk along the cable: one device a line, the cable before it first.

    controller
    1.5 m engineering computer
    4 m dryer fan 1
    280 ft dryer fan 2, stub 2 m, 40 pF, type B

Columns pasted from a spreadsheet do as well: cable, name, stub, capacitance.
"""

from __future__ import annotations

import re
from dataclasses import replace

from helpers.bus.cable.laid import Piece, Plug, Segment, even_line
from helpers.bus.cable.termination import terminated
from helpers.errors import OutOfRange, Unreadable, in_range
from helpers.quantity import quantity
from helpers.written import read_quantity

MOST_DEVICES = 200
_KINDS = (
    ("repeater", ("repeater",)),
    ("engineering computer", ("engineering", "computer", "laptop")),
    ("controller", ("controller", "master", "plc")),
    ("remote I/O", ("i/o",)),
    ("coupler", ("coupler",)),
    ("terminator", ("terminator",)),
)
_LENGTH = r"[\d.,]+\s*(?:mm|cm|km|m|ft|in)?"


def read_segment(text: str, *, bit_rate: float, cable: str = "A", name: str = "segment") -> Segment:
    r"""The segment of a list. Its terminators are as `helpers.bus.cable.termination.terminated` wants them.

    Parameters: text; bit_rate in bit/s; cable, the type where a line does not say its own. The kind of a
    device is taken from its name: `repeater`, `controller`, `computer`, `I/O`, `coupler`, `terminator`, and a
    drive for all others. A name given twice is numbered.
    Raises `Unreadable` for a line that cannot be told apart, naming it; `OutOfRange` for a list too long or short.

    >>> line = read_segment("controller\n4 m fan 1\n1.5 m fan 2, stub 2 m, 40 pF", bit_rate=500_000)
    >>> line.length_m, line.plugs[2].stub_length_m, line.plugs[0].kind
    (5.5, 2.0, 'controller')
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    in_range("number of devices", len(lines), 2, MOST_DEVICES, source="a cable has two ends; 200 are what is drawn")
    plugs: list[Plug] = []
    pieces: list[Piece] = []
    for number, line in enumerate(lines, 1):
        length_m, plug, kind = _line(line, number, cable)
        times = sum(d.name == plug.name or d.name.startswith(f"{plug.name} (") for d in plugs)
        plugs.append(_renamed(plug, times + 1))
        if number > 1:
            pieces.append(Piece(length_m, kind))
    return terminated(Segment(name, tuple(plugs), tuple(pieces), bit_rate))


def _line(line: str, number: int, cable: str) -> tuple[float, Plug, str]:
    """The cable before a device in m, the device, and the type of that cable."""
    cells = [cell.strip() for cell in line.split("\t")]
    if len(cells) > 1:
        cells = [" ".join(filter(None, cells[:2])), *filter(None, cells[2:])]
    head, *extras = [part.strip() for cell in cells for part in re.split(r";|,\s+", cell) if part.strip()]
    found = re.fullmatch(rf"({_LENGTH})\s+(\D.*|\d+\D.*)", head, re.IGNORECASE)
    if not found or re.fullmatch(_LENGTH, head, re.IGNORECASE):
        if number > 1 or head[0].isdecimal():
            raise Unreadable(
                f"line {number}, {line[:40]!r}: write the cable from the device before first, then the name, as in "
                "4 m dryer fan 1."
            )
        length_m, name = 0.0, head
    else:
        length_m, name = read_quantity(found[1], "length", "m"), found[2].strip()
    if number == 1 and length_m:
        raise OutOfRange(
            f"line 1, {line[:40]!r}, has {quantity(length_m, 'm')} of cable before it; allowed is none: the cable "
            "begins here."
        )
    stub_m, stub_f = 0.0, 0.0
    for extra in extras:
        said = extra.casefold().removeprefix("stub").strip()
        if of_type := re.fullmatch(r"(?:cable\s+)?type\s+(\w+)", said):
            cable = of_type[1].upper()
        elif re.search(r"\d\s*[pnu]?f$", said):
            stub_f = read_quantity(said, "capacitance", "pF")
        elif re.fullmatch(_LENGTH, said):
            stub_m = read_quantity(said, "length", "m")
        else:
            raise Unreadable(
                f"line {number}, {extra[:40]!r} is not known; after the name may stand stub 2 m, 40 pF, type B."
            )
    plug = Plug(name, _kind(name), stub_length_m=stub_m, stub_cable=cable, stub_capacitance_f=stub_f)
    return length_m, plug, cable


def _renamed(plug: Plug, number: int) -> Plug:
    return replace(plug, name=f"{plug.name} ({number})") if number > 1 else plug


def _kind(name: str) -> str:
    said = name.casefold()
    return next((kind for kind, words in _KINDS if any(word in said for word in words)), "drive")


def write_segment(segment: Segment) -> str:
    r"""The segment as `read_segment` reads it, one device a line.

    >>> print(write_segment(read_segment("controller\n4 m fan, stub 20 cm", bit_rate=500_000)))
    controller
    4 m fan, stub 0.2 m
    """
    lines = []
    for n, plug in enumerate(segment.plugs):
        parts = [plug.name]
        if n:
            parts[0] = f"{quantity(segment.pieces[n - 1].length_m, 'm')} {plug.name}"
        if plug.stub_length_m:
            parts.append(f"stub {quantity(plug.stub_length_m, 'm')}")
        if plug.stub_capacitance_f:
            parts.append(quantity(plug.stub_capacitance_f * 1e12, "pF"))
        if n and segment.pieces[n - 1].cable != "A":
            parts.append(f"type {segment.pieces[n - 1].cable}")
        lines.append(", ".join(parts))
    return "\n".join(lines)


def cabinet_line(
    *,
    stations: int,
    length_m: float,
    bit_rate: float,
    spacing_m: float | None = None,
    cable: str = "A",
    stub_length_m: float = 0.0,
    stub_capacitance_f: float = 0.0,
) -> Segment:
    """A controller and its stations on one cable type; the stations evenly spread, or together in one cabinet.

    With `spacing_m` the stations stand that far apart at the far end, and the rest of the cable is the way from the
    controller to them. Every station between the ends has a stub of that length and that capacitance in its
    device. Terminators as `terminated` wants them. Raises `OutOfRange` if the stations need more cable than there is.

    >>> line = cabinet_line(stations=5, length_m=100, bit_rate=12_000_000, spacing_m=0.5)
    >>> [piece.length_m for piece in line.pieces]
    [98.5, 0.5, 0.5, 0.5]
    """
    line = even_line(stations=stations, length_m=length_m, bit_rate=bit_rate, cable=cable, stub_length_m=stub_length_m)
    if spacing_m is not None:
        together_m = spacing_m * (stations - 2)
        if together_m > length_m:
            raise OutOfRange(
                f"{stations - 1} stations {quantity(spacing_m, 'm')} apart take {quantity(together_m, 'm')} of cable; "
                f"allowed is at most the whole length, {quantity(length_m, 'm')}."
            )
        way = Piece(round(length_m - together_m, 6), cable)
        line = replace(line, pieces=(way, *(Piece(spacing_m, cable),) * (stations - 2)))
    inside = tuple(
        replace(plug, stub_capacitance_f=stub_capacitance_f if 0 < n < stations - 1 else 0.0)
        for n, plug in enumerate(line.plugs)
    )
    return terminated(replace(line, plugs=inside))
