"""Joins the rows of the tables into networks, segments and pieces of cable.

What can't be joined in one way only is a problem of the tables, reported with its row; whether what
they say is *good* is the business of the rules.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any

from helpers import facts
from helpers.bus.cable.laid import Piece, Segment
from helpers.bus.cable.repeater import ways_from
from helpers.plan.columns import Value
from helpers.plan.model import Neighbour, Network, Plan, Station
from helpers.plan.sheets import Problem
from helpers.written import Range


@dataclass(frozen=True)
class Row:
    """One row of a table: its number in the sheet, the values by field, and the fields that could not be read."""

    table: str
    number: int
    values: dict[str, Value]
    faulty: frozenset[str]

    def text(self, field: str) -> str:
        """A value as text; empty if there is none."""
        return str(self.values.get(field, ""))

    def problem(self, column: str, found: str, expected: str) -> Problem:
        """A problem in this row."""
        return Problem(self.table, self.number, column, found, expected)


def key(name: str) -> str:
    """A name without the differences that are slips of the hand: capitals and spaces.

    >>> key("Dryer  Fan 1") == key("dryer fan 1")
    True
    """
    return " ".join(name.casefold().split())


# What a row must say before other rows can be held against it.
_STATION_PLACE = {"network", "segment", "position", "name", "kind"}
_CABLE_PLACE = {"network", "segment", "from_station", "to_station"}


def join(name: str, rows: Mapping[str, list[Row]], problems: list[Problem]) -> Plan:
    """The plan of these rows; what does not fit is added to `problems`, and then the plan is incomplete.

    A table that could not be read at all is missing in `rows`; what it would have held is not asked for.
    Nor are pieces of cable asked for where a fault already told leaves open which stations there are.
    """
    stations, cables = rows.get("stations", []), rows.get("cable", [])
    names: dict[str, Row] = {}
    for row in rows.get("network", []):
        if "network" in row.faulty:
            continue
        known = names.setdefault(key(row.text("network")), row)
        if known is not row:
            taken = f"a name not yet used in row {known.number}"
            problems.append(row.problem("network", repr(row.text("network")), taken))
    beside = rows.get("neighbours", [])
    lost = _of_no_network([*stations, *cables, *beside], names, problems) if names else []
    clear = not any(row in lost or "network" in row.faulty for row in stations)
    all_cables = "cable" in rows and not any(row in lost or row.faulty & _CABLE_PLACE for row in cables)
    networks = []
    for row in names.values():
        members = _of_network(stations, row)
        if not members and "stations" in rows and clear:
            nothing = "no station of this network"
            problems.append(row.problem("network", nothing, "at least one row in table stations"))
        _repeated_names(members, problems)
        segments: tuple[Segment, ...] = ()
        if clear and not any(member.faulty & _STATION_PLACE for member in members):
            segments = _segments(row, members, _of_network(cables, row), problems, all_cables)
        neighbours = neighbours_of(_of_network(beside, row), problems)
        if clear and segments:
            _beside_a_segment(_of_network(beside, row), segments, problems)
        if not problems:
            networks.append(_network(row, segments, neighbours))
    return Plan(name, tuple(networks))


def _of_no_network(rows: list[Row], names: Mapping[str, Row], problems: list[Problem]) -> list[Row]:
    """The rows that name a network which is not in the table of networks."""
    lost = [row for row in rows if row.text("network") and key(row.text("network")) not in names]
    listed = ", ".join(network.text("network") for network in names.values())
    for row in lost:
        problems.append(row.problem("network", repr(row.text("network")), f"a network of table network: {listed}"))
    return lost


def _network(row: Row, segments: tuple[Segment, ...], neighbours: tuple[Neighbour, ...]) -> Network:
    values: dict[str, Any] = dict(row.values)
    return Network(name=values.pop("network"), segments=segments, neighbours=neighbours, **values)


def _station(network: Row, row: Row) -> Station:
    values: dict[str, Any] = dict(row.values)
    del values["network"], values["segment"]
    return Station(stub_cable=network.text("cable_type"), **values)


def piece_of(row: Row, usual: str) -> Piece:
    """The piece of cable of a row; usual: its type where the row says none."""
    length, cable = row.values["length_m"], row.text("cable") or usual
    if not isinstance(length, Range):
        return Piece(float(str(length)), cable, row.text("note"))
    likely_m = usual_piece_m() if length.likely is None else length.likely
    return Piece(likely_m, cable, row.text("note"), open=length)


@cache
def usual_piece_m() -> float:
    """How long a piece of cable most likely is of which nothing is said [m].

    >>> usual_piece_m()
    10.0
    """
    return facts.one("open_lengths", name="likely").number("value")


def _of_network(rows: Iterable[Row], network: Row) -> list[Row]:
    return [row for row in rows if key(row.text("network")) == key(network.text("network"))]


def _segments(
    network: Row, stations: list[Row], cables: list[Row], problems: list[Problem], all_cables: bool
) -> tuple[Segment, ...]:
    groups: dict[str, list[Row]] = {}
    for row in stations:
        groups.setdefault(key(row.text("segment")), []).append(row)
    listed = ", ".join(members[0].text("segment") for members in groups.values())
    strays = [row for row in cables if row.text("segment") and groups and key(row.text("segment")) not in groups]
    for row in strays:
        problems.append(row.problem("segment", repr(row.text("segment")), f"a segment with stations: {listed}"))
    segments = []
    for segment, members in groups.items():
        pieces = [row for row in cables if key(row.text("segment")) == segment]
        segments.append(_segment(network, members, pieces, problems, all_cables and not strays))
    _one_way_only(groups, problems)
    return tuple(segment for segment in segments if segment is not None)


def _repeated_names(stations: list[Row], problems: list[Problem]) -> None:
    """A name stands for one station; only a repeater is listed again, in another segment."""
    first: dict[str, Row] = {}
    for row in stations:
        if not row.text("name"):
            continue
        known = first.setdefault(key(row.text("name")), row)
        both_repeaters = row.text("kind") == known.text("kind") == "repeater"
        same_segment = key(row.text("segment")) == key(known.text("segment"))
        if known is not row and (same_segment or not both_repeaters):
            expected = f"a name not yet used in row {known.number}; only a repeater has one row in each of its segments"
            problems.append(row.problem("name", repr(row.text("name")), expected))


def _segment(
    network: Row, members: list[Row], pieces: list[Row], problems: list[Problem], all_cables: bool
) -> Segment | None:
    before = len(problems)
    if len(members) < 2:
        alone = f"{members[0].text('name')!r} alone in segment {members[0].text('segment')}"
        problems.append(members[0].problem("segment", alone, "two or more stations: a cable has two ends"))
    in_order = sorted(members, key=_position)
    for first, second in pairwise(in_order):
        if _position(first) == _position(second):
            taken = f"a position that {first.text('name')!r} (row {first.number}) does not have"
            problems.append(second.problem("position", second.text("position"), taken))
    if len(problems) > before:
        return None
    found = _pieces_by_place(pieces, in_order, problems)
    if all_cables and len(problems) == before:
        for index, (first, second) in enumerate(pairwise(in_order)):
            if index not in found:
                nothing = f"no cable from {first.text('name')!r} to {second.text('name')!r}"
                wanted = f"a row for it in table cable, segment {first.text('segment')}"
                problems.append(first.problem("name", nothing, wanted))
    if problems:
        return None
    return Segment(
        name=members[0].text("segment"),
        plugs=tuple(_station(network, row) for row in in_order),
        pieces=tuple(piece_of(found[index], network.text("cable_type")) for index in range(len(in_order) - 1)),
        bit_rate=float(network.text("bit_rate")),
    )


def _position(row: Row) -> int:
    return int(row.text("position") or 0)


def _pieces_by_place(pieces: list[Row], in_order: list[Row], problems: list[Problem]) -> dict[int, Row]:
    """The pieces by their place along the segment: piece i joins stations i and i + 1."""
    place = {key(row.text("name")): index for index, row in enumerate(in_order)}
    names = [row.text("name") for row in in_order]
    found: dict[int, Row] = {}
    for row in pieces:
        ends = {column: key(row.text(field)) for column, field in (("from", "from_station"), ("to", "to_station"))}
        strangers = [column for column, end in ends.items() if end and end not in place]
        for column in strangers:
            known = f"a station of segment {row.text('segment')}: {', '.join(names)}"
            problems.append(row.problem(column, repr(row.text(f"{column}_station")), known))
        if strangers or not all(ends.values()):
            continue
        low, high = sorted(place[end] for end in ends.values())
        if high != low + 1:
            apart = f"{row.text('from_station')!r} to {row.text('to_station')!r}"
            problems.append(row.problem("to", apart, f"two neighbours; by position they are {' - '.join(names)}"))
        elif found.setdefault(low, row) is not row:
            twice = f"a second piece from {names[low]!r} to {names[high]!r}"
            problems.append(row.problem("to", twice, f"one piece, as in row {found[low].number}"))
    return found


def neighbours_of(rows: Iterable[Row], problems: list[Problem]) -> tuple[Neighbour, ...]:
    """The cables beside the bus cable; what a row leaves open is added to `problems`."""
    kept = []
    for row in rows:
        parallel_m, distance_m = row.values.get("parallel_m"), row.values.get("distance_m")
        if row.text("use") == "power" and not row.values.get("volts"):
            _missing(row, "voltage", "volts", "the voltage of a power cable, for example 400 V", problems)
        if parallel_m and distance_m is None:
            _missing(row, "distance", "distance_m", "how far from the bus cable it runs, for example 10 cm", problems)
        if distance_m and not parallel_m:
            _missing(row, "parallel", "parallel_m", "over what length it runs beside the bus cable", problems)
        if not distance_m and not parallel_m and row.values.get("crossing", "none") == "none":
            _missing(row, "crossing", "crossing", "a length in parallel, or how it crosses the bus cable", problems)
        if not row.faulty and not problems:
            values: dict[str, Any] = {field: value for field, value in row.values.items() if field != "network"}
            kept.append(Neighbour(**values))
    return tuple(kept)


def _missing(row: Row, column: str, field: str, expected: str, problems: list[Problem]) -> None:
    """Tell once of a cell that another cell of its row asks for."""
    if not row.faulty & {field, "parallel_m", "distance_m"}:
        problems.append(row.problem(column, "nothing", expected))


def _beside_a_segment(rows: Iterable[Row], segments: Iterable[Segment], problems: list[Problem]) -> None:
    names = {key(segment.name): segment.name for segment in segments}
    for row in rows:
        if row.text("segment") and key(row.text("segment")) not in names:
            listed = f"a segment with stations: {', '.join(names.values())}"
            problems.append(row.problem("segment", repr(row.text("segment")), listed))


def _one_way_only(groups: dict[str, list[Row]], problems: list[Problem]) -> None:
    """From each segment to each other there must be one way through repeaters, and not two."""
    repeaters: dict[str, dict[str, Row]] = {}  # name to its rows by segment
    for segment, members in groups.items():
        for row in members:
            if row.text("kind") == "repeater":
                repeaters.setdefault(key(row.text("name")), {})[segment] = row
    lengths_m = dict.fromkeys(groups, 0.0)
    joined: dict[str, list[str]] = {}  # as far as no ring is closed
    for name, rows in repeaters.items():
        (first, row), *others = rows.items()
        if not others:
            alone = f"repeater {row.text('name')!r} in this segment only"
            problems.append(row.problem("segment", alone, "one more row of it, in the segment it joins"))
        for other, _ in others:
            if other in ways_from(first, lengths_m, joined):
                ring = f"repeater {row.text('name')!r} closing a ring of segments"
                problems.append(row.problem("segment", ring, "one way only from each segment to each other"))
            else:
                joined.setdefault(name, [first]).append(other)
    if not all(len(rows) > 1 for rows in repeaters.values()):
        return  # the lonely repeater is the reason why its segment is apart
    reached = ways_from(next(iter(groups)), lengths_m, joined) if groups else {}
    for segment, members in groups.items():
        if segment not in reached:
            apart = f"segment {members[0].text('segment')!r}, joined with no other"
            problems.append(
                members[0].problem("segment", apart, "a repeater with a row in this segment and in another")
            )
            return
