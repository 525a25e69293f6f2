"""A message cycle: one request, its answer, and the silences around them, item by item.

The standard's form is TMC = TS/R + TSDR + TA/R + TID1 + 2·TTD (PROFIBUS Specification p.900 eq. 21, Part 9,
referring to Part 4 clause 4.2.2). With two data telegrams and the typical TSDR that is 267 + 11·bytes up to
1.5 Mbit/s. The handbook prints 300 + 11·bytes: it adds TSYN (33) although its TID1 (37) holds it already.
The standard's form is the one to calculate with. The handbook's is cautious up to 3 Mbit/s; at 6 and
12 Mbit/s TID1 is longer than the 37 it prints.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers.bus.time.timing import (
    BusTiming,
    most_data,
    rule,
    rule_bits,
    rule_source,
    telegram_bits,
    timing_for,
    timing_source,
    wire_bits,
)
from helpers.errors import in_range, one_of

FORMS = ("standard", "handbook")
TSDR = ("shortest", "typical", "longest")


@dataclass(frozen=True)
class Part:
    """One item of a breakdown: `times` × `each_bits`, with the sentence that explains it and its source."""

    name: str
    each_bits: float
    why: str = ""
    source: str = ""
    times: int = 1
    group: str = "message"

    @property
    def bits(self) -> float:
        """The item's share of the total, in bit times."""
        return self.each_bits * self.times


@dataclass(frozen=True)
class Breakdown:
    """A time on the bus, item by item; the total is the sum of its items and nothing else."""

    title: str
    bit_rate: float
    parts: tuple[Part, ...]

    @property
    def bits(self) -> float:
        """The total in bit times."""
        return sum(part.bits for part in self.parts)

    @property
    def seconds(self) -> float:
        """The total in seconds."""
        return self.bits / self.bit_rate

    def group_bits(self, group: str) -> float:
        """The items of one group together, in bit times."""
        return sum(part.bits for part in self.parts if part.group == group)


@dataclass(frozen=True)
class Exchange:
    """What one station exchanges in one cycle, in bytes, named as the controller sees it.

    `outputs` go to the station, `inputs` come from it. `saps` marks a service that names its access points
    (diagnosis, parameters). `tsdr_bits` is the station's own time to answer, if known.
    `min_slave_interval_s` is the shortest time between two requests that it can bear.
    Raises `OutOfRange` for more than 244 bytes in one direction.
    """

    outputs: int
    inputs: int
    name: str = ""
    saps: bool = False
    tsdr_bits: int | None = None
    min_slave_interval_s: float = 0

    def __post_init__(self) -> None:
        for way, count in (("outputs", self.outputs), ("inputs", self.inputs)):
            in_range(way, count, 0, most_data().whole("most_octets"), "byte", most_data().cited)
        in_range("Min_Slave_Interval", self.min_slave_interval_s, 0, 6.5535, "s", "Unsigned16 in steps of 100 µs")

    @property
    def data_bytes(self) -> int:
        """Outputs and inputs together, the `bytes` of the formulas."""
        return self.outputs + self.inputs

    @property
    def label(self) -> str:
        """The name, or the sizes where there is none."""
        return self.name or f"{self.outputs} out / {self.inputs} in"


def message_cycle(
    exchange: Exchange,
    *,
    bit_rate: float,
    form: str = "standard",
    tsdr: str = "typical",
    delay_bits: float = 0,
    short_frames: bool = True,
    timing: BusTiming | None = None,
) -> Breakdown:
    """One message cycle, item by item: request, TSDR, answer, TID1, 2·TTD.

    Parameters: exchange, the data; bit_rate [bit/s]; form, one of `FORMS`; tsdr, one of `TSDR`;
    delay_bits, 2·TTD from `signal_delay_bits`; short_frames, whether a request without outputs is an SD1
    and an answer without inputs an SC, False calculates both as SD2, as the formulas are
    printed; timing, bus parameters other than the usual ones.
    Raises `Unknown` for another bit rate, form or TSDR, `OutOfRange` for a TSDR outside min TSDR to TSL.
    Sources: see the head of this file. The handbook's form takes its printed figures at every bit rate and
    knows neither short frames nor signal delay.

    >>> cycle = message_cycle(Exchange(outputs=12, inputs=12), bit_rate=1_500_000)
    >>> {part.name: round(part.bits) for part in cycle.parts}
    {'request': 231, 'TSDR': 32, 'answer': 231, 'TID1': 37, '2·TTD': 0}
    >>> cycle.bits, round(cycle.seconds * 1e6)
    (531, 354)
    >>> message_cycle(Exchange(12, 12), bit_rate=1_500_000, form="handbook").bits
    564
    """
    one_of("form of the message cycle", form, FORMS)
    used = timing_for(bit_rate, timing)
    if form == "handbook":
        return _handbook_cycle(exchange, used.bit_rate)
    in_range("signal delay", delay_bits, 0, 1e9, "bit")
    request, answer = _telegrams(exchange, short_frames)
    return Breakdown(
        f"Message cycle, {exchange.label}",
        used.bit_rate,
        (
            request,
            _own_tsdr(exchange, tsdr, used),
            answer,
            Part("TID1", used.tid1_bits, "silence after the answer; it contains TSYN", rule_source("TID constant")),
            Part("2·TTD", delay_bits, "the signal's way along the cable and back", rule_source("cable delay")),
        ),
    )


