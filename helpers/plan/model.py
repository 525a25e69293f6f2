"""A network plan in memory: networks, their segments, stations and pieces of cable, all in SI units."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from helpers.bus.cable.bit_rates import bit_rates
from helpers.errors import one_of


@dataclass(frozen=True, slots=True)
class Station:
    """One row of the table `stations`. A repeater has one in each segment it joins."""

    network: str
    segment: str
    position: int
    name: str
    kind: str
    address: int | None = None
    place: str = ""
    unit_load: float = 1.0
    stub_length_m: float = 0.0
    stub_capacitance_f: float = 0.0
    plug: str = "cutting"
    terminator_on: bool = False
    own_supply: bool = False
    may_be_off: bool = False
    format_drive: str = ""
    format_controller: str = ""
    min_slave_interval_s: float | None = None
    watchdog_s: float | None = None
    description: str = ""
    ident: int | None = None
    note: str = ""

    @property
    def is_repeater(self) -> bool:
        """A repeater loads each of its segments but has no address."""
        return self.kind == "repeater"

    @property
    def is_master(self) -> bool:
        """Controllers and engineering computers hold the token; they are not polled."""
        return self.kind in ("controller", "engineering computer")

    @property
    def is_slave(self) -> bool:
        """Stations that a controller polls."""
        return self.kind in ("drive", "remote I/O", "other")


@dataclass(frozen=True, slots=True)
class Cable:
    """One row of the table `cable`: a piece between two neighbours."""

    network: str
    segment: str
    from_station: str
    to_station: str
    length_m: float
    cable_type: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Segment:
    """Stations along one cable, in order; `cables[i]` joins `stations[i]` and `stations[i + 1]`."""

    name: str
    stations: tuple[Station, ...]
    cables: tuple[Cable, ...]

    @property
    def length_m(self) -> float:
        """Length of the cable in m, without stubs."""
        return sum(cable.length_m for cable in self.cables)


@dataclass(frozen=True, slots=True)
class DescriptionFile:
    """A device description that stands beside a plan: the name of the file and its octets."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Network:
    """One bus: one row of the table `network`, with the segments that repeaters join.

    `descriptions` are the files beside the plan that a station of this network names.
    """

    name: str
    bit_rate: float
    cable_type: str
    segments: tuple[Segment, ...]
    hsa: int | None = None
    note: str = ""
    descriptions: tuple[DescriptionFile, ...] = ()

    @property
    def has_known_rate(self) -> bool:
        """True if the bit rate is one of DP; nothing can be calculated at another."""
        return self.bit_rate in bit_rates()

    @property
    def stations(self) -> tuple[Station, ...]:
        """All rows of all segments; a repeater is there once for each of its segments."""
        return tuple(station for segment in self.segments for station in segment.stations)

    @property
    def masters(self) -> tuple[Station, ...]:
        """Controllers and engineering computers."""
        return tuple(station for station in self.stations if station.is_master)

    @property
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
