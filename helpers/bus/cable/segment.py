"""The rules on a segment: the number of its devices, their stubs and their spacing; the highest bit rate it carries.

The ends of the segment and its terminators are in `helpers.bus.cable.termination`, the division of a line that
is too long or too full in `helpers.bus.cable.repeater`.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cache

from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates, known_bit_rate
from helpers.bus.cable.cable import capacitance_f_per_m, check_length, slower_too
from helpers.bus.cable.laid import Piece, Plug, Segment, even_line
from helpers.bus.cable.termination import terminated
from helpers.errors import OutOfRange
from helpers.facts import Limit, least, most, one, rows, where
from helpers.quantity import quantity
from helpers.verdict import Degree, Finding, at_least, at_most, judge_most


def check(segment: Segment) -> tuple[Finding, ...]:
    """All findings on cable, number, stubs and spacing. A rule that is kept gives one finding in order.

    >>> from helpers.verdict import worst
    >>> from helpers.bus.cable.laid import even_line
    >>> worst(check(even_line(stations=10, length_m=90, bit_rate=12_000_000))).words
    'in order'
    """
    return (
        *check_length(segment.pieces, bit_rate=segment.bit_rate, place=segment.name),
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
    kinds = Counter(plug.kind for plug in segment.plugs if plug.interfaces)
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


def stub_f(plug: Plug) -> float:
    """Capacitance of a stub's cable in F, by the most that its cable type may have.

    >>> round(stub_f(Plug("fan", stub_length_m=2)) * 1e12, 3)
    60.0
    """
    return plug.stub_length_m * capacitance_f_per_m(plug.stub_cable)


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
    total_m = sum(plug.stub_length_m for plug in segment.plugs)

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
    cables = sum(stub_f(plug) for plug in segment.plugs)
    inputs = sum(plug.stub_capacitance_f for plug in segment.plugs)
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
    neighbours = zip(segment.plugs[:-1], segment.pieces, segment.plugs[1:], strict=True)
    pairs = [
        (f"{segment.name}: {left.name} – {right.name}", left.stub_length_m + piece.length_m + right.stub_length_m)
        for left, piece, right in neighbours
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


@dataclass(frozen=True)
class Highest:
    """The highest bit rate that a segment's cable carries, and why the next one fails.

    bit_rate is None if even the slowest fails; why is empty if the fastest passes. at_none: what is wrong is wrong at
    every bit rate, such as too many stations.
    """

    bit_rate: int | None
    why: tuple[Finding, ...]
    at_none: bool = False


def highest_bit_rate(segment: Segment, *, leniently: bool = False) -> Highest:
    """The highest bit rate at which length, stubs and spacing are in order.

    leniently: what one source allows will do, and what common practice alone advises against is let pass.
    The segment's own bit rate does not matter. A segment that is not allowed at any, such as one with too many
    stations, has none; a caution that no bit rate changes says nothing of the bit rate.

    >>> from helpers.bus.cable.laid import even_line
    >>> answer = highest_bit_rate(even_line(stations=5, length_m=150, bit_rate=9600))
    >>> answer.bit_rate, answer.why[0].allowed
    (1500000, 'at most 100 m')
    """
    if forbidden := tuple(finding for finding in check_number(segment) if finding.degree.forbidden):
        return Highest(None, forbidden, at_none=True)
    best: int | None = None
    why: tuple[Finding, ...] = ()
    for bit_rate in bit_rates():
        found = _of_rate(replace(segment, bit_rate=bit_rate))
        why = tuple(f for f in found if (f.beyond_all or f.degree.forbidden if leniently else f.degree))
        if why:
            break
        best = bit_rate
    return Highest(best, why)


def _of_rate(segment: Segment) -> tuple[Finding, ...]:
    length = check_length(segment.pieces, bit_rate=segment.bit_rate, place=segment.name)[:1]
    return (*length, *check_stubs(segment), *check_spacing(segment))


def _picofarad(farad: float) -> str:
    return quantity(farad * 1e12, "pF")


# -- a line from a few figures ---------------------------------------------------------------------------


def cabinet_line(
    *,
    stations: int,
    length_m: float,
    bit_rate: float,
    spacing_m: float | None = None,
    cable: str = "A",
    stub_length_m: float = 0.0,
    stub_capacitance_f: float = 0.0,
) -> Segment:
    """A controller and its stations on one cable type; the stations evenly spread, or together in one cabinet.

    With `spacing_m` the stations stand that far apart at the far end, and the rest of the cable is the way from the
    controller to them. Every station between the ends has a stub of that length and that capacitance in its
    device. Terminators as `terminated` wants them. Raises `OutOfRange` if the stations need more cable than there is.

    >>> line = cabinet_line(stations=5, length_m=100, bit_rate=12_000_000, spacing_m=0.5)
    >>> [piece.length_m for piece in line.pieces]
    [98.5, 0.5, 0.5, 0.5]
    """
    line = even_line(stations=stations, length_m=length_m, bit_rate=bit_rate, cable=cable, stub_length_m=stub_length_m)
    if spacing_m is not None:
        together_m = spacing_m * (stations - 2)
        if together_m > length_m:
            raise OutOfRange(
                f"{stations - 1} stations {quantity(spacing_m, 'm')} apart take {quantity(together_m, 'm')} of cable; "
                f"allowed is at most the whole length, {quantity(length_m, 'm')}."
            )
        way = Piece(round(length_m - together_m, 6), cable)
        line = replace(line, pieces=(way, *(Piece(spacing_m, cable),) * (stations - 2)))
    inside = tuple(
        replace(plug, stub_capacitance_f=stub_capacitance_f if 0 < n < stations - 1 else 0.0)
        for n, plug in enumerate(line.plugs)
    )
    return terminated(replace(line, plugs=inside))
