"""A multimeter with two probes: resistance with the bus dead, voltage with the bus idle, how far away a short is.

Before a resistance is measured, every device is off and unplugged: a meter drives its own current, and supplies or
receivers left in falsify what it reads.
"""

from __future__ import annotations

from itertools import combinations

from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import Segment
from helpers.bus.circuit.line import cable
from helpers.bus.circuit.network import PINS, Node, branches
from helpers.errors import OutOfRange, one_of

OPEN_FROM_OHM = 20e6  # beyond this a meter shows "open"
METER_OHM = 1e-6  # less than any meter shows


def ohms_text(ohm: float) -> str:
    """A resistance as a meter shows it: three digits.

    >>> ohms_text(112.74), ohms_text(0.4), ohms_text(999.7), ohms_text(15_300), ohms_text(float("inf"))
    ('113 Ω', '0.4 Ω', '1 kΩ', '15.3 kΩ', 'open')
    """
    if ohm > OPEN_FROM_OHM:
        return "open"
    return f"{ohm:.3g} Ω" if ohm < 999.5 else f"{float(f'{ohm:.3g}') / 1000:g} kΩ"


def ohms(
    segment: Segment,
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
    segment: Segment,
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


def readings(segment: Segment, plug: int = 0, *, dgnd: str = "common") -> dict[tuple[str, str], tuple[float, float]]:
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


def _probes(segment: Segment, plug: int, first: str, second: str, second_plug: int | None) -> tuple[Node, Node]:
    other = plug if second_plug is None else second_plug
    for number, pin in ((plug, first), (other, second)):
        segment.check_plug(number)
        one_of("pin", pin, PINS)
    return (plug, first), (other, second)
