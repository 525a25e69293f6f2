"""A segment: the devices along one cable, and the rules on their number, their stubs and their spacing.

The ends of the segment and its terminators are in `helpers.bus.cable.termination`, the division of a line that
is too long or too full in `helpers.bus.cable.repeater`.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cache

from helpers.bus.cable.bit_rates import bit_rate_text, known_bit_rate
from helpers.bus.cable.cable import (
    LONGEST_M,
    Section,
    cable_types,
    capacitance_f_per_m,
    check_length,
    slower_too,
    total_length_m,
)
from helpers.errors import in_range, one_of
from helpers.facts import Limit, least, most, one, rows, where
from helpers.quantity import quantity
from helpers.verdict import Degree, Finding, at_least, at_most, judge_most


@dataclass(frozen=True)
class Device:
    """One bus interface with its plug.

    - kind: a row of data/device_kinds.csv; a repeater is a device in each of the two segments it joins
    - unit_load: RS-485 unit loads (12 kΩ or more each) of its receiver
    - stub_length_m, stub_cable: the stub from the bus cable to the device; 0 where the cable runs through the plug
    - stub_capacitance_f: what hangs on the stub beside its cable (the device's input), in F
    - plug: a row of data/plugs.csv; terminator_on is its switch, or with plug `device` the one in the device
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
    plug: str = "cutting"
    terminator_on: bool = False
    own_supply: bool = False
    sides_exchanged: bool = False
    powered: bool = True
    may_be_off: bool = False

    def __post_init__(self) -> None:
        one_of(f"kind of {self.name}", self.kind, _names("device_kinds", "kind"))
        one_of(f"plug of {self.name}", self.plug, _names("plugs", "plug"))
        one_of(f"stub cable of {self.name}", self.stub_cable, cable_types())
        in_range(f"unit load of {self.name}", self.unit_load, 0, 32, source="loads the workbook takes")
        in_range(f"stub of {self.name}", self.stub_length_m, 0, LONGEST_M, "m", "lengths the workbook takes")
        in_range(f"stub capacitance of {self.name}", self.stub_capacitance_f, 0, 1e-6, "F", "what the workbook takes")

    @property
    def interfaces(self) -> int:
        """How many of a segment's places it takes: 1, or 0 for a terminator at a place of its own."""
        return _interfaces(self.kind)

    @property
    def is_repeater(self) -> bool:
        """A repeater loads each of its two segments and has no address."""
        return self.kind == "repeater"


@cache
def _names(table: str, column: str) -> tuple[str, ...]:
    return tuple(row[column] for row in rows(table))


@cache
def _interfaces(kind: str) -> int:
    return one("device_kinds", kind=kind).whole("interfaces")


@dataclass(frozen=True)
class Segment:
    """Devices in their order along one cable; `sections[i]` joins devices i and i + 1. bit_rate in bit/s."""

    name: str
    devices: tuple[Device, ...]
    sections: tuple[Section, ...]
    bit_rate: float

    def __post_init__(self) -> None:
        count = len(self.devices)
        in_range(f"number of devices in {self.name}", count, 2, 100_000, source="a line has two ends")
        in_range(f"number of sections in {self.name}", len(self.sections), count - 1, count - 1, source="one between")
        known_bit_rate(self.bit_rate)

    @property
    def length_m(self) -> float:
        """Length of the cable in m, without stubs."""
        return total_length_m(self.sections)

    @property
    def interfaces(self) -> int:
        """Places taken: masters, slaves, repeaters and engineering computers alike."""
        return sum(device.interfaces for device in self.devices)

    @property
    def unit_loads(self) -> float:
        """The sum of the unit loads of all receivers."""
        return sum(device.unit_load for device in self.devices if device.interfaces)


def even_line(
    *, stations: int, length_m: float, bit_rate: float, cable: str = "A", stub_length_m: float = 0.0
) -> Segment:
    """A segment of evenly spaced stations on one cable type, terminated at both ends.

    The first station is the controller. With a stub length, every station between the ends has such a stub.

    >>> even_line(stations=3, length_m=100, bit_rate=500_000).sections[0].length_m
    50.0
    """
    in_range("stations", stations, 2, 200, source="numbers the workbook draws")
    last = stations - 1
    devices = tuple(
        Device(
            f"station {n + 1}",
            kind="drive" if n else "controller",
            stub_length_m=stub_length_m if 0 < n < last else 0.0,
            terminator_on=n in (0, last),
        )
        for n in range(stations)
    )
    return Segment("segment", devices, (Section(length_m / last, cable),) * last, bit_rate)


def check(segment: Segment) -> tuple[Finding, ...]:
    """All findings on cable, number, stubs and spacing. A rule that is kept gives one finding in order.

    >>> from helpers.verdict import worst
    >>> worst(check(even_line(stations=10, length_m=90, bit_rate=12_000_000))).words
    'in order'
    """
    return (
        *check_length(segment.sections, bit_rate=segment.bit_rate, place=segment.name),
        *check_number(segment),
        *check_stubs(segment),
        *check_spacing(segment),
    )


@cache
def interface_limit() -> Limit:
    """Bus interfaces in one segment: 32 of every kind, and one of these places kept for an engineering computer.

    >>> interface_limit().cautious, interface_limit().last
    (31.0, 32.0)
    """
    kept = one("station_limits", quantity="place for a computer")
    room = most(where("station_limits", quantity="interfaces"), "value")
    return Limit(room.last - kept.number("value"), room.last, (*room.facts, kept))


def _plural(kind: str) -> str:
    return kind if kind in ("remote I/O", "other") else f"{kind}s"


def check_number(segment: Segment) -> tuple[Finding, ...]:
    """Bus interfaces, the reserve for later, and unit loads.

    Source: M. Felser, PROFIBUS Manual, electrical transmission (32, repeaters counted; about 10 % reserve).
    """
    kinds = Counter(device.kind for device in segment.devices if device.interfaces)
    number = at_most(
        rule="bus interfaces",
        place=segment.name,
        value=segment.interfaces,
        limit=interface_limit(),
        unit="",
        to_do="Take stations off, or divide the segment with a repeater, which counts in both segments.",
    )
    full = number.degree is Degree.CAUTION and not number.beyond_all
    if full and kinds["engineering computer"]:
        number = replace(number, degree=Degree.IN_ORDER, to_do="")
    no_place = "; no place is left for an engineering computer" if full and number.degree else ""
    parts = ", ".join(f"{count} {_plural(kind) if count > 1 else kind}" for kind, count in kinds.items())
    loads = at_most(
        rule="unit loads",
        place=segment.name,
        value=segment.unit_loads,
        limit=unit_load_limit(),
        unit="unit loads",
        to_do="Divide the segment with a repeater.",
    )
    reserve = _reserve(segment) if number.degree is Degree.IN_ORDER else ()
    return (replace(number, found=f"{number.found} ({parts}){no_place}"), *reserve, loads)


@cache
def planned_interfaces() -> Limit:
    """Places to fill when a segment is planned: the handbook keeps about 10 % free for later.

    >>> planned_interfaces().cautious, planned_interfaces().last
    (28.8, 32.0)
    """
    reserve = one("station_limits", quantity="reserve")
    room = interface_limit().last
    return Limit(room * (1 - reserve.number("value")), room, (reserve,))


def _reserve(segment: Segment) -> tuple[Finding, ...]:
    planned = planned_interfaces()
    if judge_most(segment.interfaces, planned) is Degree.IN_ORDER:
        return ()
    return (
        Finding(
            "reserve for later",
            segment.name,
            quantity(planned.last - segment.interfaces, "places free"),
            f"about {quantity(planned.last - planned.cautious, 'places')} free of {planned.last:g}",
            planned.cited,
            "Plan a repeater before the next station comes.",
            Degree.CAUTION,
        ),
    )


@cache
def unit_load_limit() -> Limit:
    """Unit loads on one segment.

    >>> unit_load_limit().last
    32.0
    """
    return most(where("station_limits", quantity="unit loads"), "value")


def stub_f(device: Device) -> float:
    """Capacitance of a stub's cable in F, by the most that its cable type may have.

    >>> round(stub_f(Device("fan", stub_length_m=2)) * 1e12, 3)
    60.0
    """
    return device.stub_length_m * capacitance_f_per_m(device.stub_cable)


@cache
def stub_length_limit(bit_rate: float) -> Limit:
    """How long all stubs of a segment may be together, in m. Source: see data/stubs.csv.

    >>> stub_length_limit(1_500_000).cautious, stub_length_limit(1_500_000).last
    (0.0, 6.6)
    """
    known_bit_rate(bit_rate)
    return most(where("stubs", kbit_s=bit_rate / 1000), "length_m")


@cache
def stub_capacitance_limit(bit_rate: float) -> Limit | None:
    """How much capacitance all stubs of a segment may have together, in F; None where no stub is allowed.

    >>> stub_capacitance_limit(500_000).last
    6e-10
    """
    known_bit_rate(bit_rate)
    facts = tuple(row for row in where("stubs", kbit_s=bit_rate / 1000) if row.has("capacitance_f"))
    return most(facts, "capacitance_f") if facts else None


def check_stubs(segment: Segment) -> tuple[Finding, ...]:
    """All stubs of a segment together, by length and by capacitance.

    Each length of the table is its capacitance divided by 30 pF/m, so nothing is left for the inputs of
    the devices at the ends of the stubs: with them over the limit is outside cautious practice, the
    cable alone over the limit is worse.
    """
    total_m = sum(device.stub_length_m for device in segment.devices)

    def length_at(bit_rate: float) -> Finding:
        return at_most(
            rule="length of all stubs",
            place=segment.name,
            value=total_m,
            limit=stub_length_limit(bit_rate),
            unit="m",
            to_do="Lead the bus cable through the plug of each device, or choose a lower bit rate.",
        )

    length = slower_too(length_at, segment.bit_rate)
    length = replace(length, found=f"{length.found} at {bit_rate_text(segment.bit_rate)}")
    return (length, *_check_stub_capacitance(segment))


def _check_stub_capacitance(segment: Segment) -> tuple[Finding, ...]:
    limit = stub_capacitance_limit(segment.bit_rate)
    cables = sum(stub_f(device) for device in segment.devices)
    inputs = sum(device.stub_capacitance_f for device in segment.devices)
    if limit is None or not cables + inputs:
        return ()
    degree = judge_most(cables, limit)
    if degree is Degree.IN_ORDER and judge_most(cables + inputs, limit) is not Degree.IN_ORDER:
        degree = Degree.CAUTION
    return (
        Finding(
            "capacitance of all stubs",
            segment.name,
            f"{_picofarad(cables)} in cable, {_picofarad(inputs)} in devices at {bit_rate_text(segment.bit_rate)}",
            f"at most {_picofarad(limit.last)}, the devices' inputs included",
            limit.cited,
            "" if degree is Degree.IN_ORDER else "Shorten the stubs, or choose a lower bit rate.",
            degree,
            beyond_all=cables > limit.last,
        ),
    )


@cache
def spacing_limit(bit_rate: float) -> Limit:
    """The least cable between two devices in m.

    >>> spacing_limit(1_500_000).last, spacing_limit(3_000_000).last
    (0.0, 1.0)
    """
    known_bit_rate(bit_rate)
    kbit_s = bit_rate / 1000
    facts = (row for row in rows("spacing") if row.number("from_kbit_s") <= kbit_s <= row.number("to_kbit_s"))
    return least(tuple(facts), "length_m")


def check_spacing(segment: Segment) -> tuple[Finding, ...]:
    """1 m of cable from device to device, the stubs of both counted: advised at every bit rate, and asked
    more strongly above 1.5 Mbit/s.
    """
    neighbours = zip(segment.devices[:-1], segment.sections, segment.devices[1:], strict=True)
    pairs = [
        (f"{segment.name}: {left.name} – {right.name}", left.stub_length_m + section.length_m + right.stub_length_m)
        for left, section, right in neighbours
        if left.interfaces and right.interfaces
    ]
    bad: list[Finding] = []
    for place, length_m in sorted(pairs, key=lambda pair: pair[1]):
        finding = at_least(
            rule="cable between devices",
            place=place,
            value=length_m,
            limit=spacing_limit(segment.bit_rate),
            unit="m",
            to_do="Put a loop of cable between the two.",
        )
        if finding.degree is Degree.IN_ORDER:  # and so are the longer ones
            return tuple(bad) or (finding,)
        bad.append(finding)
    return tuple(bad)


def _picofarad(farad: float) -> str:
    return quantity(farad * 1e12, "pF")
