"""Telegrams as octets: a fast reader that finds its place again after rubbish, and the writer.

    SD1    10 DA SA FC FCS 16                       no data
    SD2    68 LE LEr 68 DA SA FC data FCS 16        data of any length; LE counts DA, SA, FC and data
    SD3    A2 DA SA FC data FCS 16                  always 8 data bytes
    token  DC DA SA
    SC     E5

FCS is the sum of all octets from DA to the last data byte, modulo 256. Sources: M. Felser, PROFIBUS Manual,
telegram formats; Kipp & Zonen Combilog manual p.118 and p.120. What a telegram *means* is told by
`helpers.bus.recording.telegram_meaning`; here only its frame is read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final, NamedTuple

from helpers import facts
from helpers.errors import Unreadable, WorkbookError, in_range, one_of

_BYTES = {row["name"]: row.whole("octet") for row in facts.rows("telegram_bytes")}
SD1, SD2, SD3, SD4, ED, SC = (_BYTES[name] for name in ("SD1", "SD2", "SD3", "SD4", "ED", "SC"))
_SD2_ROW = facts.one("telegram_lengths", telegram="SD2")
_OCTETS = {row["telegram"]: row.whole("octets") for row in facts.rows("telegram_lengths")}
SD3_DATA: Final = _OCTETS["SD3"] - _OCTETS["SD1"]
# LE counts DA, SA and FC beside the data.
LE_LEAST: Final = _SD2_ROW.whole("data_least") + 3
LE_MOST: Final = _SD2_ROW.whole("data_most") + 3
ABSENT: Final = -1
EXTENDED: Final = 0x80  # bit 7 of DA or SA: the number of a service access point follows (from memory)
# The highest address that can hold the token; the one above speaks to all and is no station's.
HIGHEST_TOKEN: Final = facts.one("address_ranges", meaning="broadcast").whole("low") - 1

_START = re.compile(b"[%s]" % re.escape(bytes((SD1, SD2, SD3, SD4, SC))))
_FORMATS = "M. Felser, PROFIBUS Manual, telegram formats"
# Names of `telegram_lengths` by their first octet.
_KINDS = {row.whole("octet"): row["telegram"] for row in facts.rows("telegram_bytes") if row.has("telegram")}


class Frame(NamedTuple):
    """One telegram without its delimiters, lengths and check sum.

    `kind` is SD1, SD2, SD3, token or SC. `da`, `sa` and `fc` are the octets as they stand in the telegram;
    `ABSENT` (-1) where there are none. `data` holds everything from FC to FCS, access points included.
    """

    kind: str
    da: int = ABSENT
    sa: int = ABSENT
    fc: int = ABSENT
    data: bytes = b""

    @property
    def receiver(self) -> int:
        """The address the telegram goes to, or `ABSENT`."""
        return self.da if self.da < 0 else self.da & ~EXTENDED

    @property
    def sender(self) -> int:
        """The address the telegram comes from, or `ABSENT`."""
        return self.sa if self.sa < 0 else self.sa & ~EXTENDED

    @property
    def dsap(self) -> int:
        """The receiver's service access point, or `ABSENT`."""
        return self.data[0] if self.da >= EXTENDED and self.data else ABSENT

    @property
    def ssap(self) -> int:
        """The sender's service access point, or `ABSENT`."""
        at = self.da >= EXTENDED
        return self.data[at] if self.sa >= EXTENDED and len(self.data) > at else ABSENT

    @property
    def user_data(self) -> bytes:
        """The data without the access points in front of it."""
        return self.data[(self.da >= EXTENDED) + (self.sa >= EXTENDED) :] if self.da >= 0 else b""

    @property
    def octets(self) -> bytes:
        """The telegram as it goes over the wire."""
        return write(self)


class Found(NamedTuple):
    """One piece of a recording: the place of its first octet (from 0), its octets, and the telegram.

    Where there is no telegram, `frame` is None and `problem` is a sentence that says what is wrong and at
    which octet. A piece is then either one telegram with a single wrong octet (`damaged`), or rubbish of any length.
    """

    at: int
    octets: bytes
    frame: Frame | None
    problem: str = ""
    damaged: bool = False


