"""What telegrams mean: who asks whom for what, which answer belongs to which request, and every octet explained.

`helpers.bus.telegram.frame` finds the telegrams; this is the layer above it. It remembers what a recording has shown
so far: the configuration sent to a station (so that its outputs and inputs get names), and the last frame count of
each pair (so that a repetition is told from a new request). An answer has no number that ties it to its request; the
one who was asked answers at once, before anybody else sends. So a request is paired with the next telegram if that is
SC, or an answer between the same two stations.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache, lru_cache
from typing import NamedTuple

from helpers import facts
from helpers.bus.services import (
    chk_cfg,
    data_exchange,
    diagnosis,
    global_control,
    message,
    set_prm,
    set_slave_add,
    slave_diag,
)
from helpers.bus.services.bits import OctetLine, moved
from helpers.bus.services.message import EVERYBODY
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram import function_code
from helpers.bus.telegram.frame import ABSENT, EXTENDED, Found, Frame
from helpers.device.identifiers import Configuration
from helpers.errors import Unreadable, WorkbookError

REQUEST, ANSWER, TOKEN, DAMAGED, RUBBISH = "request", "answer", "token", "damaged", "rubbish"
_MOST_BETWEEN = 8  # pieces of rubbish between a request and its answer; behind more, no answer is looked for


class SeenStation(NamedTuple):
    """What a recording has shown of a station: its configuration, and whether it may work by DPV1 (None: not known)."""

    configuration: Configuration | None = None
    dpv1: bool | None = None


class Telegram(NamedTuple):
    """One telegram, or one piece that is none, with its meaning.

    `number` counts from 1, `at` is the place of its first octet (from 0). `role` is request, answer or token; damaged
    for a telegram with one wrong octet, rubbish for octets that are no telegram. `partner` is the number of the request
    or answer that belongs to it, 0 for none. `remark` says what is unusual about it: no answer, a repetition, damaged
    octets; empty where nothing is.
    """

    number: int
    at: int
    octets: bytes
    frame: Frame | None
    role: str
    service: str
    meaning: str
    remark: str
    partner: int
    station: SeenStation

    @property
    def kind(self) -> str:
        """SD1, SD2, SD3, token or SC; `damaged` or `rubbish` where there is no telegram."""
        return self.frame.kind if self.frame else self.role

    @property
    def way(self) -> str:
        """Who says it to whom: `master 1 to station 5`; empty where no addresses are."""
        return self.between({})

    def between(self, names: Mapping[int, str]) -> str:
        """As `way`, with the names of the stations by address where they are known: `master 1 to fan (5)`."""
        return _between(self.frame, self.role, names) if self.frame and self.frame.da != ABSENT else ""

    @property
    def lines(self) -> tuple[OctetLine, ...]:
        """Every octet explained, in order."""
        return tuple(_lines(self))


def read(octets: bytes | bytearray | memoryview) -> Iterator[Telegram]:
    """The telegrams of a recording with their meaning, each request paired with its answer.

    Every octet belongs to exactly one of them. Raises nothing, whatever the octets are.

    >>> recording = bytes.fromhex("68 05 05 68 85 81 6D 3C 3E ED 16 10 01 05 03 09 16 DC 01 01")
    >>> for one in read(recording):
    ...     print(one.number, one.way, one.role, one.partner, "–", one.meaning)
    1 master 1 to station 5 request 2 – asks for the diagnosis of the station
    2 station 5 to master 1 answer 1 – RS: refused: the station does not offer this service access point
    3 master 1 to itself token 0 – the token stays with 1
    """
    reader = TelegramReader()
    for number, found in enumerate(frames.read(octets), 1):
        yield from reader.take(number, found)
    yield from reader.rest()


class TelegramReader:
    """Carries what has been seen from one telegram to the next; `read` does all of it for a whole recording.

    For a recording that comes in slices: hand every piece to `take` as it is found, and at the end ask for `rest`.
    """

    def __init__(self) -> None:
        self._waiting: list[Telegram] = []  # a request without its answer yet, then what came behind it
        self._stations: dict[int, SeenStation] = {}
        self._last: dict[tuple[int, int], bytes] = {}

    def copy(self) -> TelegramReader:
        """All that is known here, to go on from this place once more later."""
        other = TelegramReader()
        other._waiting, other._stations, other._last = self._waiting[:], dict(self._stations), dict(self._last)
        return other

    def take(self, number: int, found: Found) -> Iterable[Telegram]:
        """What can be told now that one more piece is known."""
        frame = found.frame
        if frame is None:
            role = DAMAGED if found.damaged else RUBBISH
            self._waiting.append(
                Telegram(number, found.at, found.octets, None, role, "", "", found.problem, 0, _UNKNOWN)
            )
            asked = self._waiting[0].role == REQUEST and len(self._waiting) <= 1 + _MOST_BETWEEN
            return () if asked else self.rest()
        if frame.kind == "token":
            meaning = _token_text(frame.da, frame.sa)
            made = Telegram(number, found.at, found.octets, frame, TOKEN, TOKEN, meaning, "", 0, _UNKNOWN)
            return [*self.rest(), made]
        if frame.kind == "SC" or not frame.fc & function_code.REQUEST:
            return self._answer(number, found, frame)
        before = self.rest()
        made = self._request(number, found, frame)
        if function_code.decode(frame.fc).answered and frame.receiver != EVERYBODY:
            self._waiting.append(made)
            return before
        return [*before, made]

    def rest(self) -> list[Telegram]:
        """What waits for an answer that does not come."""
        waiting, self._waiting = self._waiting, []
        if waiting and waiting[0].role == REQUEST:
            missing = "no answer" if len(waiting) == 1 else "no answer that could be read"
            waiting[0] = waiting[0]._replace(remark="; ".join(filter(None, (waiting[0].remark, missing))))
        return waiting

    def _request(self, number: int, found: Found, frame: Frame) -> Telegram:
        function = function_code.decode(frame.fc).function
        dsap, data, to = frame.dsap, frame.user_data, frame.receiver
        service = _service(function, dsap)
        if service in ("Set_Prm", "Chk_Cfg"):
            self._learn(service, to, data)
        pair = (frame.sender, to)
        counted = frame.fc & function_code.COUNTED
        remark = _REPEATED if counted and self._last.get(pair) == found.octets else ""
        self._last[pair] = found.octets if counted else b""
        meaning = _request_text(service, function, dsap, data)
        station = self._stations.get(to, _UNKNOWN)
        return Telegram(number, found.at, found.octets, frame, REQUEST, service, meaning, remark, 0, station)

    def _answer(self, number: int, found: Found, frame: Frame) -> list[Telegram]:
        asked = self._waiting[0] if self._waiting else None
        if asked is None or asked.frame is None or not _answers(asked.frame, frame):
            service = _service("", frame.ssap) if frame.data else ""
            meaning = _answer_text(service, frame)
            made = Telegram(number, found.at, found.octets, frame, ANSWER, service, meaning, _UNASKED, 0, _UNKNOWN)
            return [*self.rest(), made]
        known, service, first = asked.station, asked.service, asked.number
        meaning = _answer_text(service, frame)
        made = Telegram(number, found.at, found.octets, frame, ANSWER, service, meaning, "", first, known)
        pieces, self._waiting = self._waiting, []
        pieces[0] = asked._replace(partner=number)
        pieces.append(made)
        return pieces

    def _learn(self, service: str, address: int, data: bytes) -> None:
        """Keep what a start-up telegram says of a station; one that can't be read teaches nothing."""
        known = self._stations.get(address, _UNKNOWN)
        try:
            if service == "Chk_Cfg":
                known = known._replace(configuration=chk_cfg.decode(data))
            else:
                enabled = "DPV1_Enable" in set_prm.decode(data).dpv1_flags
                known = known._replace(dpv1=None if enabled else False)
        except WorkbookError:
            return
        self._stations[address] = known


