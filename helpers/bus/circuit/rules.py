"""The rules of the segment beside what the circuit calculates: where a rule is stricter than the physics, and why.

Nothing in the calculation knows the rules, and nothing in the rules knows the calculation.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.bus.cable.cable import length_limit
from helpers.bus.cable.laid import Piece
from helpers.bus.circuit import meter
from helpers.bus.circuit.elements import known, sender
from helpers.bus.circuit.margin import margin_matrix
from helpers.bus.circuit.trial_line import TrialLine, plugs, trial_line
from helpers.verdict import Degree, Finding, worst

STATIONS = 8  # of 32: the physics is the same, and the table takes seconds instead of a minute


@dataclass(frozen=True)
class Compared:
    """One rule and one line that it judges.

    degree, source: what the rule says, and where it stands. margin_v: worst of all pairs of sender and receiver,
    with the usual sender; weakest_v: with the weakest sender that RS-485 allows [V]. idle_v: B − A at the left end
    while nobody sends [V]. why: one sentence on rule and calculation.
    """

    rule: str
    tried: str
    bit_rate: int
    degree: Degree
    source: str
    margin_v: float
    weakest_v: float
    idle_v: float
    why: str

    @property
    def rate(self) -> str:
        """The bit rate as people write it."""
        return bit_rate_text(self.bit_rate)

    @property
    def physics(self) -> str:
        """The calculation in words; within ±0.2 V of B − A no level is defined, sending or not."""
        if self.margin_v <= 0:
            return "bits are lost"
        if self.idle_v <= known("rs485", "threshold_v"):
            return "no idle level"
        return "all bits arrive" if self.weakest_v > 0 else "lost with a weak sender"


@cache
def compared() -> tuple[Compared, ...]:
    """All rules with the lines they were tried on.

    Validity: cable type A at the middle of its impedance, no noise, stations alike, DGND joined to the shield for
    the idle level. `STATIONS` stations, where the row does not say otherwise.
    """
    return tuple(_compare(*case) for case in _cases())


Case = tuple[str, str, TrialLine, str, str]


def _cases() -> Iterator[Case]:
    """Name of the rule, what was tried, the line, the beginning of the rule's name in its findings, and why."""
    for rate in reversed(bit_rates()):
        length_m = length_limit("A", rate).last
        why = "Both ends take up the wave."
        if rate < 1_000_000:
            why = "Loss in the cable eats the margin, not an echo. With a weak sender little is left at full length."
        line = trial_line(stations=STATIONS, length_m=length_m, bit_rate=rate)
        yield "longest cable, ends on", f"{length_m:g} m", line, "length of the segment", why
    for rate, why in (
        (12_000_000, "The echo returns bits later and falls on other bits."),
        (1_500_000, "The echo still returns after the bit has been read."),
        (93_750, "The echo dies early in the bit. The rule is stricter: the next change of bit rate finds the fault."),
    ):
        line = trial_line(stations=STATIONS, bit_rate=rate, right="missing")
        yield "one terminator at each end", "100 m, one missing", line, "termination", why
    for rate in (12_000_000, 1_500_000):
        healthy = trial_line(stations=STATIONS, bit_rate=rate)
        yield (
            "no terminator in the middle", "100 m, a third in the middle", _third(healthy), "termination",
            "Three share the sender's current. The rule is stricter: it leaves room for weak senders and noise.",
        )  # fmt: skip
    dead = "dead, VP on DGND"
    line = trial_line(stations=STATIONS, left=dead, right=dead)
    yield (
        "terminators powered at all times", "100 m, both without supply", line, "termination",
        "Its resistors still take up the wave. What is lost is the idle level between telegrams.",
    )  # fmt: skip
    for rate, why in (
        (12_000_000, "Each stub sends an echo of its own, as long as a bit is."),
        (
            1_500_000,
            "The rule is stricter: it must hold for poor stations at the ends of the stubs and for any spacing.",
        ),
        (500_000, "The rule is stricter: at this rate a stub is only a little capacitance."),
    ):
        line = trial_line(stations=12, bit_rate=rate, stub_m=3)
        yield "length of all stubs together", "100 m, 10 stubs of 3 m", line, "length of all stubs", why
    good, _, poor, _ = plugs()
    for spacing_m, plug, station, rate, why in (
        (
            0.5,
            poor,
            "poor",
            12_000_000,
            "Crowded stations make a piece of line of low impedance: an echo from its edge.",
        ),
        (1.0, poor, "poor", 12_000_000, "More cable between them dilutes their capacitance."),
        (0.5, good, "good", 12_000_000, "The rule is stricter: it must hold for stations that are not good."),
        (
            0.5,
            poor,
            "poor",
            1_500_000,
            "The echo dies before the bit is read. Sources differ on the rule at this rate.",
        ),
    ):
        tried = f"100 m, 20 {station} stations {spacing_m:g} m apart at one end"
        yield "1 m of cable between devices", tried, _crowd(spacing_m, plug, rate), "cable between devices", why


def _third(line: TrialLine) -> TrialLine:
    """The same line with one more terminator on in the middle, in a plug that leaves its cables connected."""
    middle = len(line.laid.plugs) // 2
    return replace(line, laid=line.laid.with_plug(middle, terminator_on=True, plug_type="through"))


def _crowd(spacing_m: float, plug: str, bit_rate: float, *, stations: int = 20, length_m: float = 100.0) -> TrialLine:
    """Stations crowded at the left end, and one at the far end."""
    line = trial_line(stations=stations + 1, length_m=length_m, bit_rate=bit_rate, plug=plug)
    crowded = [Piece(spacing_m)] * (stations - 1)
    pieces = (*crowded, Piece(length_m - spacing_m * (stations - 1)))
    return replace(line, laid=replace(line.laid, pieces=pieces))


def _compare(rule: str, tried: str, line: TrialLine, begins: str, why: str) -> Compared:
    bit_rate = round(line.laid.bit_rate)
    said: list[Finding] = [finding for finding in line.findings if finding.rule.startswith(begins)]
    least = known("rs485", "driver_least_v")
    usual, weak = (
        margin_matrix(line.circuit, bit_rate=bit_rate, driver=driver).worst[2] for driver in (sender(), sender(least))
    )
    return Compared(
        rule,
        tried,
        bit_rate,
        worst(said),
        "; ".join(dict.fromkeys(finding.source for finding in said if finding.degree is worst(said))),
        round(usual, 2) + 0.0,
        round(weak, 2) + 0.0,
        round(meter.volts(line.circuit, dgnd="earthed"), 2) + 0.0,
        why,
    )
