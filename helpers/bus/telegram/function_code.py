"""The function code (FC) of a telegram: request or answer, what it asks, the frame count, the kind of station.

    bit 7   1 only for a clock value
    bit 6   1 request, 0 answer
    bit 5-4 request: FCB and FCV, the frame count; answer: the kind of station that answers
    bit 3-0 the function

A controller turns FCB over with every new request to a station and leaves it as it is when it repeats one. So a
station can tell a repetition from a new request, and answers the same again. The codes are rows of
`data/function_codes.csv`. Source: M. Felser, PROFIBUS Manual, function code.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.errors import in_range, one_of

CLOCK = 0x80
REQUEST = 1 << facts.one("function_codes", field="direction", name="request").whole("low_bit")
COUNTED = 0x10  # FCV of a request
COUNTS = tuple(row["name"] for row in facts.where("function_codes", field="count"))
STATIONS = tuple(row["name"] for row in facts.where("function_codes", field="station"))


@dataclass(frozen=True)
class FunctionCode:
    """What one function code says.

    `second` is the frame count of a request (one of `COUNTS`) or the kind of station of an answer (one of
    `STATIONS`). `answered` says whether the one addressed answers at once. A function that no table knows is called
    `reserved` and is expected to be answered by nobody.
    """

    octet: int
    request: bool
    function: str
    second: str
    answered: bool
    meaning: str
    source: str

    @property
    def text(self) -> str:
        """The code in one line, for a person.

        >>> decode(0x7D).text
        'request: SRD high, send and request data; high priority; frame count counted, 1 (FCB 1, FCV 1)'
        >>> decode(0x08).text
        'answer: DL, data follows; low priority; from a slave'
        """
        if self.request:
            bits = f"(FCB {self.octet >> 5 & 1}, FCV {self.octet >> 4 & 1})"
            return f"request: {self.function}, {self.meaning}; frame count {self.second} {bits}"
        return f"answer: {self.function}, {self.meaning}; from a {self.second}"


@cache
def decode(octet: int) -> FunctionCode:
    """What a function code says; every octet has an answer. Raises `OutOfRange` for a number that is no octet.

    >>> decode(0x49).function, decode(0x49).answered
    ('FDL status', True)
    """
    in_range("FC", octet, 0, 0xFF, source="one octet")
    request = bool(octet & REQUEST)
    second = (COUNTS if request else STATIONS)[octet >> 4 & 3]
    direction = ("time" if octet & CLOCK else "request") if request else "answer"
    rows = facts.where("function_codes", direction=direction, field="function", code=octet & 0x0F)
    if not rows or (octet & CLOCK and direction != "time"):
        why = "bit 7 is 1, which only a clock value has" if octet & CLOCK else "not in the table of functions"
        return FunctionCode(octet, request, "reserved", second, False, why, "")
    (row,) = rows
    return FunctionCode(octet, request, row["name"], second, row["answered"] == "yes", row["meaning"], row.cited)


def request(function: str, count: str = "not counted") -> int:
    """The function code of a request. Raises `Unknown` for another name.

    Parameters: function, as in the table: SRD high, SDN high, FDL status …; count, one of `COUNTS`.

    >>> hex(request("SRD high", "first")), hex(request("SDN high"))
    ('0x6d', '0x46')
    """
    one_of("frame count", count, COUNTS)
    clock = CLOCK if function == "clock value" else 0
    return clock | REQUEST | COUNTS.index(count) << 4 | _code(function, ("request", "time"))


def answer(function: str = "DL", station: str = "slave") -> int:
    """The function code of an answer. Raises `Unknown` for another name.

    Parameters: function, as in the table: OK, DL, DH, RS …; station, one of `STATIONS`.

    >>> hex(answer("DL")), hex(answer("OK", "master in ring"))
    ('0x8', '0x30')
    """
    one_of("kind of station", station, STATIONS)
    return STATIONS.index(station) << 4 | _code(function, ("answer",))


def next_count(count: str) -> str:
    """The frame count of the request after the one with this count, to the same station.

    >>> [next_count(count) for count in ("first", "counted, 0", "counted, 1")]
    ['counted, 0', 'counted, 1', 'counted, 0']
    """
    one_of("frame count", count, COUNTS)
    if count == "not counted":
        return count
    return "counted, 1" if count == "counted, 0" else "counted, 0"


@cache
def _code(function: str, directions: tuple[str, ...]) -> int:
    rows = facts.where("function_codes", field="function")
    known = {row["name"]: row.whole("code") for row in rows if row["direction"] in directions}
    one_of(f"function of a{'n answer' if 'answer' in directions else ' request'}", function, known)
    return known[function]
