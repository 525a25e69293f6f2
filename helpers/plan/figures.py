"""A network plan in figures: stations, segments, cable, data, and the bus cycle at each bit rate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from helpers.bus.address.address import LAST_USABLE
from helpers.bus.cable.bit_rates import any_bit_rate_text, bit_rate_text, bit_rates
from helpers.bus.cable.cable import at_share, check_length
from helpers.bus.cable.laid import Segment
from helpers.bus.cable.segment import check_spacing, check_stubs
from helpers.bus.time.cycle import BusCycle, OtherMaster, bus_cycle
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.timing import longest_delay_bits
from helpers.plan.model import Network
from helpers.quantity import quantity, time_text
from helpers.verdict import Degree, worst


def cycle(network: Network, bit_rate: float | None = None, *, intervals: bool = True) -> BusCycle | None:
    """The bus cycle of all stations at a bit rate, that of the network if none is given.

    None if there is nobody to poll, or if there are more stations than addresses.

    The first controller polls all stations. Further controllers and engineering computers only take the token
    in turn: the plan does not say what they send. A station whose format is not known counts without data.
    `intervals=False` leaves out the pauses that stations ask for.
    """
    exchanges = []
    for station in network.slaves:
        known = station.exchange or Exchange(0, 0, station.name)
        exchanges.append(known if intervals else Exchange(known.outputs, known.inputs, known.name))
    if not 1 <= len(exchanges) <= LAST_USABLE:
        return None
    rate = bit_rate or network.bit_rate
    first = next((master for master in network.masters if master.kind == "controller"), None)
    others = [OtherMaster(master.name) for master in network.masters if master is not first]
    return bus_cycle(exchanges, bit_rate=rate, others=others, delay_bits=longest_delay_bits(network.ways, rate))


@dataclass(frozen=True)
class RateRow:
    """The bus cycle at one bit rate in seconds, and whether cable, stubs and spacing allow that bit rate."""

    bit_rate: int
    best_s: float
    typical_s: float
    worst_s: float
    cable: Degree
    chosen: bool

    @property
    def cells(self) -> dict[str, str]:
        """The row for a table; the bit rate set in the controller is marked in words."""
        return {
            "bit rate": bit_rate_text(self.bit_rate),
            "best": time_text(self.best_s),
            "typical": time_text(self.typical_s),
            "worst": time_text(self.worst_s),
            "cable, stubs, spacing": self.cable.words,
            "set": "set in the controller" if self.chosen else "",
        }


@dataclass(frozen=True)
class Summary:
    """One network in figures. Bytes out go from the controller to the stations, each cycle.

    `not_counted` names the stations whose format is not known: they count without data. `open_m`: from where to where
    the length of all cable may be, if some of it is not measured; `length_m` is then the most likely one.
    """

    network: str
    bit_rate: float
    masters: int
    slaves: int
    repeaters: int
    segments: int
    length_m: float
    open_m: tuple[float, float] | None
    bytes_out: int
    bytes_in: int
    not_counted: tuple[str, ...]
    rates: tuple[RateRow, ...]

    @property
    def cells(self) -> dict[str, str]:
        """The figures for a table: what, how much."""
        return {
            "network": self.network,
            "bit rate": any_bit_rate_text(self.bit_rate),
            "controllers and engineering computers": str(self.masters),
            "stations that are polled": str(self.slaves),
            "repeaters": str(self.repeaters),
            "segments": str(self.segments),
            "cable without stubs": cable_text(self.length_m, self.open_m),
            "data out": quantity(self.bytes_out, "bytes in each cycle"),
            "data in": quantity(self.bytes_in, "bytes in each cycle"),
            "data not known of": ", ".join(self.not_counted) or "none",
        }


def open_m(segments: Sequence[Segment]) -> tuple[float, float] | None:
    """The least and the most cable that segments may have, in m; None if all of it is measured."""
    if not any(piece.open for segment in segments for piece in segment.pieces):
        return None
    least_m, most_m = (sum(at_share(segment, share).length_m for segment in segments) for share in (0.0, 1.0))
    return least_m, most_m


def cable_text(length_m: float, span_m: tuple[float, float] | None) -> str:
    """A length of cable as people write it, with what it may be where some of it is open.

    >>> cable_text(20, None), cable_text(20, (10, 30))
    ('20 m', '10 to 30 m (most likely 20 m)')
    """
    if span_m is None:
        return quantity(length_m, "m")
    return f"{quantity(span_m[0], '')} to {quantity(span_m[1], 'm')} (most likely {quantity(length_m, 'm')})"


def taken(network: Network) -> str:
    """What the open lengths of a network count as where one number is needed; empty if all are measured."""
    as_likely = [
        f"segment {segment.name}, {left.name} – {right.name}: {quantity(piece.length_m, 'm')} ({piece.length_text})"
        for segment in network.segments
        for (left, right), piece in zip(pairwise(segment.plugs), segment.pieces, strict=True)
        if piece.open
    ]
    return f"Lengths that are open count as the most likely: {'; '.join(as_likely)}." if as_likely else ""


def summarize(network: Network) -> Summary:
    """The figures of one network.

    >>> from helpers.plan.read import read_plan
    >>> mill = summarize(read_plan("data/demo/saltmarsh-mill").network("Mill line"))
    >>> mill.slaves, mill.segments, mill.length_m, mill.bytes_out, mill.bytes_in
    (9, 2, 104.0, 78, 88)
    """
    exchanges = {station.name: station.exchange for station in network.slaves}
    known = [exchange for exchange in exchanges.values() if exchange]
    return Summary(
        network=network.name,
        bit_rate=network.bit_rate,
        masters=len(network.masters),
        slaves=len(network.slaves),
        repeaters=len({station.name.casefold() for station in network.stations if station.is_repeater}),
        segments=len(network.segments),
        length_m=sum(segment.length_m for segment in network.segments),
        open_m=open_m(network.segments),
        bytes_out=sum(exchange.outputs for exchange in known),
        bytes_in=sum(exchange.inputs for exchange in known),
        not_counted=tuple(name for name, exchange in exchanges.items() if exchange is None),
        rates=cycle_table(network),
    )


def cycle_table(network: Network) -> tuple[RateRow, ...]:
    """The bus cycle of a network at every bit rate, slowest first; empty if there is nobody to poll.

    >>> from helpers.plan.read import read_plan
    >>> [row.cells["typical"] for row in cycle_table(read_plan("data/demo/saltmarsh-mill").networks[0])][6]
    '3.451 ms'
    """
    rows = []
    for bit_rate in bit_rates():
        bus = cycle(network, bit_rate)
        if bus:
            times = (bus.best.seconds, bus.typical.seconds, bus.worst.seconds)
            cable = max(_cable(replace(segment, bit_rate=bit_rate)) for segment in network.segments)
            rows.append(RateRow(bit_rate, *times, cable, bit_rate == network.bit_rate))
    return tuple(rows)


def _cable(segment: Segment) -> Degree:
    ends = (at_share(segment, share) for share in (0.0, 1.0))
    shortest, longest = ((_length(end), worst(check_spacing(end))) for end in ends)
    return max(worst(check_stubs(segment)), *map(_of_both, shortest, longest))


def _length(segment: Segment) -> Degree:
    return check_length(segment.pieces, bit_rate=segment.bit_rate, place=segment.name)[0].degree


def _of_both(shortest: Degree, longest: Degree) -> Degree:
    """What holds for every length between two; that it depends if nothing does."""
    return min(shortest, longest) if shortest.verdict == longest.verdict else Degree.DEPENDS
