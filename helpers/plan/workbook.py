"""Looks into an .xlsx file before it is expanded, so that a small file can't become minutes and gigabytes.

An .xlsx file is a zip of XML parts. What it claims is counted part by part: bytes before they are unpacked, elements
while they stream by, and the cells that a merge or a link covers, of which the reader would make one object each.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping
from typing import IO
from xml.parsers import expat

from helpers.errors import Unreadable

# A full plan unpacks to 0.2 MB and 10 000 elements; six times as many still open in a second or two.
_MOST_UNPACKED = 6_000_000  # bytes of all parts, whatever they are called
MOST_CELLS = 60_000  # elements of XML, cells covered and pieces of lists
_MOST_PARTS = 500
_PIECE = 64_000  # bytes unpacked at a time
_RANGE = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7}):\$?([A-Z]{1,3})\$?(\d{1,7})")

_TIDY = "Delete the empty rows and columns behind the tables, or copy the tables into a new workbook."


def check_size(name: str, content: bytes) -> None:
    """Raise `Unreadable` if a workbook would grow beyond what a plan needs. Other errors: as `zipfile` raises them."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        parts = packed.infolist()
        # No part gives more bytes than it claims: zipfile stops there.
        size = sum(part.file_size for part in parts)
        if size > _MOST_UNPACKED:
            raise Unreadable(
                f"{name!r} unpacks to {size / 1e6:.1f} MB of cells; allowed are {_MOST_UNPACKED / 1e6:.0f} MB. {_TIDY}"
            )
        if len(parts) > _MOST_PARTS:
            raise Unreadable(f"{name!r} is packed in {len(parts)} parts; allowed are {_MOST_PARTS}. {_TIDY}")
        counter = _Counter(name)
        for part in parts:
            with packed.open(part) as unpacked:
                counter.count(unpacked)


class _Counter:
    """Counts what the parts of one workbook would become."""

    def __init__(self, name: str) -> None:
        self._name, self._found = name, 0

    def count(self, unpacked: IO[bytes]) -> None:
        parser = expat.ParserCreate()
        parser.StartElementHandler = self._element
        parser.StartDoctypeDeclHandler = self._doctype
        try:
            while piece := unpacked.read(_PIECE):
                parser.Parse(piece)
        except expat.ExpatError:
            return  # a picture, or damaged: the reader would get no further in it either

    def _element(self, element: str, attributes: Mapping[str, str]) -> None:
        self._found += 1
        for value in attributes.values():
            self._found += value.count(" ") + value.count(",")
        covered = element.rpartition(":")[2] in ("mergeCell", "hyperlink") and _RANGE.fullmatch(
            attributes.get("ref", "")
        )
        if covered:
            left, top, right, bottom = covered.groups()
            rows, columns = int(bottom) - int(top) + 1, _number(right) - _number(left) + 1
            self._found += max(rows, 0) * max(columns, 0)
            if self._found > MOST_CELLS:
                raise Unreadable(
                    f"{self._name!r} merges or links the cells {covered[0]}, {rows * columns} of them; allowed are "
                    f"{MOST_CELLS} cells in all. Split those cells, or merge only those within the table."
                )
        if self._found > MOST_CELLS:
            raise Unreadable(
                f"{self._name!r} holds more than {MOST_CELLS} cells and other entries, formatted empty ones "
                f"included, which is what is allowed. {_TIDY}"
            )

    def _doctype(self, *_: object) -> None:
        raise Unreadable(f"{self._name!r} declares a document type, which no spreadsheet program writes.")


def _number(letters: str) -> int:
    """The number of a column: A is 1, AA is 27."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number
