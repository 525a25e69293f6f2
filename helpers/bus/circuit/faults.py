"""A segment in, the same segment with one thing wrong out.

Every fault is a change of the circuit, never of a symptom. Plugs count from 0 at the left end, -1 is the last;
section n of the cable follows plug n.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Any

from helpers.bus.cable.laid import Segment
from helpers.bus.circuit.elements import (
    Break,
    Circuit,
    Receiver,
    Short,
    Tap,
    Terminator,
    circuit_of,
    most_stations,
    segment_at,
)
from helpers.bus.circuit.line import cable
from helpers.errors import OutOfRange, in_range, one_of


def terminator_missing(segment: Circuit, plug: int = -1) -> Circuit:
    """No terminator on at a plug."""
    return segment.with_plug(plug, terminators=())


def terminator_added(segment: Circuit, plug: int = -1) -> Circuit:
    """One more terminator on at a plug: doubled at an end, or a third one in the middle."""
    return segment.with_plug(plug, terminators=(*segment.plugs[segment.number(plug)].terminators, Terminator()))


def terminator_unpowered(
    segment: Circuit, plug: int = -1, *, supply: str = "open", dgnd: bool = True, which: int | None = None
) -> Circuit:
    """The terminators of a plug on, but without supply: "open", VP hangs free; "dead", VP lies on DGND.

    which: the number of the only one that it fails; a plug's own comes first, a box beside it last.
    """
    terminators = list(segment.plugs[segment.number(plug)].terminators)
    if not terminators:
        raise OutOfRange(f"plug {plug} has no terminator on whose supply could fail; allowed is a plug with one.")
    for number in range(len(terminators)) if which is None else (which,):
        terminators[number] = replace(terminators[number], supply=supply, dgnd=dgnd)
    return segment.with_plug(plug, terminators=tuple(terminators))


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


def unit_loads_added(segment: Circuit, plug: int, unit_loads: float) -> Circuit:
    """A station whose input draws as much as several."""
    receiver = segment.plugs[segment.number(plug)].receiver or Receiver(0.0)
    return segment.with_plug(plug, receiver=replace(receiver, unit_loads=receiver.unit_loads + unit_loads))


def inductors_missing(segment: Circuit, plug: int, least_f: float = 0.0) -> Circuit:
    """A plug without its inductors, and a station whose input has at least `least_f` between the cores [F]."""
    receiver = segment.plugs[segment.number(plug)].receiver
    if receiver:
        receiver = replace(receiver, capacitance_f=max(receiver.capacitance_f, least_f))
    return segment.with_plug(plug, inductor_h=0.0, receiver=receiver)


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


# What can be wrong with a segment as it is laid, by name: at a plug, or in a piece of cable.
AT_PLUG: dict[str, Callable[..., Circuit]] = {
    "terminator missing": terminator_missing,
    "terminator unpowered": partial(terminator_unpowered, which=0),
    "box unpowered": partial(terminator_unpowered, supply="dead", which=-1),
    "pin open": pin_open,
    "cores swapped": cores_swapped,
    "capacitance": capacitance_added,
    "unit loads": unit_loads_added,
    "no inductors": inductors_missing,
}
IN_PIECE: dict[str, Callable[..., Circuit]] = {"bad contact": bad_contact, "core open": core_open, "short": shorted}


@dataclass(frozen=True)
class CableFault:
    """One thing that is wrong with a segment as it is laid: its kind, its plug or piece of cable, and its figures.

    figures: what the function of this kind wants to know beside the place.
    """

    kind: str
    plug: int | None = None
    piece: int | None = None
    figures: tuple[tuple[str, Any], ...] = ()

    def put(self, circuit: Circuit) -> Circuit:
        """The circuit with it."""
        if self.piece is not None:
            return IN_PIECE[self.kind](circuit, section=self.piece, **dict(self.figures))
        return AT_PLUG[self.kind](circuit, plug=self.plug, **dict(self.figures))

    def shows(self, laid: Segment) -> bool:
        """True unless it concerns a terminator that is not on, or not there."""
        if self.plug is None or not self.kind.endswith("unpowered"):
            return True
        plug = laid.plugs[self.plug]
        return plug.own_supply if self.kind == "box unpowered" else plug.terminator_on or plug.kind == "terminator"


def at_plug(kind: str, plug: int, **figures: Any) -> CableFault:
    """A fault at a plug.

    >>> at_plug("pin open", 2, core="B").plug
    2
    """
    one_of("fault at a plug", kind, AT_PLUG)
    return CableFault(kind, plug=plug, figures=tuple(figures.items()))


def in_piece(kind: str, piece: int, **figures: Any) -> CableFault:
    """A fault in a piece of cable; piece n follows plug n.

    >>> in_piece("short", 0, first="A", second="B", at_m=3.0).piece
    0
    """
    one_of("fault in a piece of cable", kind, IN_PIECE)
    return CableFault(kind, piece=piece, figures=tuple(figures.items()))


@dataclass(frozen=True)
class Built:
    """A segment as it stands: what is laid, and what is wrong with it, in the order in which it came.

    >>> from helpers.bus.cable.laid import even_line
    >>> bus = Built(even_line(stations=3, length_m=20, bit_rate=500_000), (at_plug("cores swapped", 1),))
    >>> [tap.swapped for tap in bus.circuit.plugs]
    [False, True, False]
    """

    laid: Segment
    wrong: tuple[CableFault, ...] = ()

    @cached_property
    def circuit(self) -> Circuit:
        """What it is electrically."""
        circuit = circuit_of(self.laid)
        for fault in self.wrong:
            if fault.shows(self.laid):
                circuit = fault.put(circuit)
        return circuit


HEALTHY = "nothing wrong"
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
