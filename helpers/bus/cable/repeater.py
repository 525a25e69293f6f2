"""Repeaters: the ways through them, how many may stand in line, and where they go in a line too long or too full."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from math import floor, inf

from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.cable.cable import length_limit, share_used
from helpers.bus.cable.laid import Piece, Plug, Segment
from helpers.bus.cable.segment import (
    interface_limit,
    planned_interfaces,
    spacing_limit,
    stub_capacitance_limit,
    stub_f,
    stub_length_limit,
    unit_load_limit,
)
from helpers.bus.cable.termination import terminated
from helpers.errors import OutOfRange
from helpers.facts import Limit, most, where
from helpers.quantity import quantity
from helpers.verdict import Finding, at_most


@dataclass(frozen=True)
class Way:
    """The way from one segment to another: the segments on it, the repeaters between, and all their cable in m."""

    segments: tuple[str, ...]
    repeaters: tuple[str, ...]
    length_m: float


def ways_from(start: str, lengths_m: Mapping[str, float], joined: Mapping[str, Collection[str]]) -> dict[str, Way]:
    """The way with the fewest repeaters to each segment that can be reached from a segment, that to itself included.

    Parameters: lengths_m, for each segment all its cable; joined, for each repeater the segments that it joins.

    >>> ways_from("1", {"1": 10.0, "2": 20.0, "3": 40.0}, {"R": ("1", "2")})["2"].length_m
    30.0
    """
    repeaters_at: dict[str, list[str]] = {}
    for repeater, segments in joined.items():
        for segment in segments:
            repeaters_at.setdefault(segment, []).append(repeater)
    reached = {start: Way((start,), (), lengths_m[start])}
    for here in (waiting := [start]):
        way = reached[here]
        for repeater in repeaters_at.get(here, ()):
            for there in joined[repeater]:
                if there not in reached:
                    whole_m = way.length_m + lengths_m[there]
                    reached[there] = Way((*way.segments, there), (*way.repeaters, repeater), whole_m)
                    waiting.append(there)
    return reached


def ways(lengths_m: Mapping[str, float], joined: Mapping[str, Collection[str]]) -> tuple[Way, ...]:
    """The ways from each segment to each other, and to itself. Each segment on a way counts with all its cable.

    >>> found = ways({"1": 1, "2": 1, "3": 1, "4": 1}, {"R1": ("1", "2"), "R2": ("2", "3"), "R3": ("2", "4")})
    >>> max((way.repeaters for way in found), key=len)
    ('R1', 'R2')
    """
    return tuple(way for start in lengths_m for way in ways_from(start, lengths_m, joined).values())


@dataclass(frozen=True)
class Place:
    """Where a repeater goes: after which device, how far along the whole cable and from that device, in m."""

    name: str
    after: str
    before: str
    position_m: float
    from_device_m: float


@dataclass(frozen=True)
class Proposal:
    """A line divided into segments that keep the rules; each repeater is the last and the first of two.

    remarks are sentences on what has to be built for it.
    """

    segments: tuple[Segment, ...]
    places: tuple[Place, ...]
    remarks: tuple[str, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the number of repeaters and the whole length are worth."""
        total_m = sum(segment.length_m for segment in self.segments)
        return (check_repeaters(len(self.places), place="the line"), check_total_length(total_m, place="the line"))

    @property
    def says(self) -> str:
        """The line as a picture to scale: its segments, then its repeaters."""
        segments = (f"{s.name}: {quantity(s.length_m, 'm')}, {s.interfaces} bus interfaces" for s in self.segments)
        places = (f"{p.name} at {quantity(p.position_m, 'm', decimals=1)}, after {p.after}" for p in self.places)
        return f"the line to scale – {'; '.join([*segments, *places])}"


def check_repeaters(in_line: int, *, place: str) -> Finding:
    """Judge the number of repeaters between two stations; sources say 3, 9, or up to 10 by the maker.

    >>> [check_repeaters(n, place="line").degree.name for n in (3, 4, 10, 11)]
    ['IN_ORDER', 'CAUTION', 'CAUTION', 'BY_EVERY_SOURCE']
    """
    return at_most(
        rule="repeaters in line",
        place=place,
        value=in_line,
        limit=most(where("repeaters", quantity="in line"), "value"),
        unit="",
        to_do="Ask the manual of the repeaters, join the segments in a star, or choose a lower bit rate.",
    )


