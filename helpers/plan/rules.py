"""The rules that a network plan is held against; each is one small function, and `RULES` is the list of them.

What a rule demands is calculated on the floor below, or stands in `data/plan_rules.csv`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

from helpers import facts
from helpers.bus.address import address
from helpers.bus.cable import repeater, segment, separation, termination
from helpers.bus.cable.bit_rates import any_bit_rate_text
from helpers.bus.cable.cable import check_length, longest_m
from helpers.bus.cable.laid import Segment
from helpers.bus.time.cycle import BusCycle
from helpers.bus.time.timing import bus_timing, check_slot_time, longest_delay_bits
from helpers.bus.time.timing import rule as timing_rule
from helpers.bus.time.watchdog import BASES_S, check_watchdog
from helpers.device.description.model import Description
from helpers.device.description.modules import modules_for
from helpers.device.formats import known_configuration, only_bytes
from helpers.errors import OutOfRange, Unreadable
from helpers.plan.descriptions import description_of
from helpers.plan.figures import cycle
from helpers.plan.model import Network, Station, titled
from helpers.quantity import quantity, time_text
from helpers.verdict import Degree, Finding, cited, forbidding
from helpers.wording import counted

Findings = Iterable[Finding]

_STEP_S = timing_rule("min slave interval")  # description files count in it


@dataclass(frozen=True)
class Rule:
    """A rule: its function, whether it needs a bit rate that is known, and whether it depends on lengths of cable."""

    check: Callable[[Network], Findings]
    needs_rate: bool = True
    by_length: bool = False


def own_finding(rule: str, place: str, found: str, degree: Degree = Degree.CAUTION) -> Finding:
    """What was found at a place, judged; what is allowed, the source and what to do are those of the rule.

    >>> own_finding("bit rate", "network", "1.5 Mbit/s", Degree.IN_ORDER).allowed
    'one of the bit rates of DP'
    """
    allowed, source, to_do = _words(rule)
    return Finding(rule, place, found, allowed, source, to_do if degree > Degree.IN_ORDER else "", degree)


@cache
def _words(rule: str) -> tuple[str, str, str]:
    """What a rule allows, its sources, what to do. Looked up once: a plan asks for each station."""
    rows = facts.where("plan_rules", rule=rule)
    return rows[0]["allowed"], cited(rows), rows[0]["to_do"]


def bit_rate(network: Network) -> Findings:
    """The bit rate must be one of DP."""
    known = network.has_known_rate
    degree = Degree.IN_ORDER if known else Degree.CANNOT_WORK
    yield own_finding("bit rate", "network", any_bit_rate_text(network.bit_rate), degree)


def controller(network: Network) -> Findings:
    """Somebody must poll the stations."""
    names = [master.name for master in network.masters if master.kind == "controller"]
    degree = Degree.IN_ORDER if names else Degree.CAUTION
    yield own_finding("controller", "network", ", ".join(names) or "no controller", degree)


def addresses(network: Network) -> Findings:
    """Range, duplicates, practice, number of stations, HSA."""
    holders = network.holders
    try:
        return address.check(holders, network.hsa)
    except OutOfRange:  # the HSA itself is no address
        row = facts.one("address_practice", rule="highest station address")
        allowed, to_do = f"0 to {row['value']}", f"Set an HSA of at most {row['value']} in every controller."
        out_of_range = Finding("HSA", "network", str(network.hsa), allowed, row.cited, to_do, Degree.CANNOT_WORK)
        return (*address.check(holders), out_of_range)


def open_lengths(network: Network) -> Findings:
    """What each piece of cable that nobody has measured is taken for."""
    for part in _segments(network):
        for (left, right), piece in zip(pairwise(part.plugs), part.pieces, strict=True):
            if piece.open:
                span = f"{quantity(piece.open.least, '')} to {quantity(longest_m(piece, part.bit_rate), 'm')}"
                taken = f"{piece.length_text}: taken as {span}, most likely {quantity(piece.length_m, 'm')}"
                yield own_finding("open length", f"{part.name}: {left.name} – {right.name}", taken, Degree.IN_ORDER)


def length(network: Network) -> Findings:
    """Length and type of the cable of each segment."""
    for part in _segments(network):
        yield from check_length(part.pieces, bit_rate=part.bit_rate, place=part.name)


def number(network: Network) -> Findings:
    """Bus interfaces, reserve and unit loads of each segment."""
    for part in _segments(network):
        yield from segment.check_number(part)


def stubs(network: Network) -> Findings:
    """Length and capacitance of all stubs of each segment."""
    for part in _segments(network):
        yield from segment.check_stubs(part)


def spacing(network: Network) -> Findings:
    """Cable between neighbours."""
    for part in _segments(network):
        yield from segment.check_spacing(part)


def terminators(network: Network) -> Findings:
    """Terminators of each segment: both ends and nowhere else, their supply, plugs that cut off."""
    for part in _segments(network):
        yield from termination.check_termination(part)


def neighbours(network: Network) -> Findings:
    """Distance and crossing of each cable beside the bus cable."""
    for neighbour in network.neighbours:
        for finding in separation.check_run(neighbour):
            yield replace(finding, place=f"segment {neighbour.segment}: {neighbour.name}")


def repeaters(network: Network) -> Findings:
    """Repeaters in line between the two segments that lie farthest apart."""
    farthest = max(network.ways, key=lambda way: len(way.repeaters))
    place = f"segment {farthest.segments[0]} to segment {farthest.segments[-1]}"
    yield repeater.check_repeaters(len(farthest.repeaters), place=place)


def total_length(network: Network) -> Findings:
    """Cable between the two segments that lie farthest apart."""
    longest = max(network.ways, key=lambda way: way.length_m)
    place = f"segment {longest.segments[0]} to segment {longest.segments[-1]}"
    yield repeater.check_total_length(longest.length_m, place=place)


def slot_time(network: Network) -> Findings:
    """The usual slot time must outlast the cable's delay."""
    timing, delay = bus_timing(network.bit_rate), longest_delay_bits(network.ways, network.bit_rate)
    yield replace(check_slot_time(timing, delay), place="network")


