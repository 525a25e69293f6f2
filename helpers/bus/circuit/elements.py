"""What a segment is built of: cable, plugs, receivers, terminators, a sender, and what can be wrong with each.

A `Segment` is a row of plugs with one section of cable between neighbours. Plug 0 is the left end. The same
description is solved for direct current (`dc`, `meter`) and for the waveform (`ladder`, `waveform`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import accumulate, pairwise

from helpers.bus.cable.laid import Plug
from helpers.bus.cable.laid import Segment as Laid
from helpers.bus.circuit.line import Cable, cable
from helpers.errors import OutOfRange, in_range, not_negative, one_of, positive
from helpers.facts import one, rows

CORES = ("A", "B", "shield")
LONGEST_M = 3000.0
LONGER = (
    f"no source allows a segment of more than {max(row.number('length_m') for row in rows('segment_length')):g} m; "
    f"the calculation holds to {LONGEST_M:g} m"
)
SUPPLIES = ("on", "open", "dead")


@cache
def known(table: str, name: str) -> float:
    """A figure of the circuit by its name, from `data/<table>.csv`."""
    return one(table, name=name).number("value")


def most_stations() -> int:
    """All the addresses there are: more stations can never answer on one line. A segment should have 32 at most.

    >>> most_stations()
    126
    """
    return one("address_counts", figure=126).whole("figure")


@dataclass(frozen=True)
class Short:
    """Two conductors touch, through `ohm`; in a section, `at_m` metres from its left plug."""

    first: str
    second: str
    at_m: float = 0.0
    ohm: float = 0.0

    def __post_init__(self) -> None:
        one_of("conductor", self.first, CORES)
        one_of("conductor", self.second, CORES)
        if self.first == self.second:
            raise OutOfRange(f"a short joins two conductors; {self.first} with itself is none.")
        not_negative("place of the short", self.at_m, "m")
        not_negative("resistance of the short", self.ohm, "Ω")


@dataclass(frozen=True)
class Break:
    """One conductor is open, or a bad contact of `ohm`; in a section, `at_m` metres from its left plug."""

    core: str
    at_m: float = 0.0
    ohm: float = math.inf

    def __post_init__(self) -> None:
        one_of("conductor", self.core, CORES)
        not_negative("place of the break", self.at_m, "m")
        if not self.ohm >= 0:
            raise OutOfRange(f"contact resistance is {self.ohm:g} Ω; allowed is 0 or more.")


@dataclass(frozen=True)
class Section:
    """A length of cable between two plugs, with what is wrong in it."""

    length_m: float
    cable: Cable = field(default_factory=cable)
    faults: tuple[Short | Break, ...] = ()

    def __post_init__(self) -> None:
        in_range("length of cable", self.length_m, 0, LONGEST_M, "m", LONGER)
        for fault in self.faults:
            in_range("place of the fault in this section", fault.at_m, 0, self.length_m, "m")

    def parts(self) -> Iterator[float | Short | Break]:
        """Lengths of cable [m] and faults, from left to right.

        >>> list(Section(10.0, faults=(Short("A", "B", at_m=4),)).parts())
        [4.0, Short(first='A', second='B', at_m=4, ohm=0.0), 6.0]
        """
        done = 0.0
        for fault in sorted(self.faults, key=lambda fault: fault.at_m):
            if fault.at_m > done:
                yield fault.at_m - done
            done = fault.at_m
            yield fault
        if self.length_m > done:
            yield self.length_m - done


@dataclass(frozen=True)
class Terminator:
    """VP – rs – B – rt – A – rs – DGND. `supply`: "on"; "open", VP hangs free; "dead", VP lies on DGND.

    `dgnd` is False where the terminator's own DGND lead hangs free as well.
    """

    rt_ohm: float = field(default_factory=lambda: known("terminator", "rt_ohm"))
    rs_ohm: float = field(default_factory=lambda: known("terminator", "rs_ohm"))
    supply_v: float = field(default_factory=lambda: known("terminator", "supply_v"))
    supply: str = "on"
    dgnd: bool = True

    def __post_init__(self) -> None:
        positive("terminating resistance", self.rt_ohm, "Ω")
        positive("resistance to the supply", self.rs_ohm, "Ω")
        not_negative("supply of the terminator", self.supply_v, "V")
        one_of("supply of the terminator", self.supply, SUPPLIES)


@dataclass(frozen=True)
class Receiver:
    """A station's input: `unit_loads` of 12 kΩ from each core to DGND, and a capacitance between the cores."""

    unit_loads: float = 1.0
    capacitance_f: float = field(default_factory=lambda: known("rs485", "station_good_f"))

    def __post_init__(self) -> None:
        not_negative("unit loads of a receiver", self.unit_loads, "")
        in_range("capacitance of a station", self.capacitance_f, 0, 1e-6, "F")

    @property
    def core_conductance(self) -> float:
        """Conductance from each core to DGND [S]."""
        return self.unit_loads / known("rs485", "unit_load_ohm")