def check_total_length(length_m: float, *, place: str) -> Finding:
    """Judge the length of all segments between two stations.

    >>> check_total_length(9_999, place="line").verdict
    'in order'
    """
    return at_most(
        rule="length over all segments",
        place=place,
        value=length_m,
        limit=most(where("repeaters", quantity="total length"), "value"),
        unit="m",
        to_do="Cross the distance with optical fibre.",
    )


def propose(line: Segment, *, cautious: bool = True, anywhere: bool = False) -> Proposal:
    """Divide a line into as few segments as its rules allow, and say where the repeaters go.

    A repeater stands 1 m of cable beside a device, where there is a cabinet and a supply. Only in a piece
    of cable longer than a whole segment it stands on the way; with `anywhere` it may do so everywhere,
    which can save repeaters. A piece too short for 1 m on each side is lengthened. Each segment is filled
    as far as it goes: no other choice of these places needs fewer. `cautious` keeps to the strictest
    source of every rule, and in a line that has to be divided to the handbook's reserve of places; otherwise
    the most lenient source counts. Ends are terminated as `terminated` does it. Positions count the added cable.
    Raises `OutOfRange` where no repeater can help.

    >>> from helpers.bus.cable.laid import even_line
    >>> answer = propose(even_line(stations=40, length_m=390, bit_rate=500_000))
    >>> [segment.interfaces for segment in answer.segments], answer.places[0].after
    ([28, 14], 'station 27')
    """
    if _Rules(line.bit_rate, cautious, interface_limit()).keeps(line):
        return Proposal((terminated(line),), (), ())
    rules = _Rules(line.bit_rate, cautious, planned_interfaces())
    rules.refuse_hopeless(line)
    segments: list[Segment] = []
    places: list[Place] = []
    remarks: list[str] = []
    rest, before_m = line, 0.0
    taken = {plug.name for plug in line.plugs}
    while not rules.keeps(rest):
        index, offset_m = _farthest(rest, rules, anywhere)
        name = next(n for i in range(1, len(taken) + 2) if (n := f"repeater {i}") not in taken)
        taken.add(name)
        left, right = _divide(rest, index, offset_m, name)
        place = Place(name, rest.plugs[index].name, rest.plugs[index + 1].name, before_m + left.length_m, offset_m)
        remarks += _remarks(rest, index, offset_m, place, rules)
        segments.append(left)
        places.append(place)
        rest, before_m = right, before_m + left.length_m
    whole = (replace(segment, name=f"{line.name} part {n}") for n, segment in enumerate((*segments, rest), 1))
    return Proposal(tuple(terminated(segment) for segment in whole), tuple(places), tuple(remarks))


@dataclass(frozen=True)
class _Rules:
    """What a segment may hold; each of the sums grows with every device and metre added."""

    bit_rate: float
    cautious: bool
    places: Limit

    def pick(self, limit: Limit) -> float:
        return limit.cautious if self.cautious else limit.last

    @property
    def gap_m(self) -> float:
        """Cable on each side of a repeater, by the strict rule also where a lenient one would do."""
        return spacing_limit(self.bit_rate).cautious

    def free_share(self, segment: Segment) -> float:
        """The share of the allowed length that is left."""
        return 1 - share_used(segment.pieces, self.bit_rate, cautious=self.cautious)

    def reach_m(self, cable: str) -> float:
        return self.pick(length_limit(cable, self.bit_rate))

    def beyond(self, line: Segment, index: int) -> bool:
        """True if a piece is longer than a segment from the repeater at its one end to that at the other."""
        piece = line.pieces[index]
        cabinets = 1 if line.plugs[index].is_repeater else 2
        return piece.length_m - cabinets * self.gap_m > self.reach_m(piece.cable)

    def keeps(self, segment: Segment) -> bool:
        return self.free_share(segment) >= -1e-9 and not self.overfull(segment.plugs)

    def overfull(self, plugs: tuple[Plug, ...]) -> str:
        """What the devices have too much of, whatever the cable between them; empty if nothing."""
        # Inputs at the ends of stubs count by cautious practice only, see check_stubs.
        inputs = sum(plug.stub_capacitance_f for plug in plugs) if self.cautious else 0.0
        farads = stub_capacitance_limit(self.bit_rate) or Limit(inf, inf, ())
        sums = (
            ("bus interfaces", sum(d.interfaces for d in plugs), self.places, "", 1),
            ("unit loads", sum(d.unit_load for d in plugs if d.interfaces), unit_load_limit(), "", 1),
            ("stubs", sum(d.stub_length_m for d in plugs), stub_length_limit(self.bit_rate), "m", 1),
            ("stub capacitance", sum(map(stub_f, plugs)) + inputs, farads, "pF", 1e12),
        )
        for name, value, limit, unit, scale in sums:
            most_allowed = self.pick(limit)
            if value > most_allowed * (1 + 1e-9):
                got, allowed = quantity(value * scale, unit), quantity(most_allowed * scale, unit)
                return f"{name} {got}; allowed is at most {allowed} ({limit.cited})"
        return ""

    def refuse_hopeless(self, line: Segment) -> None:
        repeater = Plug("repeater", kind="repeater")
        rate = bit_rate_text(self.bit_rate)
        for plug in line.plugs:
            too_much = self.overfull((repeater, plug, repeater))
            if too_much:
                raise OutOfRange(f"No repeater helps: {plug.name} between two repeaters at {rate} has {too_much}.")
        for cable in dict.fromkeys(piece.cable for piece in line.pieces):
            limit = length_limit(cable, self.bit_rate)
            if self.pick(limit) == 0:
                raise OutOfRange(f"No repeater helps: type {cable} at {rate}; allowed is at most 0 m ({limit.cited}).")