_UNKNOWN = SeenStation()
_REPEATED = "repeated: same octets and same frame count as before"
_UNASKED = "nobody asked for this answer"


def _between(frame: Frame, role: str, names: Mapping[int, str]) -> str:
    """A master is who asks or hands on the token; a telegram does not tell whether who is asked is one too."""
    kinds = {TOKEN: ("master", "master"), ANSWER: ("station", "master")}.get(role, ("master", "station"))
    ends = (frame.sender, frame.receiver)
    sender, receiver = (
        f"{names[a]} ({a})" if a in names else f"{kind} {a}" for a, kind in zip(ends, kinds, strict=True)
    )
    if role == TOKEN and frame.sender == frame.receiver:
        receiver = "itself"
    return f"{sender} to {'all stations' if frame.receiver == EVERYBODY else receiver}"


def _answers(asked: Frame, frame: Frame) -> bool:
    return frame.kind == "SC" or (frame.receiver == asked.sender and frame.sender == asked.receiver)


def _service(function: str, sap: int) -> str:
    """The service of a telegram by its access point; where none is named, by its function."""
    if sap == ABSENT and function and not function.startswith(("SRD", "SDA")):
        return function
    return message.service_at(sap)


# What a service asks, where its request bears no data that could tell it.
_ASKS = {
    "Slave_Diag": "asks for the diagnosis of the station",
    "Get_Cfg": "asks for the configuration that the station has",
    "Rd_Inp": "reads the inputs of the station",
    "Rd_Outp": "reads the outputs of the station",
    "Data_Exchange": "no outputs; asks for the inputs",
    "FDL status": "asks whether a station is there",
}
_SUMMARY: dict[tuple[str, str], Callable[[bytes], str]] = {
    (REQUEST, "Set_Prm"): set_prm.summary,
    (REQUEST, "Chk_Cfg"): chk_cfg.summary,
    (REQUEST, "Global_Control"): global_control.summary,
    (REQUEST, "Set_Slave_Add"): set_slave_add.summary,
    (REQUEST, "Data_Exchange"): lambda data: data_exchange.summary(data, "output"),
    (ANSWER, "Slave_Diag"): diagnosis.summary,
    (ANSWER, "Get_Cfg"): chk_cfg.summary,
    (ANSWER, "Data_Exchange"): lambda data: data_exchange.summary(data, "input"),
    (ANSWER, "Rd_Inp"): lambda data: data_exchange.summary(data, "input"),
    (ANSWER, "Rd_Outp"): lambda data: data_exchange.summary(data, "output"),
}
# From the octets of a service, what is known of the station, and the number of the first octet.
_EXPLAIN: dict[tuple[str, str], Callable[[bytes, SeenStation, int], Iterable[OctetLine]]] = {
    (REQUEST, "Set_Prm"): lambda data, station, first: moved(set_prm.explain(data, dpv1=station.dpv1), first),
    (REQUEST, "Chk_Cfg"): lambda data, station, first: moved(chk_cfg.explain(data), first),
    (REQUEST, "Global_Control"): lambda data, station, first: moved(global_control.explain(data), first),
    (REQUEST, "Set_Slave_Add"): lambda data, station, first: moved(set_slave_add.explain(data), first),
    (REQUEST, "Data_Exchange"): lambda data, station, first: _exchanged(data, "output", station, first),
    (ANSWER, "Slave_Diag"): lambda data, station, first: moved(slave_diag.explain(data, dpv1=station.dpv1), first),
    (ANSWER, "Get_Cfg"): lambda data, station, first: moved(chk_cfg.explain(data), first),
    (ANSWER, "Data_Exchange"): lambda data, station, first: _exchanged(data, "input", station, first),
    (ANSWER, "Rd_Inp"): lambda data, station, first: _exchanged(data, "input", station, first),
    (ANSWER, "Rd_Outp"): lambda data, station, first: _exchanged(data, "output", station, first),
}