@dataclass(frozen=True)
class Sender:
    """A driver: differential voltage with no load, resistance of both halves together, time of a whole edge.

    common_v is the middle of both cores against the driver's DGND; it matters where a fault treats them differently.
    """

    open_circuit_v: float
    source_ohm: float
    rise_s: float
    common_v: float = field(default_factory=lambda: known("rs485", "driver_common_v"))

    def __post_init__(self) -> None:
        positive("voltage of the sender", self.open_circuit_v, "V")
        positive("source resistance of the sender", self.source_ohm, "Ω")
        in_range("rise time of the sender", self.rise_s, 0, 1e-5, "s")
        in_range("common voltage of the sender", self.common_v, -100, 100, "V")


@cache
def sender(into_test_load_v: float | None = None) -> Sender:
    """A driver by its voltage into the 54 Ω test load [V]; without a figure, the usual one.

    >>> sender(1.5).open_circuit_v                 # the weakest that RS-485 allows
    2.888888888888889
    """
    volts = known("rs485", "driver_usual_v") if into_test_load_v is None else into_test_load_v
    source = known("rs485", "driver_source_ohm")
    load = known("rs485", "test_load_ohm")
    return Sender(volts * (load + source) / load, source, known("rs485", "driver_rise_s"))


@dataclass(frozen=True)
class Tap:
    """A place on the bus: plug, and behind it a station (`receiver`), a terminator box, or nothing.

    inductor_h sits in each core on each side of the plug: with the station's capacitance it makes a piece of line
    of √(4·110 nH / 20 pF) ≈ 148 Ω, so a good station hardly shows. cuts_outgoing: the kind of plug that
    cuts off the outgoing cable while its terminator is on; on an end plug the cable belongs on the incoming side.
    sides_exchanged: incoming and outgoing are exchanged. swapped: A and B are exchanged at this plug, for the
    terminator and the station. stub_m: the plug hangs on a stub of that length. faults: a `Short` at the
    plug, a `Break` between plug and station. `at_m` has no meaning here.
    """

    receiver: Receiver | None = field(default_factory=Receiver)
    terminators: tuple[Terminator, ...] = ()
    inductor_h: float = field(default_factory=lambda: known("terminator", "inductor_h"))
    cuts_outgoing: bool = False
    sides_exchanged: bool = False
    swapped: bool = False
    stub_m: float = 0.0
    stub_cable: Cable = field(default_factory=cable)
    faults: tuple[Short | Break, ...] = ()

    def __post_init__(self) -> None:
        in_range("inductor of a plug", self.inductor_h, 0, 1e-3, "H")
        in_range("length of a stub", self.stub_m, 0, LONGEST_M, "m", LONGER)


@dataclass(frozen=True)
class Circuit:
    """Plugs from left to right, and the section of cable after each but the last."""

    plugs: tuple[Tap, ...]
    sections: tuple[Section, ...]

    def __post_init__(self) -> None:
        in_range(
            "number of plugs on the segment",
            len(self.plugs),
            1,
            most_stations() + 4,
            source="126 addresses are all there are; four more places for terminator boxes and open ends",
        )
        in_range("length of the segment", self.length_m, 0, LONGEST_M, "m", LONGER)
        if len(self.sections) != len(self.plugs) - 1:
            raise OutOfRange(
                f"a segment of {len(self.plugs)} plugs has {len(self.sections)} sections of cable; "
                f"allowed is one less than plugs."
            )

    @property
    def stations(self) -> tuple[int, ...]:
        """The plugs that have a station, by number from the left."""
        return tuple(n for n, plug in enumerate(self.plugs) if plug.receiver is not None)

    @property
    def positions_m(self) -> tuple[float, ...]:
        """Distance of each plug from the left end, along the cable [m]."""
        return tuple(accumulate((section.length_m for section in self.sections), initial=0.0))

    @property
    def length_m(self) -> float:
        """Length of cable from the first to the last plug, without stubs [m]."""
        return self.positions_m[-1]

    def check_plug(self, plug: int, name: str = "plug") -> None:
        """Raise `OutOfRange` unless the segment has a plug of that number (0 is the left end)."""
        in_range(name, plug, 0, len(self.plugs) - 1, source="plugs are counted from 0 at the left end")

    def cut_side(self, plug: int) -> str | None:
        """Which side a plug with its terminator on cuts off: "left", "right" or None.

        At the left end the cable comes in from the right; everywhere else from the left.
        """
        here = self.plugs[plug]
        if not (here.cuts_outgoing and here.terminators) or here.stub_m:
            return None
        outgoing_is_left = (plug == 0) != here.sides_exchanged
        return "left" if outgoing_is_left else "right"

    def number(self, plug: int) -> int:
        """The number of a plug counted from the left; -1 is the last one."""
        counted = plug + len(self.plugs) if -len(self.plugs) <= plug < 0 else plug
        self.check_plug(counted)
        return counted

    def with_plug(self, plug: int, **changes: object) -> Circuit:
        """The same segment with some fields of one plug changed; -1 is the last plug."""
        n = self.number(plug)
        changed = replace(self.plugs[n], **changes)  # type: ignore[arg-type]
        return replace(self, plugs=(*self.plugs[:n], changed, *self.plugs[n + 1 :]))

    def with_section(self, section: int, **changes: object) -> Circuit:
        """The same segment with some fields of one section of cable changed; section n follows plug n."""
        in_range("section", section, 0, len(self.sections) - 1, source="section n follows plug n")
        changed = replace(self.sections[section], **changes)  # type: ignore[arg-type]
        return replace(self, sections=(*self.sections[:section], changed, *self.sections[section + 1 :]))


