"""A long recording, read in slices: counts per station and kind, where the errors are, and a window to page through.

Whoever reads decides when to stop; what was read until then stays. The telegrams themselves are not kept: there may be
hundreds of thousands. Kept are the octets, the counts, the first errors, and every few thousand telegrams a place to go
on reading from, so that a page in the middle is told with all that was known by then.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import BinaryIO, NamedTuple

from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.recorded_lines import RecordedLine
from helpers.bus.recording.telegram_meaning import DAMAGED, REQUEST, RUBBISH, TOKEN, Telegram
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.frame import ABSENT
from helpers.errors import Unreadable, in_range

MOST_ERRORS = 200  # errors kept with their place; all are counted
TELEGRAMS_A_STEP = 1_000
MARK_EVERY = 2_000  # telegrams between two places to go on from
_HELD = 600  # octets: a telegram and the one behind it, which the reader looks at too
_LONGEST_RUBBISH = 20_000  # octets; more of it in one piece is told in several


class Mark(NamedTuple):
    """A place to go on reading from: number and place of the next piece, and what was known by then."""

    number: int
    at: int
    reader: telegram_meaning.TelegramReader


class Count(NamedTuple):
    """What a station took part in. `silent` counts its requests that stayed without an answer."""

    address: int
    requests: int
    answers: int
    silent: int
    repeated: int
    diagnosis: int


class Noted(NamedTuple):
    """Something unusual: the number of the telegram, the line it stands in, and a sentence."""

    number: int
    line: int
    kind: str
    sentence: str


# Words that a remark holds; damage and rubbish are told by their role.
SILENT, REPEATED, UNASKED = "no answer", "repeated", "nobody asked"


class Recording:
    r"""Reads a recording step by step and counts while it goes.

    >>> whole = Recording("DC 01 01\n10 02 01 49 4C 16")
    >>> shares = list(whole)
    >>> whole.telegrams, whole.finished, whole.page(2)[0].remark
    (2, True, 'no answer')
    """

    def __init__(self, recording: str | BinaryIO) -> None:
        self._lines = recording_text.Reader(recording)
        self._octets = self._lines.octets
        self._reader = telegram_meaning.TelegramReader()
        self._asked = ABSENT  # the station that was asked last
        self._at, self._found = 0, 0  # octets told in pieces, and how many pieces
        self._marks = [Mark(1, 0, self._reader.copy())]
        self.telegrams = 0
        self.finished = False
        self.kinds: Counter[str] = Counter()
        self.services: Counter[str] = Counter()
        self.unusual: Counter[str] = Counter()
        self.errors: list[Noted] = []
        self._stations: dict[str, Counter[int]] = {name: Counter() for name in Count._fields[1:]}

    def __iter__(self) -> Iterator[float]:
        """Read on to the end; gives the share done after every slice. Stop asking, and what was read is kept."""
        for share in self._lines:
            for told in self._explain(last=share == 1):
                yield min(share, 0.999) * told if share == 1 else share
        for one in self._reader.rest():
            self._count(one)
        self.finished = True
        yield 1.0

    def _explain(self, *, last: bool) -> Iterator[float]:
        """Everything that can be told from the octets there are; gives the share of them after every step."""
        begin, whole = self._at, len(self._octets)
        held = whole if last else whole - _HELD
        for piece in frames.read(self._octets[begin:]):
            end = begin + piece.at + len(piece.octets)
            # A piece at the end may be cut off there, or be rubbish only because the next slice is not there yet.
            if end > held and len(piece.octets) < _LONGEST_RUBBISH:
                break
            self._found += 1
            for one in self._reader.take(self._found, piece._replace(at=begin + piece.at)):
                self._count(one)
            self._at = end
            if self._found % MARK_EVERY == 0:
                self._marks.append(Mark(self._found + 1, end, self._reader.copy()))
            if self._found % TELEGRAMS_A_STEP == 0:
                yield end / whole
        yield 1.0

    def _count(self, one: Telegram) -> None:
        self.telegrams += 1
        self.kinds[one.kind] += 1
        if one.service and one.role == REQUEST:
            self.services[one.service] += 1
        if one.kind == "SC" and one.partner:
            self._stations["answers"][self._asked] += 1  # an SC bears no address; it comes right behind its request
        elif one.frame and one.frame.da != ABSENT and one.role != TOKEN:
            asked = one.role == REQUEST
            address = one.frame.receiver if asked else one.frame.sender
            self._asked = address if asked else self._asked
            self._stations["requests" if asked else "answers"][address] += 1
            if one.service == "Slave_Diag" and asked:
                self._stations["diagnosis"][address] += 1
            if one.remark:
                self._stations["silent"][address] += SILENT in one.remark
                self._stations["repeated"][address] += REPEATED in one.remark
        if one.remark:
            self._note(one)

    def _note(self, one: Telegram) -> None:
        known = (one.role,) if one.role in (DAMAGED, RUBBISH) else (SILENT, REPEATED, UNASKED)
        kinds = [kind for kind in known if kind == one.role or kind in one.remark]
        self.unusual.update(kinds)
        if len(self.errors) < MOST_ERRORS:
            line = self._lines.line_at(one.at).number
            self.errors.append(Noted(one.number, line, ", ".join(kinds), " ".join(filter(None, (one.way, one.remark)))))

    # -- what was read ------------------------------------------------------------------------------------

    @property
    def octets(self) -> int:
        """How many octets have been read."""
        return len(self._octets)

    @property
    def unread(self) -> int:
        """How many lines could not be read."""
        return self._lines.unread

    @property
    def problems(self) -> tuple[recording_text.UnreadLine, ...]:
        """The first lines that could not be read, each with a sentence."""
        return self._lines.problems

    @property
    def stations(self) -> tuple[Count, ...]:
        """The counts of every station that was asked or has answered, by address; 127 is what went to all."""
        columns = list(self._stations.values())
        return tuple(
            Count(address, *(column[address] for column in columns))
            for address in sorted(set(columns[0]) | set(columns[1]))
        )

    def page(self, first: int, count: int = 20) -> list[Telegram]:
        """The telegrams from this number on, told with all that was known by then.

        Parameters: first, from 1; count, 1 to 1000. Raises `OutOfRange`; `Unreadable` where nothing was read.
        """
        if not self.telegrams:
            raise Unreadable("the recording holds no telegrams so far; there is no page to show.")
        in_range("telegram", first, 1, self.telegrams, source="as many as were read")
        in_range("telegrams on a page", count, 1, 1000)
        mark = max((one for one in self._marks if one.number <= first), key=lambda one: one.number)
        reader, found = mark.reader.copy(), list[Telegram]()
        for number, piece in enumerate(frames.read(self._octets[mark.at : self._at]), mark.number):
            found += reader.take(number, piece._replace(at=mark.at + piece.at))
            # A request waits for its answer, so the last of the page may come late.
            if found and found[-1].number >= first + count:
                break
        else:
            found += reader.rest()
        # Where reading was stopped, the last request may still wait for its answer: it does not count yet.
        end = min(first + count, self.telegrams + 1)
        return [one for one in found if first <= one.number < end]

    def line_of(self, one: Telegram) -> RecordedLine:
        """The line of the recording in which a telegram begins, with its time stamp."""
        return self._lines.line_at(one.at)