def _exchanged(data: bytes, way: str, station: SeenStation, first: int) -> tuple[OctetLine, ...]:
    return data_exchange.explain(data, way, station.configuration, first=first)


def _request_text(service: str, function: str, dsap: int, data: bytes) -> str:
    if not data:
        return _ASKS.get(service) or _named(service, function, dsap)
    if summary := _SUMMARY.get((REQUEST, service)):
        return _tried(summary, service, data)
    return f"{_named(service, function, dsap)}, {_bytes(data)}"


def _answer_text(service: str, frame: Frame) -> str:
    if frame.kind == "SC":
        # What SC says depends on what was asked.
        return {"": "short acknowledgement", "Data_Exchange": "received; no inputs"}.get(service, "received")
    code = function_code.decode(frame.fc)
    data = frame.user_data
    if service == "FDL status":
        return f"a {code.second} is there"
    if not data:
        return f"{code.function}: {code.meaning}"
    summary = _SUMMARY.get((ANSWER, service))
    text = _tried(summary, service, data) if summary else _bytes(data)
    return f"{text}; {code.function}: {code.meaning}" if code.function != "DL" else text


def _tried(summary: Callable[[bytes], str], service: str, data: bytes) -> str:
    try:
        return summary(data)
    except WorkbookError as refused:
        return f"can't be read as {service}: {refused}"


