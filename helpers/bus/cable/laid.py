"""What is laid of a bus cable: the plugs along a segment, and the pieces of cable between them.

One picture for the rules, for a network plan, for drawings and for the practice line. What it is electrically is
derived from it in `helpers.bus.circuit`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

from helpers.bus.cable.bit_rates import known_bit_rate
from helpers.errors import in_range, one_of
from helpers.facts import one, rows
from helpers.quantity import quantity
from helpers.written import Range

# No bus of copper is longer; a greater number is a slip of the keyboard.
LONGEST_M = 100_000.0


@cache
def cable_types() -> tuple[str, ...]:
    """The types of cable that a segment may be laid with.

    >>> cable_types()
    ('A', 'B')
    """
    return tuple(dict.fromkeys(row["cable"] for row in rows("segment_length")))


@dataclass(frozen=True)
class Piece:
    """A piece of cable of one type between two plugs: length in m, type `A` or `B`.

    open: from where to where its length may be, if nobody has measured it; `length_m` is then the most likely one.

    >>> Piece(300 * 0.3048).length_m
    91.44
    """

    length_m: float
    cable: str = "A"
    note: str = ""
    open: Range | None = None

    def __post_init__(self) -> None:
        in_range("length of a section", self.length_m, 0, LONGEST_M, "m", "lengths the workbook takes")
        one_of("cable type", self.cable, cable_types())

    @property
    def length_text(self) -> str:
        """Its length as people write it.

        >>> Piece(20.0, open=Range(10.0, 20.0, 30.0)).length_text, Piece(10.0, open=Range()).length_text
        ('10 to 30 m', 'not measured')
        """
        if self.open is None:
            return quantity(self.length_m, "m")
        if self.open.most is None:
            return "not measured"
        if self.open.about:
            return f"about {quantity(self.length_m, 'm')}"
        return f"{quantity(self.open.least, '')} to {quantity(self.open.most, 'm')}"


@dataclass(frozen=True)
class Plug:
    """A plug, and what sits at it.

    - name, kind: of the device, a row of data/device_kinds.csv; a repeater has a plug in each segment that it joins
    - unit_load: RS-485 unit loads (12 kΩ or more each) of its receiver
    - stub_length_m, stub_cable: the stub from the bus cable to the device; 0 where the cable runs through the plug
    - stub_capacitance_f: what hangs on the stub beside its cable (the device's input), in F
    - plug_type: a row of data/plugs.csv; terminator_on is its switch, or with plug `device` the one in the device
    - own_supply: a terminator with its own supply sits here
    - sides_exchanged: the incoming cable is in the outgoing side of the plug
    - powered: the device has its supply; may_be_off: it is switched off now and then while the bus runs on
    """

    name: str
    kind: str = "drive"
    unit_load: float = 1.0
    stub_length_m: float = 0.0
    stub_cable: str = "A"
    stub_capacitance_f: float = 0.0
    plug_type: str = "cutting"
    terminator_on: bool = False
    own_supply: bool = False
    sides_exchanged: bool = False
    powered: bool = True
    may_be_off: bool = False

    def __post_init__(self) -> None:
        one_of(f"kind of {self.name}", self.kind, _names("device_kinds", "kind"))
        one_of(f"type of the plug of {self.name}", self.plug_type, _names("plugs", "plug"))
        one_of(f"stub cable of {self.name}", self.stub_cable, cable_types())
        in_range(f"unit load of {self.name}", self.unit_load, 0, 32, source="loads the workbook takes")
        in_range(f"stub of {self.name}", self.stub_length_m, 0, LONGEST_M, "m", "lengths the workbook takes")
        in_range(f"stub capacitance of {self.name}", self.stub_capacitance_f, 0, 1e-6, "F", "what the workbook takes")

    @property
    def interfaces(self) -> int:
        """How many of a segment's places it takes: 1, or 0 for a terminator at a place of its own."""
        return _interfaces(self.kind)

    @property
    def has_box(self) -> bool:
        """A terminator with its own supply is here: a box beside the plug, or at a place of its own."""
        return self.own_supply or self.kind == "terminator"

    @property
    def cuts(self) -> bool:
        """The plug is of the type that cuts off its outgoing cable while its terminator is on."""
        return _cuts(self.plug_type)

    @property
    def is_repeater(self) -> bool:
        """A repeater loads each of its two segments and has no address."""
        return self.kind == "repeater"


@cache
def _names(table: str, column: str) -> tuple[str, ...]:
    return tuple(row[column] for row in rows(table))


@cache
def _cuts(plug_type: str) -> bool:
    return one("plugs", plug=plug_type)["outgoing_cable"] == "cut off"


@cache
def _interfaces(kind: str) -> int:
    return one("device_kinds", kind=kind).whole("interfaces")


@dataclass(frozen=True)
class Segment:
    """Plugs in their order along one cable; `pieces[i]` joins plugs i and i + 1. It runs at bit_rate in bit/s."""

    name: str
    plugs: tuple[Plug, ...]
    pieces: tuple[Piece, ...]
    bit_rate: float

    def __post_init__(self) -> None:
        count = len(self.plugs)
        in_range(f"number of devices in {self.name}", count, 2, 100_000, source="a line has two ends")
        in_range(f"number of sections in {self.name}", len(self.pieces), count - 1, count - 1, source="one between")

    @property
    def length_m(self) -> float:
        """Length of the cable in m, without stubs."""
        return total_length_m(self.pieces)

    @property
    def interfaces(self) -> int:
        """Places taken: masters, slaves, repeaters and engineering computers alike."""
        return sum(plug.interfaces for plug in self.plugs)

    def with_plug(self, number: int, **changes: object) -> Segment:
        """The same segment with something changed at one plug; -1 is the last one."""
        plugs = list(self.plugs)
        plugs[number] = replace(plugs[number], **changes)  # type: ignore[arg-type]
        return replace(self, plugs=tuple(plugs))

    def with_piece(self, number: int, **changes: object) -> Segment:
        """The same segment with something changed at one piece of cable; piece n follows plug n."""
        pieces = list(self.pieces)
        pieces[number] = replace(pieces[number], **changes)  # type: ignore[arg-type]
        return replace(self, pieces=tuple(pieces))

    @property
    def unit_loads(self) -> float:
        """The sum of the unit loads of all receivers."""
        return sum(plug.unit_load for plug in self.plugs if plug.interfaces)


def even_line(
    *, stations: int, length_m: float, bit_rate: float, cable: str = "A", stub_length_m: float = 0.0
) -> Segment:
    """A segment of evenly spaced stations on one cable type, terminated at both ends.

    The first station is the controller. With a stub length, every station between the ends has such a stub.

    >>> even_line(stations=3, length_m=100, bit_rate=500_000).pieces[0].length_m
    50.0
    """
    in_range("stations", stations, 2, 200, source="numbers the workbook draws")
    known_bit_rate(bit_rate)
    last = stations - 1
    plugs = tuple(
        Plug(
            f"station {n + 1}",
            kind="drive" if n else "controller",
            stub_length_m=stub_length_m if 0 < n < last else 0.0,
            terminator_on=n in (0, last),
        )
        for n in range(stations)
    )
    return Segment("segment", plugs, (Piece(length_m / last, cable),) * last, bit_rate)


def total_length_m(pieces: Sequence[Piece]) -> float:
    """The sum of the lengths in m."""
    return sum(piece.length_m for piece in pieces)
