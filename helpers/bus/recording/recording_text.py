r"""A recording as people paste it: hexadecimal octets in any usual spelling, with or without time columns.

A line may begin with a number, a time stamp, an offset or a label; the rest of it is octets:

    12:34:56.789  10 02 01 49 4C 16          0x10, 0x02, 0x01, 0x49, 0x4C, 0x16
    0010: 10 02 01 49 4C 16                  16#10 16#02 16#01 16#49 16#4C 16#16
    [0,001234] Tx: 100201494C16              10h 02h 01h 49h 4Ch 16h
    7) 10-02-01-49-4C-16                     "\x10\x02\x01\x49\x4C\x16"
    7;0.001234;1;2;10 02 01 49 4C 16         0.001234,0x10,,
    0.001234  [06]  10 02 01 49 4C 16        7,0.001234,10,02,01,49,4C,16

The last lines hold rows of a table as other programs save it: some column holds the octets, the others are left out
(`helpers.bus.recording.columns`). A number in brackets counts the line or its octets. A bare number in front, such as
`12 10 02 01`, is read as an octet: it can't be told from one. A line is read as far as it can be; a sentence says
which line and what stopped it. Which telegrams the octets hold is told by `helpers.bus.telegram.frame`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from typing import BinaryIO, NamedTuple

from helpers.bus.recording import columns
from helpers.bus.recording.columns import Columns
from helpers.bus.recording.recorded_lines import Lines, RecordedLine, Source
from helpers.bus.telegram import hexadecimal
from helpers.errors import Unreadable

MOST_PROBLEMS = 100  # sentences kept; a page of prose would give one for each line
LINES_A_STEP = 2_000

_ARROW = r"(?:[-=]{0,9}[>→]{1,9}|[<←]{1,9}[-=]{0,9})"
# What may stand in front of the octets: number of the line, time stamp, offset, label, arrow.
_FRONT = re.compile(
    rf"""\s*(?:
      (?P<number>\#?\d{{1,9}}\)|\#\d{{1,9}}:?|\d{{1,9}}\.)(?=\s)
      |[\[(<]?(?P<stamp>{columns.DATE}{columns.CLOCK}|{columns.SECONDS})[\])>]?(?:[:;,]?(?=\s|$)|;)
      |\[\s?[0-9a-f]{{1,4}}\s?\](?=\s+[^\s\[])
      |(?:0x|16\#)?(?P<offset>[0-9a-f]{{2,16}})h?:(?=\s|$)
      |(?P<label>(?![0-9a-f]+h(?![0-9a-z])|d?w\#)[^\W\d_]{{0,20}}[g-z][^\s:,;]{{0,30}}(?::|(?=\s|$)))
      |\d{{1,3}}\s?{_ARROW}\s?\d{{1,3}}:?(?=\s|$)
      |{_ARROW}:?(?=\s|$)
    )""",
    re.VERBOSE | re.IGNORECASE,
)
_BARE_OFFSET = re.compile(r"\s*([0-9a-f]{4,16})(?:\s|$)", re.IGNORECASE)


class UnreadLine(NamedTuple):
    """What could not be read: the number of the line, and a sentence."""

    line: int
    sentence: str


class _Front(NamedTuple):
    """What stands in front of the octets of a line, and where it ends; `dumped` says that it is an offset."""

    stamp: str
    dumped: bool
    labelled: bool
    end: int


@dataclass(frozen=True)
class Capture:
    """A pasted recording: all octets, the lines they stood in, and what could not be read.

    `unread` counts the lines with a problem; `problems` holds the first 100 of them.
    """

    octets: bytes
    lines: Lines
    problems: tuple[UnreadLine, ...] = ()
    unread: int = 0

    def line_of(self, at: int) -> RecordedLine:
        r"""The line in which the octet at this place stood.

        >>> read("10 02 01\n49 4C 16").line_of(4)
        RecordedLine(first=3, number=2, stamp='')
        """
        return self.lines.holding(at, len(self.octets))

    def place(self, at: int) -> str:
        r"""The place of an octet for a person: its line, and which octet of the line it is.

        >>> read("10 02 01\n49 4C 16").place(4)
        'line 2, octet 2'
        """
        line = self.line_of(at)
        return f"line {line.number}, octet {at - line.first + 1}"


class Reader:
    """Reads a recording, a text or an open file, in steps, so that a long one can show how far it is and be stopped.

    >>> reader = Reader("0.001 10 02 01 49 4C 16")
    >>> for share in reader:
    ...     print(f"{share:.0%}")
    100%
    >>> reader.capture.octets.hex(" ").upper(), reader.capture.lines[0].stamp
    ('10 02 01 49 4C 16', '0.001')
    """

    def __init__(self, recording: str | BinaryIO) -> None:
        self._source = Source(recording)
        self.octets = bytearray()  # read so far; not to be changed by others
        self._lines = Lines()
        self._problems: list[UnreadLine] = []
        self._unread = 0
        self._columns: Columns | None = None
        self._dump = 0  # where the octets begin to which bare offsets count

    @property
    def capture(self) -> Capture:
        """What has been read so far. Raises `Unreadable` if that holds no octets at all."""
        if not self.octets:
            why = f" Line {self._problems[0].line}: {self._problems[0].sentence}" if self._problems else ""
            raise Unreadable(
                f"the recording holds no octets; paste them as hexadecimal, for example 10 02 01 49 4C 16.{why}"
            )
        return Capture(bytes(self.octets), self._lines, tuple(self._problems), self._unread)

    @property
    def unread(self) -> int:
        """How many lines could not be read so far."""
        return self._unread

    @property
    def problems(self) -> tuple[UnreadLine, ...]:
        """The first lines that could not be read so far."""
        return tuple(self._problems)

    def line_at(self, at: int) -> RecordedLine:
        """The line in which an octet stood that has been read; as `Capture.line_of`, without a copy of everything."""
        return self._lines.holding(at, len(self.octets))

    def __iter__(self) -> Iterator[float]:
        """Read all lines; gives the share done, 0 to 1, after every 2000 lines. Whoever has enough just stops."""
        lines = iter(self._source)
        first = list(islice(lines, 10 * columns.ROWS_LOOKED_AT))
        self._columns = self._table([line for _, line in first])
        for number, line in chain(first, lines):
            if line and not line.isspace():
                self._take(number, line)
            if number % LINES_A_STEP == 0 and (share := self._source.share_at(number)) < 1:
                yield share
        yield 1.0

    def _take(self, number: int, line: str) -> None:
        if self._columns and (cells := self._columns.cells(line)):
            stamp, written = self._columns.of(cells)
            octets, unread = hexadecimal.read(written)
            if unread or not octets:
                self._complain(number, octets, unread, line)
        else:
            stamp, octets = self._plainly(number, line)
        if octets:
            self._lines.add(len(self.octets), number, stamp)
            self.octets += octets

    def _plainly(self, number: int, line: str) -> tuple[str, bytes]:
        """Time stamp and octets of a line without columns."""
        # Most lines are octets and nothing else. One that begins with a longer piece may begin with an offset.
        if line[2:3] in (" ", ",") and (octets := hexadecimal.plain(line)):
            return "", octets
        front = self._front(line)
        octets, unread = hexadecimal.read(line[front.end :], front.dumped)
        if unread or (not octets and (front.labelled or not front.stamp) and not front.dumped):
            self._complain(number, octets, unread, line)
        return front.stamp, octets

    def _table(self, lines: Sequence[str]) -> Columns | None:
        """The columns, if the recording was saved as a table."""
        first = [line for line in lines if line and not line.isspace()]
        return columns.find(
            first[: columns.ROWS_LOOKED_AT], lambda line: hexadecimal.read(line[self._front(line).end :])
        )

    def _front(self, line: str) -> _Front:
        """What stands in front of the octets."""
        stamp, at, dumped, labelled = "", 0, False, False
        while found := _FRONT.match(line, at):
            stamp = stamp or found["stamp"] or ""
            dumped = dumped or bool(found["offset"])
            labelled = labelled or bool(found["label"])
            at = found.end()
        if not dumped and (found := _BARE_OFFSET.match(line, at)) and self._is_offset(found[1], line[found.end() :]):
            return _Front(stamp, True, labelled, found.end())
        return _Front(stamp, dumped, labelled, at)

    def _is_offset(self, digits: str, rest: str) -> bool:
        """True for a bare number that counts the octets before it; the octets themselves stand in other groups."""
        group = hexadecimal.BETWEEN.split(rest.strip(), maxsplit=1)[0]
        if len(group) == len(digits):
            return False
        if not int(digits, 16):
            self._dump = len(self.octets)
        counted = len(self.octets) - self._dump
        return counted in (int(digits, 16), int(digits) if digits.isdecimal() else -1)

    def _complain(self, number: int, octets: bytes, unread: str, line: str) -> None:
        if not any(sign.isalnum() for sign in line.partition("//")[0]):
            return  # a ruler of dashes, or a remark
        self._unread += 1
        if len(self._problems) < MOST_PROBLEMS:
            self._problems.append(UnreadLine(number, _sentence(octets, unread, line.strip())))


def read(text: str) -> Capture:
    r"""A whole recording at once.

    Parameters: text, as pasted. Raises `Unreadable` if it holds no octets at all, `OutOfRange` if it is too long.

    >>> found = read("12:00:01.5 0x10, 0x02, 0x01, 0x49, 0x4C, 0x16\n12:00:01.7 answer missing")
    >>> found.octets.hex(" ").upper()
    '10 02 01 49 4C 16'
    >>> found.problems[0].sentence
    "'12:00:01.7 answer missing' holds no octets; write two hexadecimal digits for each, for example 10 02 01."
    """
    reader = Reader(text)
    for _ in reader:
        pass
    return reader.capture


def skipped(lines: int) -> str:
    """How many lines were skipped, for the heading of a recording; empty if none was.

    >>> skipped(1), skipped(0)
    ('1 line skipped in whole or in part', '')
    """
    return f"{lines} line{'s' if lines > 1 else ''} skipped in whole or in part" if lines else ""


def _sentence(octets: bytes, unread: str, line: str) -> str:
    shown = line if len(line) <= 40 else line[:37] + "…"
    if not unread or not (octets or hexadecimal.WRITTEN.fullmatch(unread)):
        return f"{shown!r} holds no octets; write two hexadecimal digits for each, for example 10 02 01."
    piece = unread if len(unread) <= 20 else unread[:17] + "…"
    far = f"{len(octets)} octet{'s' if len(octets) != 1 else ''} of the line are read, then"
    if re.fullmatch("[0-9a-fA-F]+", unread):
        odd = f"{far} {piece!r} has an odd number of digits; write two for each octet, for example 0{unread[-1]}."
        counts = not octets and unread.isdecimal() and line != unread
        return odd + (
            f" If it only counts or tells the time, put a colon behind it, as in {piece}: 10 02." if counts else ""
        )
    return f"{far} {piece!r} is not hexadecimal; the rest of the line is left out."