def frame(*, to: int, sender: int, fc: int, data: bytes = b"", dsap: int = ABSENT, ssap: int = ABSENT) -> Frame:
    """A telegram from what it is to say: SD1 where there is nothing but the function code, else SD2.

    Parameters: to and sender, addresses 0 to 127; fc, the function code; data, user data; dsap and ssap, the
    access points of receiver and sender, left out where there are none. Raises `OutOfRange`, also for more data than
    one telegram holds.

    >>> frame(to=5, sender=1, fc=0x6D, dsap=60, ssap=62).octets.hex(" ").upper()
    '68 05 05 68 85 81 6D 3C 3E ED 16'
    """
    for name, address in (("receiver's address", to), ("sender's address", sender)):
        in_range(name, address, 0, 127, source="M. Felser, PROFIBUS Manual, addressing")
    named = bytes(sap for sap in (_octet("DSAP", dsap), _octet("SSAP", ssap)) if sap >= 0)
    da, sa = (to | EXTENDED * (dsap != ABSENT), sender | EXTENDED * (ssap != ABSENT))
    whole = named + bytes(data)
    in_range("data with its access points", len(whole), 0, LE_MOST - 3, "byte", _FORMATS)
    return Frame("SD2" if whole else "SD1", da, sa, _octet("FC", fc), whole)


def _octet(name: str, value: int) -> int:
    if value != ABSENT:
        in_range(name, value, 0, 0xFF, source="one octet")
    return value


def fcs(octets: bytes) -> int:
    """The check sum of all octets from DA to the last data byte: their sum modulo 256.

    Source: Kipp & Zonen Combilog manual p.120, Gantner IDL101 manual p.73.

    >>> hex(fcs(bytes.fromhex("02 01 49")))
    '0x4c'
    """
    return sum(octets) & 0xFF


def write(telegram: Frame) -> bytes:
    """The octets of a telegram.

    Raises `Unknown` for a kind that does not exist, `OutOfRange` for a value or an amount of data that the
    kind can't carry, `Unreadable` for parts that it does not have. Source: M. Felser, PROFIBUS Manual, telegram
    formats.

    >>> write(Frame("SD1", 2, 1, 0x49)).hex(" ").upper()
    '10 02 01 49 4C 16'
    >>> write(Frame("token", 1, 1)).hex(" ").upper(), write(Frame("SC")).hex().upper()
    ('DC 01 01', 'E5')
    """
    kind, da, sa, fc, data = telegram
    size = len(data)
    try:
        if kind == "SD2" and size in _SD2_SIZES:
            le = size + 3
            return bytes((SD2, le, le, SD2, da, sa, fc)) + data + bytes(((da + sa + fc + sum(data)) & 0xFF, ED))
        if kind == "SD1" and not size:
            return bytes((SD1, da, sa, fc, (da + sa + fc) & 0xFF, ED))
        if kind == "token" and not size and fc == ABSENT and da <= HIGHEST_TOKEN >= sa:
            return bytes((SD4, da, sa))
        if kind == "SD3" and size == SD3_DATA:
            return bytes((SD3, da, sa, fc)) + data + bytes(((da + sa + fc + sum(data)) & 0xFF, ED))
    except ValueError:
        pass  # an octet outside 0 to 255: told below
    if telegram == _SHORT:
        return _SHORT_OCTETS
    raise _refusal(telegram)


_SD2_SIZES = range(LE_LEAST - 3, LE_MOST - 3 + 1)
_SHORT = Frame("SC")
_SHORT_OCTETS = bytes((SC,))


