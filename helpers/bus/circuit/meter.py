"""A multimeter with two probes: resistance with the bus dead, voltage with the bus idle, how far away a short is.

Before a resistance is measured, every device is off and unplugged: a meter drives its own current, and supplies or
receivers left in falsify what it reads.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from math import isnan

from helpers.answer import Answer
from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import Circuit, evenly_spaced
from helpers.bus.circuit.faults import CATALOGUE, HEALTHY, terminator_added, terminator_missing, terminator_unpowered
from helpers.bus.circuit.line import cable
from helpers.bus.circuit.network import PINS, Node, branches
from helpers.errors import OutOfRange, in_range, one_of
from helpers.facts import one
from helpers.quantity import about, fixed, quantity
from helpers.safe_work import cautions

DEAD, IDLE = "bus dead: resistance", "bus idle: voltage"
_CAUTION = {DEAD: "measure ohms", IDLE: "measure volts"}
_UNPLUGGED = "Unplugged, each plug's DGND and VP lead to its own terminator only."
_MODEL = {
    "common": "DGND of all stations joined, not to the shield",
    "isolated": "each station has its own DGND",
    "earthed": "each DGND joined to the shield at its plug",
}

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


# -- what is said of it ----------------------------------------------------------------------------


@dataclass(frozen=True)
class ProbesPicture:
    """A line with its plugs, and the meter with a probe at each of two pins; a probe is a plug, from 1, and a pin."""

    stations: int
    red: tuple[int, str]
    black: tuple[int, str]
    shown: str

    @property
    def says(self) -> str:
        """Where the probes are, and what the meter shows."""
        (red_plug, red_pin), (black_plug, black_pin) = self.red, self.black
        return f"meter between {red_pin} at plug {red_plug} and {black_pin} at plug {black_plug}: {self.shown}"


def reading_text(value: float, state: str) -> str:
    """A reading as a meter shows it.

    >>> reading_text(112.68, DEAD), reading_text(float("inf"), DEAD), reading_text(1.0712, IDLE)
    ('113 Ω', 'open', '1.07 V')
    """
    return ohms_text(value) if state == DEAD else volts_text(value)


def _measured(circuit: Circuit, state: str, first: tuple[int, str], second: tuple[int, str], dgnd: str) -> float:
    (plug, pin), (second_plug, second_pin) = first, second
    if state == DEAD:
        return ohms(circuit, plug, pin, second_pin, second_plug=second_plug, dgnd=dgnd)
    return volts(circuit, plug, pin, second_pin, second_plug=second_plug, dgnd=dgnd)


def meter_answer(
    fault: str, stations: int, length_m: float, state: str,
    red_plug: int, red_pin: str, black_plug: int, black_pin: str, dgnd: str = "common",
) -> Answer:  # fmt: skip
    """What the meter reads between two pins, here and on the same segment with nothing wrong. Plugs count from 1."""
    for name, plug in (("plug of the red probe", red_plug), ("plug of the black probe", black_plug)):
        in_range(name, plug, 1, stations, source=f"the segment has {stations} plugs, counted from 1")
    healthy = evenly_spaced(stations, length_m)
    here = CATALOGUE[fault](healthy) if fault != HEALTHY else healthy
    probes = ((red_plug - 1, red_pin), (black_plug - 1, black_pin))
    shown = reading_text(_measured(here, state, *probes, dgnd), state)
    wanted = reading_text(_measured(healthy, state, *probes, dgnd), state)
    if isnan(_measured(here, state, *probes, dgnd)):
        because = "Nothing joins these two pins: a real meter shows what it picks up, and wanders. That is no reading."
    elif shown == wanted and fault != HEALTHY:
        because = "The reading is that of a healthy segment: this measurement does not show the fault. Try other pins."
    elif shown == wanted:
        because = "So reads a healthy segment."
    else:
        because = f"A healthy segment reads {wanted} here."
    wrong = f"What is wrong: {fault}. " if fault != HEALTHY else ""
    return Answer(
        "The meter drifts." if shown == "drifts" else f"The meter reads {shown}.",
        because=f"{wrong}{because} {_UNPLUGGED if state == DEAD else f'DGND in this circuit: {_MODEL[dgnd]}.'}",
        caution=cautions(_CAUTION[state], "dust"),
        pictures=[ProbesPicture(stations, (red_plug, red_pin), (black_plug, black_pin), shown)],
        rows=_all_pairs(here, healthy, red_plug, dgnd),
        sources=[
            f"terminator: {one('terminator', name='rt_ohm').cited}",
            f"input of a station, one unit load: {one('rs485', name='unit_load_ohm').cited}",
            f"cable type A at its greatest resistance: {_loop('A')}",
            "solved as a network (calculated)",
        ],
    )


def _loop(cable: str) -> str:
    """Where the resistance of both cores of a cable is from."""
    if cable == "A":
        return one("cable_types", cable="A", quantity="loop resistance").cited
    return one("line_electrical", cable=cable, quantity="loop_ohm_per_m").cited


def _all_pairs(here: Circuit, healthy: Circuit, plug: int, dgnd: str) -> list[dict[str, object]]:
    """Every pair of pins at one plug, here and healthy; voltage is second pin against first."""
    now, should = (readings(circuit, plug - 1, dgnd=dgnd) for circuit in (here, healthy))
    return [
        {
            f"at plug {plug}, second against first": f"{first} – {second}",
            "dead, here": reading_text(now[pair][0], DEAD),
            "dead, healthy": reading_text(should[pair][0], DEAD),
            "idle, here": reading_text(now[pair][1], IDLE),
            "idle, healthy": reading_text(should[pair][1], IDLE),
        }
        for pair in now
        for first, second in [pair]
    ]


def distance_answer(loop_ohm: float, leads_ohm: float, cable: str) -> Answer:
    """How far away a short from A to B is."""
    length_m = distance_m(loop_ohm, kind=cable, contact_ohm=leads_ohm)
    because = "The reading is no more than the test leads: the short is at your feet."
    if length_m:
        per_m = (loop_ohm - leads_ohm) / length_m
        because = (
            f"{loop_ohm:g} Ω measured, less {leads_ohm:g} Ω of test leads, at {per_m:.3g} Ω per metre of both cores."
        )
    return Answer(
        f"The short is about {length_m:.0f} m along the cable.",
        because=because,
        caution=cautions("measure ohms", "dust"),
        rows=[
            {"measured, in Ω": round(leads_ohm + ohm, 1), "distance, in m": round(distance_m(ohm, kind=cable))}
            for ohm in (1.0, 5.0, 10.0, 20.0, 50.0, 100.0)
        ],
        sources=[f"resistance of both cores: {_loop(cable)}. A better cable puts the short farther away."],
    )