def _farthest(rest: Segment, rules: _Rules, anywhere: bool) -> tuple[int, float]:
    """The last place along the line where a repeater closes a segment that keeps the rules.

    Every place farther on adds to the sums, so the first that fails ends the search.
    """
    found = (0, rules.gap_m)
    for index, piece in enumerate(rest.pieces):
        long_m = max(piece.length_m, 2 * rules.gap_m)
        for offset_m in (rules.gap_m, long_m - rules.gap_m):
            left, _ = _divide(rest, index, offset_m, "")
            if not rules.keeps(left):
                beyond = anywhere or rules.beyond(rest, index)
                return _on_the_way(rest, found, rules) if beyond and found[0] == index else found
            found = (index, offset_m)
    return found


def _on_the_way(rest: Segment, found: tuple[int, float], rules: _Rules) -> tuple[int, float]:
    """From a place that keeps the rules, go on along the same piece as far as the length allows."""
    index, offset_m = found
    piece = rest.pieces[index]
    left, _ = _divide(rest, index, offset_m, "")
    more_m = max(rules.free_share(left), 0) * rules.reach_m(piece.cable)
    return index, min(floor((offset_m + more_m) * 100 + 1e-6) / 100, piece.length_m - rules.gap_m)


def _divide(rest: Segment, index: int, offset_m: float, name: str) -> tuple[Segment, Segment]:
    """Two segments from one, with a repeater `offset_m` after device `index`; its other side gets as much, at least."""
    repeater = Plug(name, kind="repeater", plug_type="device")
    piece = rest.pieces[index]
    onward_m = max(piece.length_m - offset_m, 0.0)
    left = replace(
        rest,
        plugs=(*rest.plugs[: index + 1], repeater),
        pieces=(*rest.pieces[:index], Piece(offset_m, piece.cable)),
    )
    right = replace(
        rest,
        plugs=(repeater, *rest.plugs[index + 1 :]),
        pieces=(
            Piece(max(onward_m, spacing_limit(rest.bit_rate).cautious), piece.cable),
            *rest.pieces[index + 1 :],
        ),
    )
    return left, right


def _remarks(rest: Segment, index: int, offset_m: float, place: Place, rules: _Rules) -> list[str]:
    piece = rest.pieces[index]
    beside = offset_m == rules.gap_m or offset_m == piece.length_m - rules.gap_m
    if piece.length_m < 2 * rules.gap_m:
        return [
            f"Between {place.after} and {place.before} lies {quantity(piece.length_m, 'm')} of cable: lengthen it, "
            f"so that {place.name} has {quantity(rules.gap_m, 'm')} on each side."
        ]
    if not beside:
        return [
            f"{place.name} stands on the way between {place.after} and {place.before}: it needs a housing and a supply "
            f"there. A segment reaches {quantity(rules.reach_m(piece.cable), 'm')} at "
            f"{bit_rate_text(rest.bit_rate)}; a lower bit rate or optical fibre may save it."
        ]
    return []
