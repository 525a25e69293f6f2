"""A network plan in memory: networks, what is laid of their segments, and their stations, all in SI units."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from helpers.bus.address.address import Holder
from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.cable.cable import at_share
from helpers.bus.cable.laid import Plug, Segment
from helpers.bus.cable.repeater import Way, ways
from helpers.bus.cable.separation import Run
from helpers.bus.time.message_cycle import Exchange
from helpers.device.formats import known_configuration
from helpers.errors import WorkbookError, one_of


@dataclass(frozen=True)
class Station(Plug):
    """One row of the table `stations`: its plug, and what the plan knows beside it.

    A repeater has one in each segment that it joins. position: its number along the cable, as the table has it.
    """

    position: int = 0
    address: int | None = None
    place: str = ""
    format_drive: str = ""
    format_controller: str = ""
    min_slave_interval_s: float | None = None
    first_in: int | None = None
    first_out: int | None = None
    watchdog_s: float | None = None
    description: str = ""
    ident: int | None = None
    note: str = ""

    @property
    def is_master(self) -> bool:
        """Controllers and engineering computers hold the token; they are not polled."""
        return self.kind in ("controller", "engineering computer")

    @property
    def is_slave(self) -> bool:
        """Stations that a controller polls."""
        return self.kind in ("drive", "remote I/O", "other")

    @property
    def exchange(self) -> Exchange | None:
        """What it exchanges in each cycle, by the format in the controller, else by the one in the drive.

        None if neither is known, or if its data does not fit into a telegram.
        """
        known = known_configuration(self.format_controller) or known_configuration(self.format_drive)
        if known is None:
            return None
        try:
            return Exchange(
                known.bytes_out, known.bytes_in, self.name, min_slave_interval_s=self.min_slave_interval_s or 0
            )
        except WorkbookError:
            return None


def stations_of(segment: Segment) -> tuple[Station, ...]:
    """The stations at the plugs of a segment of a plan, in their order along the cable."""
    return tuple(plug for plug in segment.plugs if isinstance(plug, Station))


def titled(segment: Segment) -> Segment:
    """A segment of a plan under the name that findings and drawings use: `segment 1`."""
    return replace(segment, name=f"segment {segment.name}")


@dataclass(frozen=True)
class Neighbour(Run):
    """One row of the table `neighbours`: another cable, and the segment that it lies beside or crosses."""

    volts: float = 0.0
    segment: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class DescriptionFile:
    """A device description that stands beside a plan: the name of the file and its octets."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Network:
    """One bus: one row of the table `network`, with the segments that repeaters join; each runs at its bit rate.

    `cable_type` is that of each piece for which the plan says no other. `descriptions` are the files beside the plan
    that a station of this network names; `neighbours` are other cables.
    """

    name: str
    bit_rate: float
    cable_type: str
    segments: tuple[Segment, ...]
    hsa: int | None = None
    note: str = ""
    descriptions: tuple[DescriptionFile, ...] = ()
    neighbours: tuple[Neighbour, ...] = ()

    def __post_init__(self) -> None:
        at_its_rate = (s if s.bit_rate == self.bit_rate else replace(s, bit_rate=self.bit_rate) for s in self.segments)
        object.__setattr__(self, "segments", tuple(at_its_rate))

    @property
    def has_known_rate(self) -> bool:
        """True if the bit rate is one of DP; nothing can be calculated at another."""
        return self.bit_rate in bit_rates()

    @cached_property
    def stations(self) -> tuple[Station, ...]:
        """All rows of all segments; a repeater is there once for each of its segments."""
        return tuple(station for segment in self.segments for station in stations_of(segment))

    @property
    def has_open_lengths(self) -> bool:
        """True if nobody has measured some piece of its cable."""
        return any(piece.open for segment in self.segments for piece in segment.pieces)

    def at_share(self, share: float) -> Network:
        """The network with each open length fixed, between the shortest (0) and the longest (1) that it may be."""
        return replace(self, segments=tuple(at_share(segment, share) for segment in self.segments))

    @property
    def holders(self) -> tuple[Holder, ...]:
        """Every station that has an address."""
        return tuple(Holder(s.name, s.kind, s.address) for s in self.stations if s.address is not None)

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """The ways between its segments, by their names; a repeater is named without capitals."""
        joined: dict[str, list[str]] = {}
        for segment in self.segments:
            for plug in segment.plugs:
                if plug.is_repeater:
                    joined.setdefault(plug.name.casefold(), []).append(segment.name)
        return ways({segment.name: segment.length_m for segment in self.segments}, joined)

    @cached_property
    def masters(self) -> tuple[Station, ...]:
        """Controllers and engineering computers."""
        return tuple(station for station in self.stations if station.is_master)

    @cached_property
    def slaves(self) -> tuple[Station, ...]:
        """The stations that a controller polls."""
        return tuple(station for station in self.stations if station.is_slave)


@dataclass(frozen=True, slots=True)
class Plan:
    """All networks of one folder or workbook; iterating gives the networks."""

    name: str
    networks: tuple[Network, ...]

    def __iter__(self) -> Iterator[Network]:
        return iter(self.networks)

    def network(self, name: str) -> Network:
        """The network of this name; `Unknown` with the list if there is none."""
        one_of("network", name, (network.name for network in self.networks))
        return next(network for network in self.networks if network.name == name)
