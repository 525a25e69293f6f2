"""A multimeter with two probes: resistance with the bus dead, voltage with the bus idle, how far away a short is.

Before a resistance is measured, every device is off and unplugged: a meter drives its own current, and supplies or
receivers left in falsify what it reads.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from math import isnan

from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import Circuit, evenly_spaced
from helpers.bus.circuit.faults import terminator_added, terminator_missing, terminator_unpowered
from helpers.bus.circuit.line import cable
from helpers.bus.circuit.network import PINS, Node, branches
from helpers.errors import OutOfRange, one_of
from helpers.quantity import about, fixed, quantity

OPEN_FROM_OHM = 20e6  # beyond this a meter shows "open"
METER_OHM = 1e-6  # less than any meter shows


def volts_text(volts: float) -> str:
    """A voltage as a meter shows it, to 10 mV; one that nothing holds drifts.

    >>> volts_text(1.104), volts_text(-0.001), volts_text(float("nan"))
    ('1.10 V', '0.00 V', 'drifts')
    """
    return "drifts" if isnan(volts) else fixed(volts, "V")


def ohms_text(ohm: float) -> str:
    """A resistance as a meter shows it: three digits.

    >>> ohms_text(112.74), ohms_text(0.4), ohms_text(999.7), ohms_text(15_300), ohms_text(float("inf"))
    ('113 Ω', '0.4 Ω', '1 kΩ', '15.3 kΩ', 'open')
    """
    if ohm > OPEN_FROM_OHM:
        return "open"
    return about(ohm, "Ω", digits=3) if ohm >= 0.1 else quantity(ohm, "Ω")


def ohms(
    segment: Circuit,
    plug: int = 0,
    first: str = "A",
    second: str = "B",
    *,
    second_plug: int | None = None,
    devices: str = "unplugged",
    dgnd: str = "common",
) -> float:
    """Resistance between two pins, the bus dead [Ω]; infinite where nothing joins them.

    plug: number of the plug, 0 at the left end; second_plug: where the other probe is, if elsewhere.
    first, second: A, B, shield, DGND or VP. devices: "unplugged", or "dead": plugged without supply.
    dgnd: see `network.branches`.

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> round(ohms(evenly_spaced(8, 100)), 1)
    112.7
    """
    one_of("state of the devices for a resistance", devices, ("unplugged", "dead"))
    a, b = _probes(segment, plug, first, second, second_plug)
    found = Solved(branches(segment, devices=devices, dgnd=dgnd)).ohms(a, b)
    return found if found < OPEN_FROM_OHM else float("inf")


def volts(
    segment: Circuit,
    plug: int = 0,
    plus: str = "B",
    minus: str = "A",
    *,
    second_plug: int | None = None,
    dgnd: str = "common",
) -> float:
    """Voltage between two pins while all devices are on and nobody sends [V].

    Not a number where nothing joins them: there a meter drifts, and shows what it picks up.

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> round(volts(evenly_spaced(8, 100)), 2)
    1.07
    """
    a, b = _probes(segment, plug, plus, minus, second_plug)
    return steady_volts(Solved(branches(segment, dgnd=dgnd)), a, b)


def readings(segment: Circuit, plug: int = 0, *, dgnd: str = "common") -> dict[tuple[str, str], tuple[float, float]]:
    """For each pair of pins of one plug: resistance with the bus dead [Ω], voltage with the bus idle [V].

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> len(readings(evenly_spaced(2, 100)))
    10
    """
    segment.check_plug(plug)
    dead = Solved(branches(segment, devices="unplugged", dgnd=dgnd))
    idle = Solved(branches(segment, dgnd=dgnd))
    return {
        (first, second): (dead.ohms((plug, first), (plug, second)), steady_volts(idle, (plug, second), (plug, first)))
        for first, second in combinations(PINS, 2)
    }


def steady_volts(solved: Solved, plus: Node, minus: Node) -> float:
    """Voltage of `plus` against `minus` [V]; not a number where nothing joins them."""
    return solved.volts(plus, minus) if solved.connected(plus, minus) else float("nan")


def distance_m(loop_ohm: float, *, kind: str = "A", contact_ohm: float = 0.0) -> float:
    """How far away a short between A and B is, from the resistance measured at one end, terminators off [m].

    loop_ohm: as measured; kind: cable type; contact_ohm: the short's own resistance, or that of the test leads.

    >>> round(distance_m(11.0))
    100
    """
    if not 0 <= contact_ohm <= loop_ohm + METER_OHM < OPEN_FROM_OHM:
        raise OutOfRange(
            f"loop resistance is {loop_ohm:g} Ω with {contact_ohm:g} Ω of contacts; allowed is 0 or more, the contacts "
            f"no more than the whole, and not open."
        )
    return max(loop_ohm - contact_ohm, 0.0) / cable(kind).loop_ohm_per_m


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
        return ohms_text(self.dead_ohm)


_CASES: dict[str, Callable[[Circuit], Circuit]] = {
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
    return tuple(Case(name, volts(bus := change(healthy)), ohms(bus)) for name, change in _CASES.items())


def _probes(segment: Circuit, plug: int, first: str, second: str, second_plug: int | None) -> tuple[Node, Node]:
    other = plug if second_plug is None else second_plug
    for number, pin in ((plug, first), (other, second)):
        segment.check_plug(number)
        one_of("pin", pin, PINS)
    return (plug, first), (other, second)
