"""Reads a device description, and says of each place that is wrong: line, keyword, what was found and expected.

A real file was edited by hand many times. Its lines end in any way, its letters are Latin-1 or UTF-8, an end line is
missing. Such a file is read as far as it can be, and every problem is named, not just the first.

Frame, sections and blocks: ISO 15745-3:2003, annex on the device description, p.133 and p.188.
"""

from __future__ import annotations

import codecs
from pathlib import Path

from helpers import facts
from helpers.device.description.build import Sorter, built
from helpers.device.description.grammar import lines
from helpers.device.description.model import Description
from helpers.errors import Unreadable
from helpers.files import read_bounded

MOST_BYTES = 10_000_000
MOST_LINES = 200_000  # a long description has half as many

# How the name of such a file may end: one ending for each language.
ENDINGS = tuple(row["ending"] for row in facts.rows("description_languages"))


def read_description(source: str | Path | bytes, file_name: str = "") -> Description:
    r"""A device description.

    Parameters: source, the name of a file, or its octets; file_name, the name to go with octets.
    Return: a `Description`; what could not be read is in its `problems`, in the order of the lines.
    Errors: `Unreadable` if the file can't be opened, or no line of it is one of a device description.

    >>> found = read_description(b'#Profibus_DP\nVendor_Name = "Mill"\nMax_Module = many\n')
    >>> found.text("vendor_name"), [problem.text for problem in found.problems]
    ('Mill', ["line 3, Max_Module: found 'many'; expected a number from 0 to 255."])
    """
    if not isinstance(source, bytes):
        path = Path(source)
        source, file_name = read_bounded(path, MOST_BYTES), file_name or path.name
    text, encoding = decode_text(source)
    if text.count("\n") + text.count("\r") > 2 * MOST_LINES:  # a line ends with one of them or with both
        raise Unreadable(f"{file_name or 'the file'} has too many lines; allowed are {MOST_LINES}.")
    rows = lines(text)
    sorted_rows = Sorter(rows)
    sorted_rows.sort()
    if not (sorted_rows.top.statements or sorted_rows.top.blocks):
        raise Unreadable(
            f"{file_name or 'the file'} is no device description: none of its lines begins with a keyword of one "
            "(ISO 15745-3:2003, annex on the device description, p.188)."
        )
    return built(sorted_rows, rows, file_name, encoding)


def decode_text(octets: bytes) -> tuple[str, str]:
    """The text of a file and how its letters are coded: by its mark at the start, else UTF-8, else Latin-1.

    >>> decode_text("Lüfter".encode("latin-1"))
    ('Lüfter', 'Latin-1')
    """
    for mark, name in ((codecs.BOM_UTF16_LE, "UTF-16-LE"), (codecs.BOM_UTF16_BE, "UTF-16-BE")):
        if octets.startswith(mark):
            return octets[len(mark) :].decode(name, errors="replace"), name
    octets = octets.removeprefix(codecs.BOM_UTF8)
    try:
        text, name = octets.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        text, name = octets.decode("latin-1"), "Latin-1"
    return text.rstrip("\x1a\x00"), "ASCII" if text.isascii() else name  # 1A ends a file on some old computers
