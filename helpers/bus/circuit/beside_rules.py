"""Rule and physics side by side: the same segment judged by the rules, and calculated as a circuit.

Nothing in the circuit knows a rule. Where the rule is the stricter one it leaves room for what the calculation does
not have: weak senders, poor stations, old contacts, noise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from helpers.bus.circuit.margin import margin_matrix
from helpers.bus.circuit.wired import circuit_of
from helpers.bus.segment import Segment, check, even_line
from helpers.bus.termination import check_termination, terminated
from helpers.facts import most, rows, where
from helpers.verdict import Degree, Finding

FAST, MIDDLE, SLOW = 12_000_000, 1_500_000, 93_750


@dataclass(frozen=True)
class Beside:
    """One segment at one bit rate: what the rules find against it, and the worst margin of any pair [V]."""

    case: str
    bit_rate: float
    against: tuple[Finding, ...]
    sending: int
    hearing: int
    margin_v: float

    @property
    def degree(self) -> Degree:
        """The worst that the rules say."""
        return max((finding.degree for finding in self.against), default=Degree.IN_ORDER)

    @property
    def words(self) -> str:
        """What the two say together."""
        if self.degree == Degree.IN_ORDER:
            return "both accept it" if self.margin_v > 0 else "the rules accept what does not work here"
        return "the rule is stricter" if self.margin_v > 0 else "both reject it"


def beside(case: str, planned: Segment) -> Beside:
    """Rules and circuit of one segment, at its own bit rate.

    >>> beside("short", even_line(stations=3, length_m=30, bit_rate=500_000)).words
    'both accept it'
    """
    findings = (*check(planned), *check_termination(planned))
    against = tuple(finding for finding in findings if finding.degree > Degree.IN_ORDER)
    sending, hearing, volts = margin_matrix(circuit_of(planned), bit_rate=planned.bit_rate).worst
    return Beside(case, planned.bit_rate, against, sending, hearing, volts)


def side_by_side() -> tuple[Beside, ...]:
    """The cases of the lesson: full length at every bit rate, then one mistake after another."""
    return tuple(beside(case, planned) for case, planned in _cases())


def _line(stations: int, length_m: float, bit_rate: float, *, stub_m: float = 0.0, cable: str = "A") -> Segment:
    return terminated(
        even_line(stations=stations, length_m=length_m, bit_rate=bit_rate, cable=cable, stub_length_m=stub_m)
    )


def _cases() -> list[tuple[str, Segment]]:
    cases = []
    for row in rows("bit_rates"):
        limit = most(where("segment_length", cable="A", kbit_s=row.number("kbit_s")), "length_m")
        cases.append(("full length, ten stations", _line(10, limit.cautious, row.number("kbit_s") * 1000)))
    for bit_rate in (FAST, MIDDLE, SLOW):
        healthy = _line(8, 100, bit_rate)
        last = replace(healthy.devices[-1], terminator_on=False, own_supply=False)
        pulled = replace(healthy, devices=(*healthy.devices[:-1], last))
        cases.append(("100 m, one terminator missing", pulled))
    for bit_rate in (FAST, MIDDLE, SLOW):
        cases.append(("100 m, ten stubs of 3 m", _line(12, 100, bit_rate, stub_m=3.0)))
    for bit_rate in (FAST, MIDDLE):
        crowded = _line(20, 9.5, bit_rate)
        poor = tuple(replace(device, stub_capacitance_f=50e-12) for device in crowded.devices)
        cases.append(("20 stations of 50 pF, 0.5 m apart", replace(crowded, devices=poor)))
    cases.append(("twice the length allowed", _line(10, 200, FAST)))
    cases.append(("70 m of type B", _line(10, 70, FAST, cable="B")))
    return cases