def segment_at(
    positions_m: Sequence[float],
    *,
    kind: str = "A",
    plug: Tap | None = None,
    terminators: Sequence[Terminator] | None = None,
) -> Circuit:
    """A segment with stations at these distances from the left end [m], a terminator at either end.

    Parameters: kind of cable, "A" or "B"; plug, the one used everywhere; terminators, left and right, both on if
    not given. One station alone carries both.

    >>> segment_at([0, 40, 100]).length_m
    100.0
    """
    if not positions_m:
        raise OutOfRange("the segment has no station; allowed is 1 or more.")
    # Rounded to a micrometre, so that equal sections are equal and are calculated once.
    steps = [round(b - a, 6) for a, b in pairwise(positions_m)]
    return _terminated(steps, kind, plug or Tap(), terminators or (Terminator(), Terminator()))


def evenly_spaced(stations: int = 32, length_m: float = 100.0, *, kind: str = "A", plug: Tap | None = None) -> Circuit:
    """A healthy segment: stations at equal distances over `length_m`, both ends terminated.

    >>> len(evenly_spaced(stations=8, length_m=70).sections)
    7
    """
    in_range("number of stations", stations, 1, most_stations(), source="addresses 0 to 125 are all there are")
    not_negative("length of the segment", length_m, "m")
    steps = [length_m / max(stations - 1, 1)] * (stations - 1)
    return _terminated(steps, kind, plug or Tap(), (Terminator(), Terminator()))


def _terminated(steps_m: Sequence[float], kind: str, plug: Tap, terminators: Sequence[Terminator]) -> Circuit:
    """Equal plugs at these distances from each other, one more terminator on at either end."""
    bare = Circuit((plug,) * (len(steps_m) + 1), tuple(Section(step, cable(kind)) for step in steps_m))
    left, right = terminators
    ended = bare.with_plug(0, terminators=(*plug.terminators, left))
    return ended.with_plug(-1, terminators=(*ended.plugs[-1].terminators, right))


def circuit_of(segment: Laid) -> Circuit:
    """The circuit of a segment: tap n is plug n.

    A device whose input capacitance is not given gets that of a good station. The terminator of a device without
    supply is dead, its VP on DGND; a terminator with its own supply stays on.

    >>> from helpers.bus.cable.laid import even_line
    >>> circuit_of(even_line(stations=3, length_m=100, bit_rate=12_000_000)).positions_m
    (0.0, 50.0, 100.0)
    """
    sections = tuple(Section(piece.length_m, cable(piece.cable)) for piece in segment.pieces)
    return Circuit(tuple(_tap(plug) for plug in segment.plugs), sections)


def _tap(plug: Plug) -> Tap:
    terminators: tuple[Terminator, ...] = (
        (Terminator(supply="on" if plug.powered else "dead"),) if plug.terminator_on else ()
    )
    if plug.has_box:
        terminators += (Terminator(),)
    receiver = Receiver(plug.unit_load)
    if plug.stub_capacitance_f:
        receiver = Receiver(plug.unit_load, plug.stub_capacitance_f)
    return Tap(
        receiver=receiver if plug.interfaces else None,
        terminators=terminators,
        cuts_outgoing=plug.terminator_on and plug.cuts,
        sides_exchanged=plug.sides_exchanged,
        stub_m=plug.stub_length_m,
        stub_cable=cable(plug.stub_cable),
    )
