"""A line to try things on: as it is laid for the rules, and the circuit that this makes.

What may be wrong with it is chosen by name, so that a panel, a table and a test mean the same thing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from math import inf

from helpers.bus.cable.laid import even_line
from helpers.bus.cable.segment import check
from helpers.bus.cable.termination import check_termination
from helpers.bus.circuit.bounce import parallel, terminator_ohm
from helpers.bus.circuit.elements import known
from helpers.bus.circuit.faults import Built, CableFault, at_plug
from helpers.errors import one_of
from helpers.verdict import Finding


@dataclass(frozen=True)
class End:
    """What an end of the line is like: what is laid there, what is wrong, and for a wave that arrives [Ω].

    ohm is infinite where a wave finds an open end. wrong: a kind of fault at the plug.
    """

    ohm: float
    laid: Mapping[str, object] = field(default_factory=dict)
    wrong: str = ""


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
        "missing": End(inf, {"terminator_on": False}),
        "two on": End(parallel(on, on), {"own_supply": True}),
        "dead, VP on DGND": End(on, {"powered": False}),
        "dead, VP free": End(known("terminator", "rt_ohm"), {"powered": False}, "terminator unpowered"),
        "cable in wrong side": End(inf, {"sides_exchanged": True}),
    }


@dataclass(frozen=True)
class PlugChoice:
    """A plug with its inductors or without, and the capacitance of the station at it [F]."""

    station_f: float
    inductors: bool

    def wrong(self, plug: int) -> tuple[CableFault, ...]:
        """What that is beside a good station on a plug with inductors."""
        if not self.inductors:
            return (at_plug("no inductors", plug, least_f=self.station_f),)
        more_f = self.station_f - known("rs485", "station_good_f")
        return (at_plug("capacitance", plug, farad=more_f),) if more_f else ()


@cache
def plugs() -> Mapping[str, PlugChoice]:
    """The choices for every plug and its station, by name: with or without inductors, good or poor station.

    >>> list(plugs())[0]
    '20 pF, inductors'
    """
    found = {}
    for kind in ("good", "poor"):
        farad = known("rs485", f"station_{kind}_f")
        station = f"{farad * 1e12:.0f} pF"
        found[f"{station}, inductors"] = PlugChoice(farad, inductors=True)
        found[f"{station}, no inductors"] = PlugChoice(farad, inductors=False)
    return found


class TrialLine(Built):
    """A line for the rules and for the calculation; plug n of the circuit is plug n of what is laid."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What all the rules say of it."""
        return (*check(self.laid), *check_termination(self.laid))


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
    laid = even_line(stations=stations, length_m=length_m, bit_rate=bit_rate, stub_length_m=stub_m)
    wrong = [fault for n in range(stations) for fault in plugs()[plug].wrong(n)]
    for n, chosen in ((0, ends()[left]), (stations - 1, ends()[right])):
        laid = laid.with_plug(n, **chosen.laid)
        wrong += [at_plug(chosen.wrong, n)] if chosen.wrong else []
    return TrialLine(laid, tuple(wrong))