def _named(service: str, function: str, dsap: int) -> str:
    return service or f"{function} to access point {dsap}"


def _bytes(data: bytes) -> str:
    return f"{len(data)} data byte{'s' if len(data) != 1 else ''}"


@cache
def _token_text(to: int, sender: int) -> str:
    return f"the token stays with {sender}" if to == sender else f"{sender} hands the token to {to}"


# -- every octet --------------------------------------------------------------------------------------


def _lines(one: Telegram) -> list[OctetLine]:
    octets = one.octets
    if one.role == RUBBISH:
        return [OctetLine(1, octets, RUBBISH, one.remark)]
    frame = one.frame or _as_if_whole(octets)
    lines = [_START[octets[0]]]
    if frame.kind == "SC":
        return lines
    at = 1
    if frame.kind == "SD2":
        lines += _lengths(octets[1:4])
        at = 4
    lines += (_address_line(at + 1, "DA", frame.da), _address_line(at + 2, "SA", frame.sa))
    if frame.kind != "token":
        lines.append(_code_line(at + 3, frame.fc))
        at += 3
        end = len(octets) - 2
        for name, announced in (("DSAP", frame.da), ("SSAP", frame.sa)):
            if announced >= EXTENDED and at < end:
                at += 1
                lines.append(_sap_line(at, name, octets[at - 1], one.role == REQUEST))
        if at < end:
            lines += _data_lines(one, at, octets[at:end])
        lines += _end_lines(end, octets[end:])
    if one.role == DAMAGED:
        lines.append(OctetLine(len(octets) + 1, b"", DAMAGED, one.remark))
    return lines


def _as_if_whole(octets: bytes) -> Frame:
    """A damaged telegram as if its octets were right, so that they get their names."""
    kind = _BYTES[octets[0]]["telegram"] if octets[0] in _BYTES else "SC"
    if kind == "token":
        return Frame(kind, octets[1], octets[2])
    at = 4 if kind == "SD2" else 1
    return Frame(kind, octets[at], octets[at + 1], octets[at + 2], octets[at + 3 : -2])


def _data_lines(one: Telegram, at: int, data: bytes) -> Iterable[OctetLine]:
    explain = _EXPLAIN.get((one.role, one.service))
    if not explain:
        service = one.service or "a service that is not known here"
        return (OctetLine(at + 1, data, "data", f"{_bytes(data)} of {service}"),)
    try:
        return explain(data, one.station, at + 1)
    except WorkbookError as refused:
        return (OctetLine(at + 1, data, "data", f"can't be read as {one.service}: {refused}"),)


