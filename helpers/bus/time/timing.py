"""Bus time: the bit, the telegram, and the bus parameters of each bit rate.

A bit time (tBit) is 1 / bit rate. Times on the bus are counted in bit times, because most rules give them
so; divide by the bit rate for seconds. Names follow the standard:

| sign | meaning |
|---|---|
| TSYN | silence that goes before every request |
| TSDR | time a station takes from the end of a request to the start of its answer |
| TID1, TID2 | silence the controller keeps after an answer or the token; after a telegram nobody answers |
| TSL | slot time: how long the controller waits for an answer |
| TTD | signal delay from one end of the cable to the other |

The figures are in `data/bus_timing.csv`, `data/timing_rules.csv` and `data/telegram_lengths.csv`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.bus.cable.bit_rates import bit_rate_text, known_bit_rate
from helpers.bus.cable.repeater import Way
from helpers.errors import OutOfRange, in_range, one_of
from helpers.quantity import quantity
from helpers.verdict import Degree, Finding

TELEGRAMS = tuple(row["telegram"] for row in facts.rows("telegram_lengths"))
MEDIA = ("RS-485", "synchronous")


@dataclass(frozen=True)
class BusTiming:
    """The bus parameters at one bit rate, in bit times.

    `bus_timing` gives the usual ones. For a bus that is set otherwise, change single values with
    `dataclasses.replace`, for example `replace(bus_timing(1_500_000), tsl_bits=400)`.
    """

    bit_rate: float
    tqui_bits: int
    tset_bits: int
    trdy_bits: int
    min_tsdr_bits: int
    max_tsdr_bits: int
    tsl_bits: int

    def __post_init__(self) -> None:
        source = "PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.775 fig. 25"
        for name, value in (("TQUI", self.tqui_bits), ("TSET", self.tset_bits)):
            in_range(name, value, 0, 0xFF, "bit", source)
        for name, value in (("min TSDR", self.min_tsdr_bits), ("max TSDR", self.max_tsdr_bits), ("TSL", self.tsl_bits)):
            in_range(name, value, 0, 0xFFFF, "bit", source)

    @property
    def tid1_bits(self) -> int:
        """TID1 = max(TQUI + 2·TSET + 2 + TSYN, min TSDR), in bit times. Source: Horner PBS600 manual p.36."""
        return max(self._idle_bits, self.min_tsdr_bits)

    @property
    def tid2_bits(self) -> int:
        """TID2 = max(TQUI + 2·TSET + 2 + TSYN, max TSDR), in bit times. Source: Horner PBS600 manual p.36."""
        return max(self._idle_bits, self.max_tsdr_bits)

    @property
    def _idle_bits(self) -> int:
        return self.tqui_bits + 2 * self.tset_bits + rule_bits("TID constant") + rule_bits("TSYN")


def bit_time_s(bit_rate: float) -> float:
    """The bit time, tBit = 1 / bit rate, in seconds. Raises `Unknown` for a bit rate that PROFIBUS DP does not have.

    Source: M. Felser, PROFIBUS Manual, calculation for single masters.

    >>> round(bit_time_s(12_000_000) * 1e9, 1)
    83.3
    """
    return 1 / known_bit_rate(bit_rate)


@cache
def rule(name: str) -> float:
    """A figure of `data/timing_rules.csv` by its name, in the unit of its row. Raises `Unknown` if not there.

    >>> rule("TSYN")
    33.0
    """
    return facts.one("timing_rules", rule=name).number("value")


def rule_bits(name: str) -> int:
    """A figure of `data/timing_rules.csv` that is a whole number of bit times."""
    return int(rule(name))


@cache
def rule_source(name: str) -> str:
    """Where a figure of `data/timing_rules.csv` comes from, with its standing."""
    return facts.one("timing_rules", rule=name).cited


@cache
def most_data() -> facts.Fact:
    """The row of `data/cyclic_lengths.csv` that allows the fewest octets of data in one direction.

    >>> most_data().whole("most_octets")
    244
    """
    return min(facts.where("cyclic_lengths", what="cyclic data"), key=lambda row: row.whole("most_octets"))


@cache
def bus_timing(bit_rate: float) -> BusTiming:
    """The usual bus parameters at a bit rate (bit/s). Raises `Unknown` for another bit rate.

    Source: M. Felser, PROFIBUS Manual, timing; for 45.45 kbit/s max TSDR and TSL are from memory.
    Validity: stations straight on the RS-485 bus. Those behind a coupler answer more slowly;
    `slow_answers` lists what is published of them.

    >>> bus_timing(1_500_000).tsl_bits, bus_timing(12_000_000).tid1_bits
    (300, 76)
    """
    known = known_bit_rate(bit_rate)

    def bits(parameter: str) -> int:
        return _timing_fact(parameter, known).whole("bits")

    return BusTiming(
        bit_rate=known,
        tqui_bits=bits("tqui"),
        tset_bits=bits("tset"),
        trdy_bits=bits("trdy"),
        min_tsdr_bits=bits("min_tsdr"),
        max_tsdr_bits=bits("max_tsdr"),
        tsl_bits=bits("tsl"),
    )


def timing_for(bit_rate: float, timing: BusTiming | None) -> BusTiming:
    """The bus parameters given, or the usual ones of the bit rate.

    Raises `OutOfRange` if those given belong to another bit rate.
    """
    usual = bus_timing(bit_rate)
    if timing is not None and timing.bit_rate != usual.bit_rate:
        raise OutOfRange(
            f"the bus parameters are those of {bit_rate_text(timing.bit_rate)}; allowed are those of "
            f"{bit_rate_text(bit_rate)}, the bit rate asked for."
        )
    return timing or usual


@cache
def timing_source(parameter: str, bit_rate: float) -> str:
    """Where a bus parameter comes from: `tqui`, `tset`, `trdy`, `min_tsdr`, `max_tsdr` or `tsl`.

    >>> timing_source("tsl", 1_500_000)
    'M. Felser, PROFIBUS Manual, timing (handbook)'
    """
    return _timing_fact(parameter, known_bit_rate(bit_rate)).cited


def parameter_name(parameter: str) -> str:
    """A bus parameter as the trade writes it, from its name in `data/bus_timing.csv`.

    >>> parameter_name("tqui"), parameter_name("min_tsdr")
    ('TQUI', 'min TSDR')
    """
    before, _, name = parameter.rpartition("_")
    return f"{before} {name.upper()}".strip()


def slow_answers() -> tuple[facts.Fact, ...]:
    """The published max TSDR of devices behind a coupler, which differ from the usual ones.

    >>> [(row.number("kbit_s"), row.whole("bits")) for row in slow_answers()]
    [(45.45, 250), (93.75, 1000)]
    """
    return facts.where("bus_timing", parameter="max_tsdr", condition="behind a coupler")


def _timing_fact(parameter: str, bit_rate: float) -> facts.Fact:
    return facts.one("bus_timing", parameter=parameter, kbit_s=bit_rate / 1000, condition="")


@cache
def telegram_octets(telegram: str, data: int = 0) -> int:
    """The length of a telegram in bytes. Raises `Unknown` for another kind, `OutOfRange` for too much data.

    Parameters: telegram, one of `TELEGRAMS`; data, its user data in bytes (the SAP bytes not counted).
    Source: M. Felser, PROFIBUS Manual, telegram formats.

    >>> telegram_octets("SD2", 12), telegram_octets("token")
    (21, 3)
    """
    one_of("telegram", telegram, TELEGRAMS)
    row = facts.one("telegram_lengths", telegram=telegram)
    in_range(f"data of {telegram}", data, row.number("data_least"), row.number("data_most"), "byte", row.source)
    return row.whole("octets") + data


def telegram_bits(telegram: str, data: int = 0) -> int:
    """The length of a telegram on the RS-485 wire in bit times: 11 for each byte.

    Parameters and errors as for `telegram_octets`.
    Source: M. Felser, PROFIBUS Manual, calculation for single masters.

    >>> telegram_bits("SD1"), telegram_bits("token"), telegram_bits("SD2", 12)
    (66, 33, 231)
    """
    return wire_bits(telegram_octets(telegram, data))


def wire_bits(octets: int, medium: str = "RS-485") -> int:
    """The bit times that bytes take on the wire: 11 each on RS-485, 8 on the synchronous medium.

    Parameters: octets, 0 or more; medium, one of `MEDIA`.
    Sources: M. Felser, PROFIBUS Manual, calculation for single masters; PROFIBUS Specification p.900.

    >>> wire_bits(9), wire_bits(9, "synchronous")
    (99, 72)
    """
    one_of("medium", medium, MEDIA)
    in_range("number of bytes", octets, 0, float("inf"))
    return octets * rule_bits("character" if medium == "RS-485" else "synchronous character")


def signal_delay_bits(
    *, length_m: float, bit_rate: float, repeaters: int = 0, repeater_delay_bits: float | None = None
) -> float:
    """2·TTD: the signal's way to the farthest station and back, in bit times.

    2·TTD = 2 · (length · 5 ns/m · bit rate + repeaters · delay of one repeater)

    Parameters: length_m, cable between the two farthest stations [m]; bit_rate [bit/s]; repeaters
    between them; repeater_delay_bits, each way [bit times], from the repeater's own manual.
    Raises `OutOfRange` for negative values. Source: calculated; the delay of a repeater is from memory.

    >>> signal_delay_bits(length_m=100, bit_rate=12_000_000)
    12.0
    """
    in_range("cable length", length_m, 0, 1e6, "m")
    in_range("number of repeaters", repeaters, 0, 1e3)
    each = rule("repeater delay") if repeater_delay_bits is None else repeater_delay_bits
    in_range("delay of a repeater", each, 0, 1e6, "bit")
    return round(2 * (length_m * rule("cable delay") * known_bit_rate(bit_rate) + repeaters * each), 9)


def longest_delay_bits(ways: Iterable[Way], bit_rate: float) -> float:
    """2·TTD between the two segments that lie farthest apart, in bit times; ways between all of them."""
    return max(
        signal_delay_bits(length_m=way.length_m, bit_rate=bit_rate, repeaters=len(way.repeaters)) for way in ways
    )


def min_slave_interval_s(units: int) -> float:
    """Min_Slave_Interval of a device description in seconds: 100 µs for each unit.

    Parameters: units, 0 to 65535 (Unsigned16). Source: Horner PBS600 manual p.36; PROFIBUS
    Specification p.775.

    >>> min_slave_interval_s(20)
    0.002
    """
    in_range("Min_Slave_Interval", units, 0, 0xFFFF, source="Unsigned16, PROFIBUS Specification p.775")
    return units * rule("min slave interval")


def check_slot_time(timing: BusTiming, delay_bits: float = 0) -> Finding:
    """Judge the slot time: the controller must wait longer than the slowest permitted answer takes.

    Parameters: timing, the bus parameters; delay_bits, 2·TTD from `signal_delay_bits`.
    Not longer than max TSDR, a permitted answer comes too late. Caution asks for max TSDR + 15, and for the cable
    as well: 2·TTD + max TSDR + 11 + TSM, with TSM = 2 + 2·TSET + TQUI.
    Sources: Elpro 105U-G manual p.91; the second form is worked out from it.

    >>> check_slot_time(bus_timing(1_500_000)).verdict
    'in order'
    """
    in_range("signal delay", delay_bits, 0, 1e9, "bit")
    last = timing.max_tsdr_bits + rule_bits("slot time margin")
    safety = rule_bits("slot time safety") + 2 * timing.tset_bits + timing.tqui_bits
    cautious = max(last, delay_bits + timing.max_tsdr_bits + rule_bits("slot time character") + safety)
    if timing.tsl_bits <= timing.max_tsdr_bits:
        degree = Degree.CANNOT_WORK
    else:
        degree = Degree.CAUTION if timing.tsl_bits < cautious else Degree.IN_ORDER
    return Finding(
        "slot time",
        f"network at {bit_rate_text(timing.bit_rate)}",
        f"{timing.tsl_bits} bit",
        f"at least {quantity(last, 'bit')}; with the cable's delay {quantity(cautious, 'bit')}",
        f"{rule_source('slot time margin')}; {rule_source('slot time character')}",
        "" if degree is Degree.IN_ORDER else f"Set TSL to {quantity(-(-cautious // 1), 'bit')} or more.",
        degree,
    )
