"""One rotation of the token, telegram by telegram: who sends, to whom, which octets, and when.

The order is that of `helpers.bus.time.cycle`: the token to itself, one request and its answer for each station,
one look into the address gap. The times are the same to the bit; here each telegram also has its octets.
The signal's way along the cable is left out.

| telegram | silence behind it |
|---|---|
| token | TID1 |
| request | TSDR, then the answer; TSL if nobody answers |
| answer | TID1 |
| gap poll | TSL, as nobody has the address |
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from helpers.bus.address.address import LAST_USABLE
from helpers.bus.address.address import gap as gap_of
from helpers.bus.telegram import function_code
from helpers.bus.telegram.frame import Frame, frame
from helpers.bus.time.message_cycle import Exchange, tsdr_part
from helpers.bus.time.timing import BusTiming, rule, rule_bits, rule_source, timing_for, timing_source, wire_bits
from helpers.errors import OutOfRange, in_range

TOKEN, REQUEST, ANSWER, AGAIN, GAP = "token", "request", "answer", "request again", "gap poll"


@dataclass(frozen=True)
class Polled:
    """A station that the controller asks: its address, its name, and the data of one exchange.

    `outputs` go to the station, `inputs` come from it; `silent` is a station that does not answer.
    Raises `OutOfRange` for more data than a telegram carries.
    """

    address: int
    name: str
    outputs: bytes = b""
    inputs: bytes = b""
    silent: bool = False

    def __post_init__(self) -> None:
        in_range(
            f"address of {self.name}", self.address, 0, LAST_USABLE, source="M. Felser, PROFIBUS Manual, addressing"
        )
        self.exchange  # noqa: B018 – refuses too much data

    @property
    def exchange(self) -> Exchange:
        """The exchange as the cycle time sees it: numbers of bytes."""
        return Exchange(len(self.outputs), len(self.inputs), self.name)


@dataclass(frozen=True)
class Silence:
    """The silence behind a telegram: its sign, its length in bit times, what it is for, and the source."""

    name: str
    bits: float
    why: str
    source: str


@dataclass(frozen=True)
class Spoken:
    """One telegram of a rotation: when it begins, what it is, and the silence behind it.

    `sender` and `receiver` are addresses; a short acknowledgement (SC) carries none, so they stand here.
    """

    start_bits: float
    kind: str
    sender: int
    receiver: int
    frame: Frame
    silence: Silence

    @property
    def octets(self) -> bytes:
        """The telegram as it goes over the wire."""
        return self.frame.octets

    @property
    def bits(self) -> int:
        """The telegram's length on the wire, in bit times."""
        return wire_bits(len(self.octets))

    @property
    def end_bits(self) -> float:
        """When the silence behind the telegram ends and the next one may begin."""
        return self.start_bits + self.bits + self.silence.bits


