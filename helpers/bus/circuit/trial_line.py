"""A line to try things on, twice: as the rules see it, and as the circuit it makes.

What may be wrong with it is chosen by name, so that a panel, a table and a test mean the same thing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache, partial
from math import inf

from helpers.bus.cable.laid import Segment, even_line
from helpers.bus.cable.segment import check
from helpers.bus.cable.termination import check_termination
from helpers.bus.circuit.bounce import parallel, terminator_ohm
from helpers.bus.circuit.elements import Circuit, Receiver, Tap, evenly_spaced, known
from helpers.bus.circuit.faults import sides_exchanged, terminator_added, terminator_missing, terminator_unpowered
from helpers.errors import one_of
from helpers.verdict import Finding


@dataclass(frozen=True)
class End:
    """What an end of the line is like: for the rules, for the circuit, and for a wave that arrives [Ω].

    ohm is infinite where a wave finds an open end.
    """

    ohm: float
    laid: Mapping[str, object] = field(default_factory=dict)
    fault: Callable[[Circuit, int], Circuit] = lambda bus, _: bus


@cache
def ends() -> Mapping[str, End]:
    """The choices for an end, by name.

    "dead": on, but without supply. "cable in wrong side": on, the cable in the outgoing side of a plug that cuts it
    off there.

    >>> [name for name, end in ends().items() if end.ohm == float("inf")]
    ['missing', 'cable in wrong side']
    """
    on = terminator_ohm()
    return {
        "on": End(on),
        "missing": End(inf, {"terminator_on": False}, terminator_missing),
        "two on": End(parallel(on, on), {"own_supply": True}, terminator_added),
        "dead, VP on DGND": End(on, {"powered": False}, partial(terminator_unpowered, supply="dead")),
        "dead, VP free": End(known("terminator", "rt_ohm"), {"powered": False}, terminator_unpowered),
        "cable in wrong side": End(inf, {"sides_exchanged": True}, sides_exchanged),
    }


@cache
def plugs() -> Mapping[str, Tap]:
    """The choices for every plug and its station, by name: with or without inductors, good or poor station.

    >>> list(plugs())[0]
    '20 pF, inductors'
    """
    found = {}
    for kind in ("good", "poor"):
        farad = known("rs485", f"station_{kind}_f")
        station = f"{farad * 1e12:.0f} pF"
        found[f"{station}, inductors"] = Tap(Receiver(capacitance_f=farad))
        found[f"{station}, no inductors"] = Tap(Receiver(capacitance_f=farad), inductor_h=0.0)
    return found


@dataclass(frozen=True)
class TrialLine:
    """The same line for the rules (`planned`) and for the calculation (`circuit`); plug n is device n."""

    planned: Segment
    circuit: Circuit

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What all the rules say of it."""
        return (*check(self.planned), *check_termination(self.planned))


def trial_line(
    *,
    stations: int = 8,
    length_m: float = 100.0,
    bit_rate: float = 12e6,
    stub_m: float = 0.0,
    left: str = "on",
    right: str = "on",
    plug: str = "20 pF, inductors",
) -> TrialLine:
    """Evenly spaced stations on cable type A, with one choice for either end.

    stub_m: a stub of that length at each station between the ends [m]; left, right: names of `ends`; plug: of
    `plugs`.

    >>> line = trial_line(right="missing")
    >>> [finding.found for finding in line.findings if finding.rule == "termination: both ends"]
    ['no terminator at this end']
    """
    for end in (left, right):
        one_of("end of the line", end, ends())
    one_of("plug", plug, plugs())
    planned = even_line(stations=stations, length_m=length_m, bit_rate=bit_rate, stub_length_m=stub_m)
    circuit = evenly_spaced(stations, length_m, plug=plugs()[plug])
    for n in range(1, stations - 1):
        circuit = circuit.with_plug(n, stub_m=stub_m)
    for n, chosen in ((0, ends()[left]), (stations - 1, ends()[right])):
        planned = planned.with_plug(n, **chosen.laid)
        circuit = chosen.fault(circuit, n)
    return TrialLine(planned, circuit)