def formats_stated(network: Network) -> Findings:
    """Both columns of the data format must be filled."""
    for station in network.slaves:
        missing = [name for name, text in _formats(station) if not text]
        if missing:
            yield own_finding("format stated", station.name, f"nothing stated in the {' and in the '.join(missing)}")


def formats_known(network: Network) -> Findings:
    """A format must be one of the workbook's, or be written as identifiers, and fit into a telegram."""
    for station in network.slaves:
        texts = dict.fromkeys(text for _, text in _formats(station) if text)
        strange = [text for text in texts if known_configuration(text) is None]
        if strange:
            yield own_finding("known format", station.name, " and ".join(repr(text) for text in strange))
        for text in texts:
            for complaint in _complaints(text):
                limit = facts.most(facts.where("cyclic_lengths", what="cyclic data"), "most_octets")
                allowed = f"at most {limit.last:g} bytes in each direction"
                yield Finding(
                    "length of data", station.name, text, allowed, limit.cited, complaint, forbidding(limit.facts)
                )


@cache
def _complaints(text: str) -> tuple[str, ...]:
    known = known_configuration(text)
    return known.complaints if known else ()


def formats_agree(network: Network) -> Findings:
    """The format set in the drive and the one set in the controller must be the same."""
    for station in network.slaves:
        (_, drive), (_, controller) = _formats(station)
        if drive and controller:
            found = f"{drive} in the drive, {controller} in the controller"
            degree = _agreement(drive, controller)
            if degree is Degree.CAUTION:
                found += ": the same length, but one side does not say its identifiers"
            yield own_finding("same format", station.name, found, degree)


@cache
def _agreement(drive: str, controller: str) -> Degree:
    means = [known_configuration(text) for text in (drive, controller)]
    if means[0] is None or means[1] is None:
        return Degree.IN_ORDER if drive.casefold() == controller.casefold() else Degree.CANNOT_WORK
    if means[0] == means[1]:
        return Degree.IN_ORDER
    # Bytes alone may be those of any identifiers of that length.
    open_side = any(only_bytes(text) for text in (drive, controller))
    same = (means[0].bytes_out, means[0].bytes_in) == (means[1].bytes_out, means[1].bytes_in)
    return Degree.CAUTION if open_side and same else Degree.CANNOT_WORK


def min_slave_interval(network: Network) -> Findings:
    """The slowest station should not make the whole cycle wait."""
    bus = cycle(network, intervals=False)
    slowest = max(network.slaves, key=lambda station: station.min_slave_interval_s or 0, default=None)
    if bus and slowest and slowest.min_slave_interval_s:
        waits = slowest.min_slave_interval_s > bus.best.seconds
        found = f"{time_text(slowest.min_slave_interval_s)}; the shortest cycle takes {time_text(bus.best.seconds)}"
        degree = Degree.CAUTION if waits else Degree.IN_ORDER
        yield own_finding("min slave interval", slowest.name, found, degree)


def watchdogs(network: Network) -> Findings:
    """Each watchdog must outlast the worst cycle with reserve."""
    bus = cycle(network)
    set_times = {s.watchdog_s for s in network.slaves if s.watchdog_s is not None}
    judged = {time_s: _watchdog(time_s, bus) for time_s in set_times} if bus else {}
    for station in network.slaves:
        if station.watchdog_s in judged:
            yield replace(judged[station.watchdog_s], place=station.name)


def _watchdog(time_s: float, bus: BusCycle) -> Finding:
    usual, short = BASES_S
    if time_s == 0 or time_s >= usual:
        return check_watchdog(time_s, bus, base_s=usual)
    finding = check_watchdog(time_s, bus, base_s=short)
    if finding.degree is Degree.IN_ORDER:
        to_do = f"Make sure that the station offers a watchdog in steps of {time_text(short)}, or set a longer time."
        return replace(finding, degree=Degree.CAUTION, to_do=to_do)
    return finding


# -- a station against its device description; one that names none is not asked for one, one whose file can't be had
# gets a single finding that says so