def rotation(
    stations: Sequence[Polled],
    *,
    bit_rate: float,
    controller: int = 1,
    gap: int | None = None,
    tsdr: str = "typical",
    again: int | None = None,
    timing: BusTiming | None = None,
) -> tuple[Spoken, ...]:
    """Every telegram of one rotation with one controller, in the order of time.

    Parameters: stations, in the order in which they are asked; bit_rate [bit/s]; controller, its address;
    gap, the address that is looked for, the first free one of `address.gap` if left out; tsdr, one of
    `helpers.bus.time.message_cycle.TSDR`; again, how often an unanswered request is sent once more, the usual
    number if left out; timing, bus parameters other than the usual ones.
    Raises `OutOfRange` if there are not 1 to 125 stations, an address is given twice, or the gap address is
    in use; `Unknown` for a bit rate or TSDR that does not exist.
    Sources: as for `helpers.bus.time.cycle`; that a repeated request keeps its frame count is from memory.

    >>> line = rotation([Polled(10, "fan", bytes(2), bytes(2))], bit_rate=1_500_000)
    >>> [(said.kind, said.octets.hex(" ").upper()) for said in line][:2]
    [('token', 'DC 01 01'), ('request', '68 05 05 68 0A 01 7D 00 00 88 16')]
    >>> line[-1].kind, line[-1].receiver, line[-1].end_bits
    ('gap poll', 2, 747)
    """
    used = timing_for(bit_rate, timing)
    in_range("number of stations", len(stations), 1, LAST_USABLE, source="addresses 1 to 125")
    taken = [controller, *(station.address for station in stations)]
    if len(set(taken)) < len(taken):
        raise OutOfRange("an address is given twice; allowed is every address once.")
    repeats = rule_bits("request again") if again is None else again
    in_range("number of repeats", repeats, 0, 255, source="max_retry_limit is an Unsigned8")
    # There always is one: a station has no address above 125, and the gap ends above that.
    empty = next(a for a in gap_of(controller, controller) if a not in taken) if gap is None else gap
    if empty in taken:
        raise OutOfRange(f"the gap address is {empty}, which is in use; allowed is an address that nobody has.")

    quiet = Silence("TID1", used.tid1_bits, "the silence before the next telegram; it contains TSYN",
                    rule_source("TID constant"))  # fmt: skip
    waited = Silence(
        "TSL", used.tsl_bits, "the slot time runs out: nobody has answered", timing_source("tsl", bit_rate)
    )
    part = tsdr_part(used, tsdr)
    answering = Silence("TSDR", part.bits, part.why, part.source)

    asks = function_code.request("SRD high", "counted, 1")
    replies = function_code.answer("DL", "slave")

    said = [Spoken(0, TOKEN, controller, controller, Frame("token", controller, controller), quiet)]
    for station in stations:
        request = frame(to=station.address, sender=controller, fc=asks, data=station.outputs)
        if station.silent:
            for kind in (REQUEST, *[AGAIN] * repeats):
                said.append(Spoken(said[-1].end_bits, kind, controller, station.address, request, waited))
            continue
        said.append(Spoken(said[-1].end_bits, REQUEST, controller, station.address, request, answering))
        # Where there is nothing to send an SC will do.
        answer = Frame("SC")
        if len(station.inputs) > rule("short answer"):
            answer = frame(to=controller, sender=station.address, fc=replies, data=station.inputs)
        said.append(Spoken(said[-1].end_bits, ANSWER, station.address, controller, answer, quiet))
    poll = frame(to=empty, sender=controller, fc=function_code.request("FDL status"))
    said.append(Spoken(said[-1].end_bits, GAP, controller, empty, poll, waited))
    return tuple(said)


@dataclass(frozen=True)
class Piece:
    """A stretch of a telegram: its name, its octets and what it says."""

    name: str
    octets: bytes
    says: str

    @property
    def hex(self) -> str:
        """The octets as people write them, such as `04 7F`."""
        return self.octets.hex(" ").upper()


def pieces(said: Spoken) -> tuple[Piece, ...]:
    """A telegram in its named pieces, from the first octet to the last.

    Source: M. Felser, PROFIBUS Manual, telegram formats.

    >>> said = rotation([Polled(10, "fan", bytes(2), bytes(2))], bit_rate=1_500_000)[1]
    >>> [(piece.name, piece.hex) for piece in pieces(said)][4:]
    [('DA', '0A'), ('SA', '01'), ('FC', '7D'), ('data', '00 00'), ('FCS', '88'), ('ED', '16')]
    """
    octets, data = said.octets, said.frame.data
    if said.frame.kind == "SC":
        return (Piece("SC", octets, "received"),)
    names = {"token": ["SD4"], "SD1": ["SD1"]}.get(said.frame.kind, ["SD2", "LE", "LEr", "SD2"])
    names += ["DA", "SA"] if said.frame.kind == "token" else ["DA", "SA", "FC", "data", "FCS", "ED"]
    means = {
        "SD1": "begins", "SD2": "begins", "SD4": "begins", "LE": f"length {len(data) + 3}", "LEr": "repeated",
        "DA": f"to {said.receiver}", "SA": f"from {said.sender}", "FC": "answer" if said.kind == ANSWER else "request",
        "data": f"{len(data)} byte{'s' if len(data) != 1 else ''}", "FCS": "check sum", "ED": "ends",
    }  # fmt: skip
    cut, at = [], 0
    for name in names:
        size = len(data) if name == "data" else 1
        if size:
            cut.append(Piece(name, octets[at : at + size], means[name]))
        at += size
    return tuple(cut)