def _handbook_cycle(exchange: Exchange, bit_rate: float) -> Breakdown:
    source = rule_source("handbook TID1")
    return Breakdown(
        f"Message cycle by the handbook, {exchange.label}",
        bit_rate,
        (
            Part("TSYN", rule_bits("TSYN"), "added although TID1 holds it already", source),
            Part("request", _sd2_bits(exchange.outputs), "SD2, 11n + 99", source),
            Part("TSDR", rule_bits("typical TSDR"), "the station's usual time to answer", source),
            Part("answer", _sd2_bits(exchange.inputs), "SD2, 11n + 99", source),
            Part("TID1", rule_bits("handbook TID1"), "printed as a fixed 37", source),
        ),
    )


def _telegrams(exchange: Exchange, short_frames: bool) -> tuple[Part, Part]:
    """Request and answer. A service with SAPs is always an SD2, but its answer may be an SC."""
    if exchange.outputs <= rule("short request") and short_frames and not exchange.saps:
        why = "SD1, as there are no outputs to send"
        request = Part("request", telegram_bits("SD1"), why, rule_source("short request"))
    else:
        request = Part("request", *_data_telegram(exchange.outputs, exchange.saps))
    if exchange.inputs <= rule("short answer") and short_frames:
        why = "SC, as there are no inputs to report"
        answer = Part("answer", telegram_bits("SC"), why, rule_source("short answer"))
    else:
        answer = Part("answer", *_data_telegram(exchange.inputs, exchange.saps))
    return request, answer


def _data_telegram(data: int, saps: bool) -> tuple[float, str, str]:
    source = rule_source("character")
    if saps:
        return telegram_bits("SD2 with SAPs", data), f"SD2 with both SAPs and {data} bytes, 11n + 121", source
    return _sd2_bits(data), f"SD2 with {data} bytes, 11n + 99", source


def _sd2_bits(data: int) -> int:
    """11n + 99, also for n = 0, which the printed formula allows and the telegram's own LE does not."""
    return telegram_bits("SD2", 1) + wire_bits(data) - wire_bits(1)


def _own_tsdr(exchange: Exchange, tsdr: str, timing: BusTiming) -> Part:
    if exchange.tsdr_bits is None:
        return tsdr_part(timing, tsdr)
    source = "min TSDR to TSL of this bit rate"
    in_range("TSDR of the station", exchange.tsdr_bits, timing.min_tsdr_bits, timing.tsl_bits, "bit", source)
    return Part("TSDR", exchange.tsdr_bits, "the station's own time to answer")


def tsdr_part(timing: BusTiming, tsdr: str) -> Part:
    """The time to answer in one of the cases `TSDR`, as an item of a breakdown.

    >>> from helpers.bus.time.timing import bus_timing
    >>> [tsdr_part(bus_timing(1_500_000), case).bits for case in TSDR]
    [11, 32, 150]
    """
    one_of("TSDR", tsdr, TSDR)
    if tsdr == "shortest":
        source = timing_source("min_tsdr", timing.bit_rate)
        return Part("TSDR", timing.min_tsdr_bits, "no station may answer sooner (min TSDR)", source)
    if tsdr == "longest":
        source = timing_source("max_tsdr", timing.bit_rate)
        return Part("TSDR", timing.max_tsdr_bits, "no station may answer later (max TSDR)", source)
    bits = min(max(rule_bits("typical TSDR"), timing.min_tsdr_bits), timing.max_tsdr_bits)
    return Part("TSDR", bits, "the station's usual time to answer", rule_source("typical TSDR"))


def lost_message_bits(
    exchange: Exchange,
    *,
    bit_rate: float,
    delay_bits: float = 0,
    timing: BusTiming | None = None,
) -> float:
    """The most that one lost telegram adds to a cycle before the request goes out again, in bit times.

    Either the request is lost and the slot time runs out (request + TSL), or the answer comes late and
    spoilt (a whole message cycle with the longest TSDR); the longer of the two. Parameters and errors as
    for `message_cycle`. Source: calculated.

    >>> lost_message_bits(Exchange(outputs=2, inputs=2), bit_rate=1_500_000)
    429
    """
    used = timing_for(bit_rate, timing)
    whole = message_cycle(
        exchange,
        bit_rate=bit_rate,
        tsdr="longest",
        delay_bits=delay_bits,
        timing=used,
    )
    return max(whole.parts[0].bits + used.tsl_bits, whole.bits)
