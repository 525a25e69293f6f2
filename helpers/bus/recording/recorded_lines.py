"""The lines of a recording: read one after the other from a text or a file, and remembered in few bytes each.

Nothing here holds a whole recording: a file of 100 MB is read piece by piece, and of a line only its place is kept.
"""

from __future__ import annotations

import io
import re
from array import array
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from typing import BinaryIO, NamedTuple, overload

from helpers.errors import Unreadable, in_range

MOST_CHARACTERS = 100_000_000
MOST_LINES = 2_500_000  # of so many, the places take 70 MB
_PIECE = 1_000_000  # characters; a longer line is read in several pieces
_LINE_END = re.compile(r"\r\n|\n|\r")


class RecordedLine(NamedTuple):
    """One line with octets: the place of its first octet in the recording (from 0), its number and time stamp."""

    first: int
    number: int
    stamp: str


class Lines(Sequence[RecordedLine]):
    """The lines with octets, in order. It looks like a list of `RecordedLine`, and takes some 25 bytes for each."""

    def __init__(self) -> None:
        self._first, self._number, self._stamp_end = array("Q"), array("Q"), array("Q")
        self._stamps = bytearray()

    def add(self, first: int, number: int, stamp: str) -> None:
        """One more line behind the others."""
        self._first.append(first)
        self._number.append(number)
        self._stamps += stamp.encode("utf-8", "replace")
        self._stamp_end.append(len(self._stamps))

    def holding(self, at: int, octets: int) -> RecordedLine:
        """The line in which an octet stood; the recording has so many octets. Raises `OutOfRange`."""
        in_range("place of an octet", at, 0, octets - 1, source="the recording")
        return self[bisect_right(self._first, at) - 1]

    def __len__(self) -> int:
        return len(self._first)

    @overload
    def __getitem__(self, at: int) -> RecordedLine: ...
    @overload
    def __getitem__(self, at: slice) -> list[RecordedLine]: ...
    def __getitem__(self, at: int | slice) -> RecordedLine | list[RecordedLine]:
        if isinstance(at, slice):
            return [self[n] for n in range(*at.indices(len(self)))]
        at = range(len(self))[at]
        begin = self._stamp_end[at - 1] if at else 0
        stamp = self._stamps[begin : self._stamp_end[at]].decode("utf-8", "replace")
        return RecordedLine(self._first[at], self._number[at], stamp)


class Source:
    """A text or an open file as numbered lines."""

    def __init__(self, recording: str | BinaryIO) -> None:
        self._recording = recording
        self._count, self._size = 0, 0
        if isinstance(recording, str):
            in_range("length of the recording", len(recording), 0, MOST_CHARACTERS, "characters")
            self._count = (recording.count("\n") or recording.count("\r")) + 1
        elif recording.seekable():
            self._size = recording.seek(0, io.SEEK_END)
            in_range("length of the recording", self._size, 0, MOST_CHARACTERS, "bytes")
            recording.seek(0)

    def share_at(self, number: int) -> float:
        """How much of the recording is given with this line, 0 to 1; 0 for a pipe, whose end is not known."""
        if isinstance(self._recording, str):
            return number / self._count
        return min(self._recording.tell() / self._size, 0.999) if self._size else 0.0

    def __iter__(self) -> Iterator[tuple[int, str]]:
        """Every line with its number. Raises `Unreadable` where the recording goes on beyond all bounds."""
        for number, line in self._of_text() if isinstance(self._recording, str) else self._of_file(self._recording):
            if number > MOST_LINES:
                raise Unreadable(
                    f"the recording has more than {MOST_LINES} lines, which is what is allowed; cut it into several."
                )
            yield number, line

    def _of_text(self) -> Iterator[tuple[int, str]]:
        text = str(self._recording).removeprefix("\ufeff")
        number, begin = 0, 0
        for number, end in enumerate(_LINE_END.finditer(text), 1):
            yield number, text[begin : end.start()]
            begin = end.end()
        yield number + 1, text[begin:]

    def _of_file(self, file: BinaryIO) -> Iterator[tuple[int, str]]:
        text = io.TextIOWrapper(file, encoding="utf-8-sig", errors="replace")
        number, taken, begun = 1, 0, ""
        try:
            while piece := text.readline(_PIECE):
                taken += len(piece)
                if taken > MOST_CHARACTERS:  # a pipe without end
                    raise Unreadable(
                        f"the recording has more than {MOST_CHARACTERS} characters, which is what is allowed."
                    )
                if piece.endswith("\n"):
                    yield number, begun + piece[:-1]
                    number, begun = number + 1, ""
                else:  # a part of a very long line, up to its last blank
                    whole, blank, rest = (begun + piece).rpartition(" ")
                    yield number, whole if blank else rest
                    begun = rest if blank else ""
            yield number, begun
        finally:
            if not file.closed:
                text.detach()  # the file belongs to whoever opened it