_BYTES = {row.whole("octet"): row for row in facts.rows("telegram_bytes")}
_START = {octet: OctetLine(1, bytes((octet,)), row["name"], row["meaning"], row.cited) for octet, row in _BYTES.items()}
_ED_TEXT = _BYTES[frames.ED]["meaning"]


@cache
def _lengths(three: bytes) -> tuple[OctetLine, ...]:
    le, repeated, begin = three
    return (
        OctetLine(2, three[:1], "LE", f"{le} octets from DA to the last data byte"),
        OctetLine(3, three[1:2], "LEr", "the length once more" if repeated == le else f"{repeated}, not the length"),
        OctetLine(4, three[2:], "SD2", "the beginning once more" if begin == frames.SD2 else "not the beginning"),
    )


@lru_cache(4096)
def _end_lines(at: int, two: bytes) -> tuple[OctetLine, ...]:
    added = "the octets from DA to the last data byte, added up"
    return (OctetLine(at + 1, two[:1], "FCS", added), OctetLine(at + 2, two[1:], "ED", _ED_TEXT))


@cache
def _address_line(at: int, name: str, octet: int) -> OctetLine:
    address = octet & ~EXTENDED
    who = "all stations" if address == EVERYBODY else f"station {address}"
    more = f"; bit 7 is 1: {'DSAP' if name == 'DA' else 'SSAP'} follows" if octet & EXTENDED else ""
    return OctetLine(at, bytes((octet,)), name, f"{'to' if name == 'DA' else 'from'} {who}{more}")


@cache
def _code_line(at: int, octet: int) -> OctetLine:
    code = function_code.decode(octet)
    return OctetLine(at, bytes((octet,)), "FC", code.text, code.source)


@cache
def _sap_line(at: int, name: str, octet: int, asks: bool) -> OctetLine:
    """An access point: the station's stands in DSAP of a request and in SSAP of an answer."""
    side = "station" if (name == "DSAP") == asks else "controller"
    found = facts.where("saps", side=side, sap=octet)
    meaning = f"access point {octet}: " + (found[0]["service"] if found else f"not in the table of a {side}")
    return OctetLine(at, bytes((octet,)), name, meaning, found[0].cited if found else "")


class ServiceData(NamedTuple):
    """What a telegram carries for a service, and the station that it is about; -1 where no telegram tells it."""

    station: int
    data: bytes


def service_data(octets: bytes, service: str, role: str) -> tuple[ServiceData, ...]:
    """The data of a service in what was given, in order.

    Parameters: octets, as read; service, as in `data/saps.csv`; role, REQUEST or ANSWER of `telegram_meaning`.
    Return: one for each telegram; where there is no telegram with data, the octets themselves are the data.
    Errors: `Unreadable` where telegrams are there, but none with this service.

    >>> service_data(bytes.fromhex("02 05 00 FF FF F1"), "Slave_Diag", ANSWER)[0].station
    -1
    >>> asked = bytes.fromhex("68 0C 0C 68 85 81 7D 3D 3E 88 01 14 0B FF F1 00 96 16")
    >>> service_data(asked, "Set_Prm", REQUEST)[0].data.hex(" ").upper()
    '88 01 14 0B FF F1 00'
    """
    pieces = list(read(octets))
    whole = [one.frame for one in pieces if one.frame and one.frame.kind == "SD2"]
    if not whole:
        return (ServiceData(-1, octets),)
    found = tuple(
        ServiceData(one.frame.receiver if role == REQUEST else one.frame.sender, one.frame.user_data)
        for one in pieces
        if one.frame and one.role == role and one.service == service and one.frame.user_data
    )
    if not found:
        raise Unreadable(f"no {role} with {service} is among these telegrams; the telegram reader tells what they are.")
    return found
