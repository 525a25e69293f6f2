"""The rule of thumb for the bus cycle, why it differs from the calculation, and what more data costs.

Three answers to one question stand side by side: the standard's form (`helpers.bus.time.cycle`), the handbook's
sum, and the handbook's estimate (380 + 300·stations + 11·bytes) / bit rate + 75 µs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from helpers.bus.address.address import LAST_USABLE
from helpers.bus.cable.bit_rates import bit_rates, known_bit_rate
from helpers.bus.time.cycle import BusCycle, bus_cycle, handbook_cycle
from helpers.bus.time.message_cycle import Breakdown, Exchange, Part
from helpers.bus.time.timing import most_data, rule, rule_bits, rule_source, wire_bits
from helpers.errors import in_range
from helpers.quantity import time_text


@dataclass(frozen=True)
class Estimate:
    """The estimated bus cycle with its tolerance, and whether it may be used at this bit rate."""

    breakdown: Breakdown
    tolerance: float
    valid: bool
    note: str

    @property
    def seconds(self) -> float:
        """The estimate itself, in seconds."""
        return self.breakdown.seconds

    @property
    def low_s(self) -> float:
        """The estimate less its tolerance, in seconds."""
        return self.seconds * (1 - self.tolerance)

    @property
    def high_s(self) -> float:
        """The estimate with its tolerance on top, in seconds."""
        return self.seconds * (1 + self.tolerance)

    def __str__(self) -> str:
        """The estimate with its band, for a lesson cell that prints it."""
        span = f"{time_text(self.low_s)} to {time_text(self.high_s)}"
        return f"about {time_text(self.seconds)} ({span})" + (f". {self.note}" if self.note else "")


@dataclass(frozen=True)
class FormRow:
    """One line of the comparison: what each of the three counts for it, in bit times, and why they differ."""

    name: str
    standard_bits: float
    handbook_bits: float
    estimate_bits: float
    reason: str


@dataclass(frozen=True)
class StepCost:
    """The typical bus cycle before and after a change, at one bit rate."""

    bit_rate: float
    before_s: float
    after_s: float

    @property
    def extra_s(self) -> float:
        """What the change costs in each cycle, in seconds; negative if it saves time."""
        return self.after_s - self.before_s

    @property
    def share(self) -> float:
        """The cost as a share of the cycle before, 0.1 for ten per cent."""
        return self.extra_s / self.before_s


def estimate(*, stations: int, data_bytes: int, bit_rate: float) -> Estimate:
    """T = (380 + 300·stations + 11·bytes) / bit rate + 75 µs, ±10 %, above 500 kbit/s.

    Parameters: stations that the controller asks, 1 to 125; data_bytes, all inputs and outputs together;
    bit_rate [bit/s]. At 500 kbit/s and below the result is marked as not valid.
    Raises `Unknown` for another bit rate, `OutOfRange` for the counts.
    Source: M. Felser, PROFIBUS Manual, estimation formula.

    >>> print(estimate(stations=20, data_bytes=80, bit_rate=1_500_000))
    about 4.915 ms (4.424 ms to 5.407 ms)
    """
    known = known_bit_rate(bit_rate)
    in_range("number of stations", stations, 1, LAST_USABLE, source="addresses 1 to 125")
    most = stations * 2 * most_data().whole("most_octets")
    in_range("data of all stations", data_bytes, 0, most, "byte", most_data().cited)
    source = rule_source("estimate fixed")
    parts = (
        Part("fixed", rule_bits("estimate fixed"), "token, gap poll and what else is not a station's", source),
        Part("station", rule_bits("estimate station"), "300 for each station", source, times=stations),
        Part("data", wire_bits(data_bytes), "11 for each byte", source),
        Part("75 µs", rule("estimate time") * known, "a fixed time whatever the bit rate", source),
    )
    lowest = rule("estimate above")
    valid = known > lowest * 1000
    note = "" if valid else f"The formula holds above {lowest:g} kbit/s only; calculate the cycle instead"
    return Estimate(Breakdown("Estimated bus cycle", known, parts), rule("estimate tolerance"), valid, note)


def estimate_for(exchanges: Sequence[Exchange], *, bit_rate: float) -> Estimate:
    """The estimate for a list of exchanges. Parameters and errors as for `estimate`.

    >>> round(estimate_for([Exchange(2, 2)] * 20, bit_rate=1_500_000).seconds * 1e6, 1)
    4915.0
    """
    data_bytes = sum(exchange.data_bytes for exchange in exchanges)
    return estimate(stations=len(exchanges), data_bytes=data_bytes, bit_rate=bit_rate)


def compare(cycle: BusCycle) -> tuple[FormRow, ...]:
    """The typical cycle by the standard's form, by the handbook and by the estimate, difference by difference.

    Each column adds up to its own total. The handbook and the estimate know one controller alone, so the
    items they leave out are 0 in their columns.

    >>> rows = compare(bus_cycle([Exchange(2, 2)] * 20, bit_rate=1_500_000))
    >>> [(row.name, row.standard_bits, row.handbook_bits, row.estimate_bits) for row in rows[:3]]
    [('token and gap poll', 436, 615, 380), ('messages without data', 5340, 6000, 6000), ('data', 880, 880, 880)]
    """
    exact, bit_rate = cycle.typical, cycle.timing.bit_rate
    handbook = handbook_cycle(cycle.exchanges, bit_rate=bit_rate, timing=cycle.timing)
    guess = {part.name: part.bits for part in estimate_for(cycle.exchanges, bit_rate=bit_rate).breakdown.parts}
    data = guess["data"]
    rest = sum(exact.group_bits(group) for group in ("other masters", "wait"))
    return (
        FormRow(
            "token and gap poll",
            exact.group_bits("token") + exact.group_bits("gap"),
            handbook.group_bits("token") + handbook.group_bits("gap"),
            guess["fixed"],
            "The handbook adds TSYN to each although the silence after the telegram before holds it already, and "
            "takes TID2 after the token where TID1 is enough. The 380 of the estimate follows from neither sum.",
        ),
        FormRow(
            "messages without data",
            exact.group_bits("message") - data,
            handbook.group_bits("message") - data,
            guess["station"],
            f"The handbook adds TSYN ({rule_bits('TSYN')}) to each message although its TID1 "
            f"({rule_bits('handbook TID1')}) holds it already. "
            "Its TID1 is fixed; the real one grows above 1.5 Mbit/s. It takes data telegrams both ways, where a "
            "station without outputs or inputs has a shorter one, and leaves out the signal delay.",
        ),
        FormRow("data", data, data, data, "All three count 11 bit times for each byte."),
        FormRow(
            "fixed time", 0, 0, guess["75 µs"], "Only the estimate adds a time that does not depend on the bit rate."
        ),
        FormRow(
            "other masters and waiting",
            rest,
            0,
            0,
            "The handbook and the estimate know one controller, and no station that asks for a pause.",
        ),
    )


def every_bit_rate(exchanges: Sequence[Exchange]) -> tuple[BusCycle, ...]:
    """The bus cycle of the same exchanges at each bit rate, slowest first. Errors as for `bus_cycle`.

    >>> [round(c.typical.seconds * 1000, 2) for c in every_bit_rate([Exchange(12, 12)] * 6)][-2:]
    [0.68, 0.38]
    """
    return tuple(bus_cycle(exchanges, bit_rate=bit_rate) for bit_rate in bit_rates())


def step_cost(before: Sequence[Exchange], after: Sequence[Exchange]) -> tuple[StepCost, ...]:
    """What a change of data costs, at each bit rate: "what does one more format step cost".

    Parameters: the exchanges of the whole controller before and after. Errors as for `bus_cycle`.

    >>> cost = step_cost(before=[Exchange(4, 4)] * 6, after=[Exchange(12, 12)] * 6)[6]
    >>> round(cost.before_s * 1000, 3), round(cost.after_s * 1000, 3), round(cost.share, 3)
    (1.711, 2.415, 0.412)
    """
    pairs = zip(every_bit_rate(before), every_bit_rate(after), strict=True)
    return tuple(StepCost(b.timing.bit_rate, b.typical.seconds, a.typical.seconds) for b, a in pairs)