def _refusal(telegram: Frame) -> WorkbookError:
    """Why a telegram can't be written."""
    kind, da, sa, fc, data = telegram
    try:
        one_of("kind of telegram", kind, _KINDS.values())
        if kind == "SC":
            raise Unreadable(f"SC is one octet; it has no addresses, no function code and no data ({_FORMATS}).")
        most = HIGHEST_TOKEN if kind == "token" else 0xFF
        in_range("DA", da, 0, most, source=_FORMATS)
        in_range("SA", sa, 0, most, source=_FORMATS)
        sizes = {"SD2": _SD2_SIZES, "SD3": range(SD3_DATA, SD3_DATA + 1)}.get(kind, range(1))
        in_range(f"data of {kind}", len(data), sizes[0], sizes[-1], "byte", _FORMATS)
        if kind != "token":
            in_range("FC", fc, 0, 0xFF, source=_FORMATS)
        return Unreadable(f"a token has no function code; got {fc} ({_FORMATS}).")
    except WorkbookError as refused:
        return refused


def read(octets: bytes | bytearray | memoryview) -> Iterator[Found]:
    """The telegrams of a recording one after the other, and what lies between them.

    Every octet belongs to exactly one of the pieces given. A telegram is taken only if its delimiters, both
    lengths and its check sum agree. Where one octet alone disagrees, the piece is that telegram with a
    sentence about the octet. Elsewhere the reader searches on for the next telegram, and what it passes is
    rubbish. SC and token have no check sum: behind rubbish they are believed only if a telegram, or the end,
    follows them at once. The time taken grows with the length of the recording and no faster.

    >>> for piece in read(bytes.fromhex("E5 00 41 10 02 01 49 4C 16 10 02 01 49 4D 16")):
    ...     print(piece.at, piece.frame.kind if piece.frame else piece.problem)
    0 SC
    1 16#00 begins no telegram
    3 SD1
    9 octet 5: FCS is 16#4D, but the octets from DA on add up to 16#4C; one of them or FCS is wrong
    """
    whole = bytes(octets)
    end = len(whole)
    data = whole + _PADDING
    at, lost = 0, ABSENT  # the next octet to look at, and where the rubbish before it began
    while at < end:
        found = _take(data, at, end)
        if found and lost < 0:
            yield found
            at += len(found.octets)
            continue
        found = found or _one_wrong(data, at, end)
        if found and (lost < 0 or _believed(found, data, end)):
            if lost >= 0:
                yield Found(lost, data[lost:at], None, _why(data, lost, end))
                lost = ABSENT
            yield found
            at += len(found.octets)
        else:
            lost = at if lost < 0 else lost
            following = _START.search(data, at + 1, end)
            at = following.start() if following else end
    if lost >= 0:
        yield Found(lost, data[lost:end], None, _why(data, lost, end))


def whole(octets: bytes) -> Frame | None:
    """The telegram that these octets are, neither more nor less; None if they are none or not one alone.

    >>> whole(bytes.fromhex("DC 01 01")), whole(bytes.fromhex("E5 E5"))
    (Frame(kind='token', da=1, sa=1, fc=-1, data=b''), None)
    """
    found = _take(octets + _PADDING, 0, len(octets)) if octets else None
    return found.frame if found and len(found.octets) == len(octets) else None


def _take(data: bytes, at: int, end: int) -> Found | None:
    """The telegram that begins here, if it is whole."""
    first = data[at]
    if first == SD2:
        le = data[at + 1]
        sums = at + le + 4  # the place of FCS
        if (
            sums + 2 <= end
            and data[sums + 1] == ED
            and data[at + 2] == le
            and data[at + 3] == SD2
            and LE_LEAST <= le <= LE_MOST
            and sum(data[at + 4 : sums]) & 0xFF == data[sums]
        ):
            frame = _new(Frame, ("SD2", data[at + 4], data[at + 5], data[at + 6], data[at + 7 : sums]))
            return _new(Found, (at, data[at : sums + 2], frame, "", False))
    elif first == SC:
        return _new(Found, (at, _SHORT_OCTETS, _SHORT, "", False))
    elif size := _FIXED.get(first):
        stop = at + size
        if stop > end:
            return None
        if first == SD4:
            if data[at + 1] <= HIGHEST_TOKEN >= data[at + 2]:
                return Found(at, data[at:stop], Frame("token", data[at + 1], data[at + 2]))
        elif data[stop - 1] == ED and sum(data[at + 1 : stop - 2]) & 0xFF == data[stop - 2]:
            frame = Frame(_KINDS[first], data[at + 1], data[at + 2], data[at + 3], data[at + 4 : stop - 2])
            return Found(at, data[at:stop], frame)
    return None


