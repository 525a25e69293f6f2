"""The watchdog of a station and the target rotation time of the token: both ways, and proposals with reserve.

The watchdog runs in the station. Each request of its controller starts it afresh; when it ends, the station
leaves data exchange and goes to its safe state. It is no safety function: an emergency stop works without
the bus. Until the watchdog ends, a drive keeps running on the last setpoint it was given.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, isclose

from helpers.bus.time.cycle import BusCycle
from helpers.bus.time.message_cycle import Breakdown, Exchange, Part, message_cycle
from helpers.bus.time.timing import most_data, rule, rule_source
from helpers.errors import in_range, one_of
from helpers.quantity import time_text
from helpers.verdict import Degree, Finding

BASES_S = (rule("watchdog base"), rule("watchdog short base"))
FACTOR_LEAST = int(rule("watchdog factor least"))
FACTOR_MOST = int(rule("watchdog factor most"))


@dataclass(frozen=True)
class WatchdogFactors:
    """The two factors of a watchdog time, and the time they really give."""

    factor_1: int
    factor_2: int
    base_s: float

    @property
    def time_s(self) -> float:
        """The watchdog time in seconds."""
        return watchdog_time_s(self.factor_1, self.factor_2, base_s=self.base_s)


@dataclass(frozen=True)
class WatchdogProposal:
    """A watchdog for a bus cycle: the factors, the longest wait they must outlast, and the reserve.

    `wait_s` is the longest time between two requests, from the worst cycle or the target rotation time.
    """

    factors: WatchdogFactors
    wait_s: float
    why: str

    @property
    def reserve(self) -> float:
        """How many times the longest wait fits into the watchdog time."""
        return self.factors.time_s / self.wait_s

    def __str__(self) -> str:
        """The proposal in one line, for a lesson cell that prints it."""
        f = self.factors
        return (
            f"{time_text(f.time_s)} = {time_text(f.base_s)} · {f.factor_1} · {f.factor_2}, "
            f"{self.reserve:.1f} times the longest wait of {time_text(self.wait_s)}"
        )


def watchdog_time_s(factor_1: int, factor_2: int, *, base_s: float = BASES_S[0]) -> float:
    """TWD = base · WD_Fact_1 · WD_Fact_2, in seconds; the bit rate has no part in it.

    Parameters: the two factors, 1 to 255; base_s, 0.01 s, or 0.001 s if the station offers it.
    Raises `OutOfRange` for a factor, `Unknown` for another base.
    Sources: PROFIBUS Specification p.734 eq. 8; Optris DP manual p.18 for the 1 ms base.

    >>> watchdog_time_s(1, 1), watchdog_time_s(255, 255)
    (0.01, 650.25)
    """
    one_of("watchdog base in seconds", base_s, BASES_S)
    for name, factor in (("WD_Fact_1", factor_1), ("WD_Fact_2", factor_2)):
        in_range(name, factor, FACTOR_LEAST, FACTOR_MOST, source=rule_source("watchdog factor most"))
    return round(base_s * factor_1 * factor_2, 6)


def watchdog_factors(time_s: float, *, base_s: float = BASES_S[0]) -> WatchdogFactors:
    """The factors of the shortest watchdog that is not shorter than asked for.

    Parameters: time_s, wanted [s], above 0; base_s as for `watchdog_time_s`. Not every time can be set:
    257 has no two factors up to 255, so 2.57 s becomes 2.58 s.
    Raises `OutOfRange` if the time is too long for two factors, `Unknown` for another base.
    Source: PROFIBUS Specification p.734 eq. 8.

    >>> watchdog_factors(2.57)
    WatchdogFactors(factor_1=2, factor_2=129, base_s=0.01)
    """
    one_of("watchdog base in seconds", base_s, BASES_S)
    longest = base_s * FACTOR_MOST**2
    in_range("watchdog time", time_s, 1e-9, longest, "s", rule_source("watchdog factor most"))
    steps = _ceil(time_s / base_s)
    pairs = ((one, -(-steps // one)) for one in range(FACTOR_LEAST, FACTOR_MOST + 1))
    fitting = ((one * two, one, two) for one, two in pairs if two <= FACTOR_MOST)
    _, factor_1, factor_2 = min(fitting)
    return WatchdogFactors(factor_1, factor_2, base_s)


def propose_target_rotation(cycle: BusCycle, *, message: Exchange | None = None) -> Breakdown:
    """A target rotation time (TTR): the worst cycle, one acyclic message, and a reserve.

    Parameters: cycle, with the other masters in it; message, the longest acyclic message to leave room
    for, 244 bytes of answer if left out. The total is a whole number of bit times.
    Raises `OutOfRange` if it is more than an Unsigned32 holds.
    Source: common practice; the standard's own formula was not at hand.

    >>> from helpers.bus.time.cycle import bus_cycle
    >>> target = propose_target_rotation(bus_cycle([Exchange(12, 12)] * 6, bit_rate=1_500_000))
    >>> {part.name: round(part.bits) for part in target.parts}, round(target.bits)
    ({'worst cycle': 4979, 'acyclic message': 3113, 'reserve': 810}, 8902)
    """
    bit_rate = cycle.timing.bit_rate
    asked = message or Exchange(0, most_data().whole("most_octets"), saps=True)
    extra = message_cycle(asked, bit_rate=bit_rate, tsdr="longest", timing=cycle.timing).bits
    worst = ceil(cycle.worst.bits)
    share = rule("rotation reserve")
    parts = (
        Part("worst cycle", worst, "the longest rotation that has to be expected"),
        Part("acyclic message", extra, "one diagnosis or parameter message that may come on top"),
        Part("reserve", ceil(share * (worst + extra)), f"{share * 100:g} % of both", rule_source("rotation reserve")),
    )
    proposal = Breakdown("Target rotation time", bit_rate, parts)
    source = rule_source("target rotation most")
    in_range("target rotation time", proposal.bits, 0, rule("target rotation most"), "bit", source)
    return proposal


def holding_time_bits(*, target_bits: float, real_bits: float) -> float:
    """What is left for low-priority messages when the token comes, in bit times: TTH = TTR − TRR, at least 0.

    Parameters: target_bits, TTR; real_bits, the rotation that has just ended (TRR). At 0 only one
    high-priority message may still go out. Source: PROFIBUS Specification p.119.

    >>> holding_time_bits(target_bits=8000, real_bits=3600), holding_time_bits(target_bits=8000, real_bits=8000)
    (4400, 0)
    """
    in_range("target rotation time", target_bits, 0, rule("target rotation most"), "bit")
    in_range("real rotation time", real_bits, 0, float("inf"), "bit")
    return max(0, target_bits - real_bits)


def propose_watchdog(
    cycle: BusCycle, *, target_rotation_s: float = 0, base_s: float = BASES_S[0], rotations: float | None = None
) -> WatchdogProposal:
    """A watchdog that a healthy bus never reaches: so many of the longest waits between two requests.

    Parameters: cycle; target_rotation_s, TTR [s] if one is set, as a rotation may take that long;
    base_s as for `watchdog_time_s`; rotations, how many may pass (at least 1), 5 if left out.
    Raises `OutOfRange` if the time is longer than two factors can give. Source: common practice.

    >>> from helpers.bus.time.cycle import bus_cycle
    >>> print(propose_watchdog(bus_cycle([Exchange(12, 12)] * 6, bit_rate=1_500_000)))
    20 ms = 10 ms · 1 · 2, 6.0 times the longest wait of 3.319 ms
    """
    in_range("target rotation time", target_rotation_s, 0, float("inf"), "s")
    times = rule("watchdog rotations") if rotations is None else rotations
    in_range("rotations that may pass", times, 1, 1e6)
    wait_s = max(cycle.worst.seconds, target_rotation_s)
    which = "the target rotation time" if target_rotation_s > cycle.worst.seconds else "the worst cycle"
    return WatchdogProposal(
        watchdog_factors(times * wait_s, base_s=base_s), wait_s, f"{times:g} times {which}, rounded up to two factors"
    )


def check_watchdog(time_s: float, cycle: BusCycle, *, base_s: float = BASES_S[0], place: str = "network") -> Finding:
    """Judge a watchdog time against a bus cycle; 0 means that the watchdog is off.

    Cannot work: a time that no two factors give. Outside cautious practice: off, not longer than
    the worst cycle, or less than five of them. Raises `Unknown` for another base.
    Sources: PROFIBUS Specification p.734 eq. 8 for the range; the reserve is common practice.

    >>> from helpers.bus.time.cycle import bus_cycle
    >>> cycle = bus_cycle([Exchange(12, 12)] * 6, bit_rate=1_500_000)
    >>> [check_watchdog(time_s, cycle).verdict for time_s in (0.02, 0.01, 700)]
    ['in order', 'outside cautious practice', 'not allowed, cannot work']
    """
    one_of("watchdog base in seconds", base_s, BASES_S)
    times, worst_s = rule("watchdog rotations"), cycle.worst.seconds
    longest_s = base_s * FACTOR_MOST**2
    if not (time_s == 0 or base_s * (1 - 1e-9) <= time_s <= longest_s * (1 + 1e-9)):
        degree, to_do = Degree.CANNOT_WORK, f"Choose a time from {time_text(base_s)} to {time_text(longest_s)}."
    elif time_s == 0:
        degree = Degree.CAUTION
        to_do = "Switch the watchdog on. Without it a drive runs on with its last setpoint when its controller is lost."
    elif time_s <= worst_s:
        degree = Degree.CAUTION
        to_do = "Set a longer time. This one ends within the worst cycle of a healthy bus and stops the drive."
    elif time_s < times * worst_s:
        degree, to_do = Degree.CAUTION, "Set a longer time, or check that the drive never stops without a cause."
    else:
        degree, to_do = Degree.IN_ORDER, ""
    return Finding(
        "watchdog",
        place,
        "off" if time_s == 0 else time_text(time_s),
        f"{time_text(base_s)} to {time_text(longest_s)}; advised at least {times:g} worst cycles, "
        f"{time_text(times * worst_s)}",
        f"{rule_source('watchdog base')}; {rule_source('watchdog rotations')}",
        to_do,
        degree,
    )


def _ceil(value: float) -> int:
    """The next whole number up, but the nearest one where only rounding lies between."""
    nearest = round(value)
    return max(1, nearest if isclose(value, nearest, rel_tol=1e-9) else ceil(value))
