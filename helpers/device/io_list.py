"""Reads a list of stations as people write it: `name, format, bus address`, one station a line.

The format is a name (`PPO 4`), or configuration identifiers (`16#11 16#21`) or bytes out/in (`2/2 bytes`). Behind it
may stand, in any order, the bus address, and start bytes chosen by hand as `%IB300` or `%QB300`.
"""

from __future__ import annotations

import re

from helpers import facts, written
from helpers.device.formats import DataFormat, by_name, configuration
from helpers.device.identifiers import Configuration
from helpers.device.io_image import Station, read_address
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError, in_range


def read_stations(text: str) -> tuple[Station, ...]:
    """The stations of a list; empty lines and lines that begin with # are passed over.

    Cells are parted by comma, semicolon or tab.
    Errors: `Unreadable`, `Unknown` or `OutOfRange`, each with the line; also for an empty list and for more stations
    than a bus has addresses (`data/address_counts.csv`).

    >>> [(one.name, one.format.bytes_in, one.bus_address) for one in read_stations("Fan 1, PPO 4, 12")]
    [('Fan 1', 12, 12)]
    >>> read_stations("Switches; 16#10; %IB40")[0].first_in
    40
    """
    found: list[Station] = []
    most, source = _addresses()
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        try:
            found.append(_station(line))
        except WorkbookError as error:
            raise type(error)(f"line {number}: {error}") from None
        if len(found) > most:
            raise OutOfRange(f"the list has more stations than the {most} that a bus can have ({source}).")
    if not found:
        raise Unreadable("the list is empty; write one station a line, for example: Fan 1, PPO 4, 12.")
    return tuple(found)


def _station(line: str) -> Station:
    cells = [cell.strip() for cell in re.split(r"[,;\t]", line)]
    if len(cells) < 2 or not cells[0] or not cells[1]:
        raise Unreadable(f"{line.strip()[:60]!r} is not a station; write for example: Fan 1, PPO 4, 12.")
    bus_address = first_in = first_out = None
    for cell in filter(None, cells[2:]):
        if cell.startswith("%"):
            way, first, _ = read_address(cell)
            first_in, first_out = (first, first_out) if way == "in" else (first_in, first)
        else:
            most, source = _addresses()
            bus_address = written.whole(cell)
            in_range("bus address", bus_address, 0, most - 1, source=source)
    name = "".join(letter for letter in cells[0] if letter.isprintable())  # what a drawing or a file can hold
    return Station(name, _format(cells[1]), (), bus_address, first_in, first_out)


def _format(text: str) -> DataFormat | Configuration:
    try:
        return by_name(text)
    except Unknown:
        return configuration(text)


def _addresses() -> tuple[int, str]:
    """How many addresses a bus has, from 0 on, and who says so."""
    row = facts.one("address_counts", figure=126)
    return row.whole("in_operation"), row.cited
