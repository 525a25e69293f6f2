"""What a multimeter reads at one end of a segment, case by case: terminators missing, one too many, unfed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from helpers.bus.circuit import meter
from helpers.bus.circuit.elements import Segment, evenly_spaced
from helpers.bus.circuit.faults import terminator_added, terminator_missing, terminator_unpowered


def volts_text(volts: float) -> str:
    """A voltage as a meter shows it, to 10 mV and without a sign before zero.

    >>> volts_text(1.104), volts_text(-0.001)
    ('1.10 V', '0.00 V')
    """
    return f"{round(volts, 2) + 0.0:.2f} V"


@dataclass(frozen=True)
class Case:
    """One state of the terminators: idle_v, B against A at the near end in V with everything on and nobody sending;
    dead_ohm, A to B there in Ω with the bus dead and every device unplugged, infinite where it is open.
    """

    terminators: str
    idle_v: float
    dead_ohm: float

    @property
    def volts(self) -> str:
        """The voltage as a meter shows it."""
        return volts_text(self.idle_v)

    @property
    def ohms(self) -> str:
        """The resistance as a meter shows it."""
        return meter.ohms_text(self.dead_ohm)


_CASES: dict[str, Callable[[Segment], Segment]] = {
    "both ends on": lambda bus: bus,
    "far end off": terminator_missing,
    "near end off": lambda bus: terminator_missing(bus, 0),
    "both ends off": lambda bus: terminator_missing(terminator_missing(bus), 0),
    "a third one on in the middle": lambda bus: terminator_added(bus, len(bus.plugs) // 2),
    "far end twice": terminator_added,
    "far end on, its device dead and VP free": terminator_unpowered,
    "far end on, its device dead and VP on DGND": lambda bus: terminator_unpowered(bus, supply="dead"),
}


def meter_cases(*, stations: int = 8, length_m: float = 100.0) -> tuple[Case, ...]:
    """The readings at the near end of stations evenly spread over `length_m` of cable type A.

    Plugs that leave the cable joined; DGND taken as common to all stations, which the bus cable does not make.
    Source: calculated from the terminator's resistors (M. Felser, PROFIBUS Manual, bus termination), the loop
    resistance of type A and a full unit load for each station.

    >>> [(case.volts, case.ohms) for case in meter_cases(stations=2, length_m=0)][:2]
    [('1.09 V', '110 Ω'), ('1.08 V', '220 Ω')]
    """
    healthy = evenly_spaced(stations, length_m)
    return tuple(Case(name, meter.volts(bus := change(healthy)), meter.ohms(bus)) for name, change in _CASES.items())