def described(network: Network) -> Iterator[tuple[Station, Description]]:
    """The stations that are polled whose description can be read, each with it."""
    for station in network.slaves:
        try:
            description = description_of(network, station)
        except Unreadable:
            continue  # `description_file` says so
        if description:
            yield station, description


def description_file(network: Network) -> Findings:
    """The file that a station names must be there, and readable from the first line to the last."""
    for station in network.slaves:
        try:
            description = description_of(network, station)
        except Unreadable as error:
            yield own_finding("device description", station.name, str(error))
            continue
        if description is None:
            continue
        found, count = station.description, len(description.problems)
        if count:
            found += f": {counted(count, 'line')} not as expected; {description.problems[0].text}"
        yield own_finding("device description", station.name, found, Degree.CAUTION if count else Degree.IN_ORDER)


def ident_number(network: Network) -> Findings:
    """The ident number that the station shows must be that of its description."""
    for station, description in described(network):
        if station.ident is not None:
            in_file = "none" if description.ident is None else f"16#{description.ident:04X}"
            found = f"16#{station.ident:04X} in the plan, {in_file} in {station.description}"
            degree = Degree.IN_ORDER if station.ident == description.ident else Degree.BY_STANDARD
            yield own_finding("ident number", station.name, found, degree)


def bit_rate_offered(network: Network) -> Findings:
    """The station must work at the bit rate of the line."""
    for station, description in described(network):
        offered = description.bit_rates
        listed = ", ".join(any_bit_rate_text(rate) for rate in offered) or "none"
        works = network.bit_rate in offered
        found = any_bit_rate_text(network.bit_rate) if works else f"{station.description} offers {listed}"
        yield own_finding(
            "bit rate of a station", station.name, found, Degree.IN_ORDER if works else Degree.CANNOT_WORK
        )


def bit_rate_found(network: Network) -> Findings:
    """A station that does not find the bit rate by itself has to be set to that of the line."""
    for station, description in described(network):
        finds = description.number("Auto_Baud_supp") == 1
        found = "finds it by itself" if finds else "is set at the device"
        yield own_finding("setting of the bit rate", station.name, found, Degree.IN_ORDER if finds else Degree.CAUTION)


def format_offered(network: Network) -> Findings:
    """Modules of the description must give the identifiers of the format, at both sides."""
    for station, description in described(network):
        texts = dict.fromkeys(text for text in (station.format_drive, station.format_controller) if text)
        known = {text: octets for text in texts if (octets := _octets(text))}
        if not known:
            continue  # what is not stated, or not known, has rules of its own
        lost = [text for text, octets in known.items() if modules_for(description, octets) is None]
        found = f"{station.description} gives no {' and no '.join(lost)}" if lost else ", ".join(known)
        degree = Degree.CANNOT_WORK if lost else Degree.IN_ORDER
        yield own_finding("format in the description", station.name, found, degree)


@cache
def _octets(text: str) -> bytes:
    """The identifiers that a format of the plan states, none if it is not known or says its length alone."""
    known = None if only_bytes(text) else known_configuration(text)
    return known.octets if known else b""


def interval_described(network: Network) -> Findings:
    """The plan must not let a station be polled sooner than its description allows."""
    for station, description in described(network):
        units = description.number("Min_Slave_Intervall")
        if units is None:
            continue
        planned, least_s = station.min_slave_interval_s, units * _STEP_S
        in_plan = "nothing" if planned is None else time_text(planned)
        found = f"{in_plan} in the plan, {time_text(least_s)} in {station.description}"
        fits = planned is not None and planned >= least_s * (1 - 1e-9)
        degree = Degree.IN_ORDER if fits else Degree.CAUTION
        yield own_finding("min slave interval described", station.name, found, degree)


# The order is that of the table among findings of one degree.
RULES = (
    Rule(bit_rate, needs_rate=False),
    Rule(controller, needs_rate=False),
    Rule(addresses, needs_rate=False),
    Rule(terminators),
    Rule(open_lengths, needs_rate=False),
    Rule(length, by_length=True),
    Rule(number),
    Rule(stubs),
    Rule(spacing, by_length=True),
    Rule(repeaters, needs_rate=False),
    Rule(total_length, needs_rate=False, by_length=True),
    Rule(slot_time, by_length=True),
    Rule(formats_stated, needs_rate=False),
    Rule(formats_known, needs_rate=False),
    Rule(formats_agree, needs_rate=False),
    Rule(description_file, needs_rate=False),
    Rule(ident_number, needs_rate=False),
    Rule(bit_rate_offered),
    Rule(bit_rate_found),
    Rule(format_offered, needs_rate=False),
    Rule(interval_described, needs_rate=False),
    Rule(neighbours, needs_rate=False),
    Rule(min_slave_interval, by_length=True),
    Rule(watchdogs, by_length=True),
)


def _segments(network: Network) -> list[Segment]:
    return [titled(segment) for segment in network.segments]


def _formats(station: Station) -> tuple[tuple[str, str], tuple[str, str]]:
    return (("drive", station.format_drive), ("controller", station.format_controller))
