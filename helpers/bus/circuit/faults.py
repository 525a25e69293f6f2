"""A segment in, the same segment with one thing wrong out.

Every fault is a change of the circuit, never of a symptom. Plugs count from 0 at the left end, -1 is the last;
section n of the cable follows plug n.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from helpers.bus.circuit.elements import Break, Circuit, Receiver, Short, Tap, Terminator, most_stations, segment_at
from helpers.bus.circuit.line import cable
from helpers.errors import OutOfRange, in_range


def terminator_missing(segment: Circuit, plug: int = -1) -> Circuit:
    """No terminator on at a plug."""
    return segment.with_plug(plug, terminators=())


def terminator_added(segment: Circuit, plug: int = -1) -> Circuit:
    """One more terminator on at a plug: doubled at an end, or a third one in the middle."""
    return segment.with_plug(plug, terminators=(*segment.plugs[segment.number(plug)].terminators, Terminator()))


def terminator_unpowered(segment: Circuit, plug: int = -1, *, supply: str = "open", dgnd: bool = True) -> Circuit:
    """The terminators of a plug on, but without supply: "open", VP hangs free; "dead", VP lies on DGND."""
    without = tuple(replace(one, supply=supply, dgnd=dgnd) for one in segment.plugs[segment.number(plug)].terminators)
    if not without:
        raise OutOfRange(f"plug {plug} has no terminator on whose supply could fail; allowed is a plug with one.")
    return segment.with_plug(plug, terminators=without)


def sides_exchanged(segment: Circuit, plug: int = -1) -> Circuit:
    """A plug of the kind that cuts off its outgoing cable, with the cable on the outgoing side and terminator on."""
    on = segment.plugs[segment.number(plug)].terminators or (Terminator(),)
    return segment.with_plug(plug, terminators=on, cuts_outgoing=True, sides_exchanged=True)


def middle_switched_on(segment: Circuit, plug: int) -> Circuit:
    """The terminator of a middle plug switched on, with a plug that cuts off its outgoing cable."""
    return terminator_added(segment, plug).with_plug(plug, cuts_outgoing=True)


def core_open(segment: Circuit, core: str = "A", section: int = 0, *, at_m: float = 0.0) -> Circuit:
    """One core of the cable broken, `at_m` metres after plug `section`."""
    return bad_contact(segment, core, section, ohm=math.inf, at_m=at_m)


def bad_contact(segment: Circuit, core: str = "A", section: int = 0, *, ohm: float, at_m: float = 0.0) -> Circuit:
    """A contact with series resistance in one core of the cable [Ω]."""
    return _in_section(segment, section, Break(core, at_m, ohm))


def pin_open(segment: Circuit, core: str = "A", plug: int = 0, *, ohm: float = math.inf) -> Circuit:
    """One pin between plug and station open, or with a series resistance [Ω]; the cable goes on unharmed."""
    return segment.with_plug(plug, faults=(*segment.plugs[segment.number(plug)].faults, Break(core, ohm=ohm)))


def cores_swapped(segment: Circuit, plug: int = 0) -> Circuit:
    """A and B exchanged at one station."""
    return segment.with_plug(plug, swapped=not segment.plugs[segment.number(plug)].swapped)


def shorted(
    segment: Circuit, first: str = "A", second: str = "B", section: int = 0, *, at_m: float = 0.0, ohm: float = 0.0
) -> Circuit:
    """Two conductors of the cable touch, `at_m` metres after plug `section`."""
    return _in_section(segment, section, Short(first, second, at_m, ohm))


def capacitance_added(segment: Circuit, plug: int, farad: float) -> Circuit:
    """More capacitance between the cores at a station than is good [F]."""
    receiver = segment.plugs[segment.number(plug)].receiver or Receiver(0.0, 0.0)
    return segment.with_plug(plug, receiver=replace(receiver, capacitance_f=receiver.capacitance_f + farad))


def foreign_cable(segment: Circuit, section: int = 0, kind: str = "B") -> Circuit:
    """One section of another cable type."""
    return segment.with_section(section, cable=cable(kind))


def cluster(stations: int = 20, *, spacing_m: float = 0.5, length_m: float = 100.0, plug: Tap | None = None) -> Circuit:
    """Stations crowded at the left end, `spacing_m` apart, and one at the far end, `length_m` away.

    >>> cluster(3, spacing_m=0.2).positions_m
    (0.0, 0.2, 0.4, 100.0)
    """
    in_range("number of crowded stations", stations, 1, most_stations() - 1)
    crowd = [n * spacing_m for n in range(stations)]
    return segment_at([*crowd, max(length_m, crowd[-1])], plug=plug)


def _in_section(segment: Circuit, section: int, fault: Short | Break) -> Circuit:
    if not segment.sections:
        raise OutOfRange("a segment of one plug has no cable that could be at fault; allowed is two plugs or more.")
    faults = segment.sections[section].faults if 0 <= section < len(segment.sections) else ()
    return segment.with_section(section, faults=(*faults, fault))


# One of each, for a segment of three plugs or more: what the lessons, the practice line and the tests go through.
CATALOGUE: dict[str, Callable[[Circuit], Circuit]] = {
    "terminator missing at the far end": terminator_missing,
    "terminator doubled at the far end": terminator_added,
    "third terminator on in the middle": lambda bus: terminator_added(bus, len(bus.plugs) // 2),
    "far terminator unpowered, VP free": terminator_unpowered,
    "far terminator unpowered, VP and DGND free": lambda bus: terminator_unpowered(bus, dgnd=False),
    "far terminator unpowered, VP on DGND": lambda bus: terminator_unpowered(bus, supply="dead"),
    "far plug: incoming and outgoing exchanged": sides_exchanged,
    "middle plug: terminator on, outgoing cut off": lambda bus: middle_switched_on(bus, len(bus.plugs) // 2),
    "core A open": lambda bus: core_open(bus, "A", len(bus.sections) // 2),
    "core B open": lambda bus: core_open(bus, "B", len(bus.sections) // 2),
    "pin A of a station open": lambda bus: pin_open(bus, "A", len(bus.plugs) // 2),
    "A and B swapped at a station": lambda bus: cores_swapped(bus, len(bus.plugs) // 2),
    "short from A to B": lambda bus: shorted(bus, "A", "B", len(bus.sections) // 2),
    "short from A to the shield": lambda bus: shorted(bus, "A", "shield", len(bus.sections) // 2),
    "short from B to the shield": lambda bus: shorted(bus, "B", "shield", len(bus.sections) // 2),
    "contact of 100 Ω in core A": lambda bus: bad_contact(bus, "A", len(bus.sections) // 2, ohm=100.0),
    "1 nF too much at a station": lambda bus: capacitance_added(bus, len(bus.plugs) // 2, 1e-9),
    "a section of cable type B": lambda bus: foreign_cable(bus, len(bus.sections) // 2),
    "shield open": lambda bus: core_open(bus, "shield", len(bus.sections) // 2),
}
