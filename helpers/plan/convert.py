"""A network plan in the terms of the calculations: segments with devices, stations with addresses, exchanges."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from helpers.bus.address.address import LAST_USABLE, Holder
from helpers.bus.cable import laid
from helpers.bus.time.cycle import BusCycle, OtherMaster, bus_cycle
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.timing import signal_delay_bits
from helpers.device import formats
from helpers.device.identifiers import Configuration
from helpers.errors import WorkbookError
from helpers.plan.model import Network, Segment, Station


def bus_segment(network: Network, segment: Segment) -> laid.Segment:
    """A segment of the plan as the calculations of `helpers.bus` take it. Raises `Unknown` for the bit rate."""
    plugs = tuple(
        laid.Plug(
            station.name,
            kind=station.kind,
            unit_load=station.unit_load,
            stub_length_m=station.stub_length_m,
            stub_cable=network.cable_type,
            stub_capacitance_f=station.stub_capacitance_f,
            plug_type=station.plug,
            terminator_on=station.terminator_on,
            own_supply=station.own_supply,
            may_be_off=station.may_be_off,
        )
        for station in segment.stations
    )
    pieces = tuple(laid.Piece(cable.length_m, cable.cable_type or network.cable_type) for cable in segment.cables)
    return laid.Segment(f"segment {segment.name}", plugs, pieces, network.bit_rate)


def holders(network: Network) -> tuple[Holder, ...]:
    """Every station that has an address."""
    return tuple(Holder(s.name, s.kind, s.address) for s in network.stations if s.address is not None)


@dataclass(frozen=True)
class Way:
    """The way from one segment to another: the segments on it, the repeaters between, and all their cable in m."""

    segments: tuple[str, ...]
    repeaters: tuple[str, ...]
    length_m: float


def ways(network: Network) -> tuple[Way, ...]:
    """The way from each segment to each other, and to itself. Each segment on the way counts with all its cable."""
    length_m = {segment.name: segment.length_m for segment in network.segments}
    at: dict[str, list[str]] = {}  # repeater to its segments
    for segment in network.segments:
        for station in segment.stations:
            if station.is_repeater:
                at.setdefault(station.name.casefold(), []).append(segment.name)
    found: list[Way] = []
    for start in length_m:
        reached = {start: Way((start,), (), length_m[start])}
        for here in (waiting := [start]):
            way = reached[here]
            for repeater, segments in at.items():
                for there in segments if here in segments else ():
                    if there not in reached:
                        repeaters = (*way.repeaters, repeater)
                        reached[there] = Way((*way.segments, there), repeaters, way.length_m + length_m[there])
                        waiting.append(there)
        found += reached.values()
    return tuple(found)


def delay_bits(network: Network, bit_rate: float) -> float:
    """2·TTD between the two segments that lie farthest apart, in bit times."""
    return max(
        signal_delay_bits(length_m=way.length_m, bit_rate=bit_rate, repeaters=len(way.repeaters))
        for way in ways(network)
    )


@cache
def configuration(text: str) -> Configuration | None:
    """What a format of the plan means, as `helpers.device.formats.configuration` reads it; None if it means nothing.

    >>> configuration("PPO 4").octets.hex(), configuration("F3 F5").octets.hex(), configuration("long format")
    ('f5', 'f3f5', None)
    """
    try:
        return formats.configuration(text)
    except WorkbookError:
        return None


def exchange(station: Station) -> Exchange | None:
    """What a station exchanges in each cycle, by the format in the controller, else by the one in the drive.

    None if neither is known, or if its data does not fit into a telegram.
    """
    known = configuration(station.format_controller) or configuration(station.format_drive)
    if known is None:
        return None
    try:
        return Exchange(
            outputs=known.bytes_out,
            inputs=known.bytes_in,
            name=station.name,
            min_slave_interval_s=station.min_slave_interval_s or 0,
        )
    except WorkbookError:
        return None


def cycle(network: Network, bit_rate: float | None = None, *, intervals: bool = True) -> BusCycle | None:
    """The bus cycle of all stations at a bit rate, that of the network if none is given.

    None if there is nobody to poll, or if there are more stations than addresses.

    The first controller polls all stations. Further controllers and engineering computers only take the token
    in turn: the plan does not say what they send. A station whose format is not known counts without data.
    `intervals=False` leaves out the pauses that stations ask for.
    """
    exchanges = []
    for station in network.slaves:
        known = exchange(station) or Exchange(0, 0, station.name)
        exchanges.append(known if intervals else Exchange(known.outputs, known.inputs, known.name))
    if not 1 <= len(exchanges) <= LAST_USABLE:
        return None
    rate = bit_rate or network.bit_rate
    first = next((master for master in network.masters if master.kind == "controller"), None)
    others = [OtherMaster(master.name) for master in network.masters if master is not first]
    return bus_cycle(exchanges, bit_rate=rate, others=others, delay_bits=delay_bits(network, rate))