def _believed(found: Found, data: bytes, end: int) -> bool:
    """Whether a piece behind rubbish is taken for what it looks like: by its check sum, or by what follows it."""
    checked = found.frame is not None and found.frame.kind not in ("SC", "token")
    behind = found.at + len(found.octets)
    return checked or behind == end or _take(data, behind, end) is not None


def _one_wrong(data: bytes, at: int, end: int) -> Found | None:
    """The telegram that begins here, if it is whole but for one octet."""
    first = data[at]
    sizes = [data[at + 1] + 6, data[at + 2] + 6] if first == SD2 else [_FIXED.get(first, 0)]
    for size in sorted(set(sizes)):  # the shorter first: the longer could swallow the telegram behind it
        if 3 <= size <= end - at and (first != SD2 or size >= 9):
            octets = data[at : at + size]
            wrong = _wrong(octets)
            if len(wrong) == 1:
                return Found(at, octets, None, wrong[0], True)
    return None


def _wrong(telegram: bytes) -> list[str]:
    """What is wrong with the octets of one telegram, its length taken as given; a sentence for each octet."""
    first, size = telegram[0], len(telegram)
    if first == SD4:
        return [
            f"octet {n}: {name} of the token is {telegram[n - 1]}; allowed is 0 to {HIGHEST_TOKEN}"
            for n, name in ((2, "DA"), (3, "SA"))
            if telegram[n - 1] > HIGHEST_TOKEN
        ]
    expected = [(size, "ED", ED)]
    if first == SD2:
        expected += [(2, "LE", size - 6), (3, "LEr", size - 6), (4, "the second SD2", SD2)]
    wrong = [
        f"octet {n}: {name} is 16#{telegram[n - 1]:02X}; expected is 16#{octet:02X}"
        for n, name, octet in expected
        if telegram[n - 1] != octet
    ]
    if first == SD2 and not LE_LEAST <= size - 6 <= LE_MOST:
        wrong.append(f"octets 2 and 3: LE is {size - 6}; allowed is {LE_LEAST} to {LE_MOST}")
    total = fcs(telegram[4 if first == SD2 else 1 : -2])
    if telegram[-2] != total:
        wrong.append(
            f"octet {size - 1}: FCS is 16#{telegram[-2]:02X}, but the octets from DA on add up to 16#{total:02X}; "
            "one of them or FCS is wrong"
        )
    return wrong


def _why(data: bytes, at: int, end: int) -> str:
    """Why no telegram could be read at the place where rubbish begins."""
    first = data[at]
    if first not in _KINDS:
        return f"16#{first:02X} begins no telegram"
    kind, there = _KINDS[first], end - at
    if first == SD2 and there > 2 and data[at + 1] != data[at + 2]:
        return f"{kind} begins here, but LE 16#{data[at + 1]:02X} and LEr 16#{data[at + 2]:02X} differ"
    size = _FIXED.get(first) or data[at + 1] + 6
    if first == SD2 and there < 2:
        return f"{kind} is cut off behind its first octet"
    if there < size:
        return f"{kind} is cut off: it needs {size} octets, {there} are there"
    return f"{kind} begins here, but {'; '.join(_wrong(data[at : at + size]))}"


_new = tuple.__new__  # makes a named tuple in half the time; the reader makes two for every telegram
_FIXED = {SD1: _OCTETS["SD1"], SD3: _OCTETS["SD3"], SD4: _OCTETS["token"]}
_PADDING = bytes(8)
