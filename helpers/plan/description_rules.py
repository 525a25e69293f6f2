"""The rules that hold a station of the plan against its device description.

A station that names no description is not asked for one. One whose file can't be had gets a single finding that says
so, and nothing else is said of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache

from helpers.bus.cable.bit_rates import any_bit_rate_text
from helpers.bus.time.timing import rule
from helpers.device.description.model import Description
from helpers.device.description.modules import modules_for
from helpers.device.formats import only_bytes
from helpers.errors import Unreadable
from helpers.plan import convert
from helpers.plan.descriptions import description_of
from helpers.plan.model import Network, Station
from helpers.plan.own_rules import own_finding
from helpers.quantity import time_text
from helpers.verdict import Degree, Finding
from helpers.wording import counted

Findings = Iterable[Finding]

_STEP_S = rule("min slave interval")  # description files count in it


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
    known = None if only_bytes(text) else convert.configuration(text)
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
