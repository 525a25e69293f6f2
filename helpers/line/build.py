"""From a network plan to an installation in which everything is as the plan says."""

from __future__ import annotations

from helpers.bus.circuit.wired import circuit_of
from helpers.drive.settings import Settings, Values
from helpers.errors import OutOfRange, Unknown
from helpers.facts import one
from helpers.line.installation import Configured, Device, Installation, Program, Project, Stretch
from helpers.plan.model import Network, Station
from helpers.plan.to_bus import bus_segment, delay_bits, exchange, has_known_rate

# Ident numbers of the invented devices; no organisation has given them to anybody.
_IDENTS = {"drive": 0xFFF1, "remote I/O": 0xFFF3}


def installation_of(network: Network) -> Installation:
    """The installation that a network of a plan describes: drives handed to the bus, the controller loaded.

    A station whose format is not known, and one without an address, can't take part; it raises `Unknown` or
    `OutOfRange` with its name. So does a network without a controller, and a bit rate that DP does not have.

    """
    controller = next((s for s in network.masters if s.kind == "controller"), None)
    if controller is None:
        raise Unknown(f"network {network.name} has no controller; without one nothing happens on the bus.")
    if not has_known_rate(network):
        raise Unknown(f"network {network.name}: {network.bit_rate:g} bit/s is no bit rate of PROFIBUS DP.")
    devices: dict[str, Device] = {}
    for station in network.stations:
        devices.setdefault(station.name, _device(station))
    project = Project(
        tuple(_configured(station) for station in network.slaves),
        address=controller.address if controller.address is not None else 1,
    )
    return Installation(
        network.bit_rate,
        tuple(_stretch(network, number) for number in range(len(network.segments))),
        tuple(devices.values()),
        project,
        project,
        delay_bits=delay_bits(network, network.bit_rate),
    )


def _stretch(network: Network, number: int) -> Stretch:
    segment = network.segments[number]
    circuit = circuit_of(bus_segment(network, segment))
    noise = one("practice_line", name="quiet_noise_v").number("value")
    return Stretch(
        segment.name,
        tuple(station.name for station in segment.stations),
        circuit,
        (noise,) * len(circuit.plugs),
        frozenset(n for n, station in enumerate(segment.stations) if station.own_supply),
        frozenset(n for n, station in enumerate(segment.stations) if _cuts(station.plug)),
    )


def _cuts(plug: str) -> bool:
    return one("plugs", plug=plug)["outgoing_cable"] == "cut off"


def _device(station: Station) -> Device:
    address = station.address if station.address is not None else 126
    values = Values("bus", "bus", address, station.format_drive or station.format_controller, "fault")
    return Device(
        station.name,
        station.kind,
        ident=_IDENTS.get(station.kind, 0xFFF4),
        settings=Settings(values, values),
        min_slave_interval_s=station.min_slave_interval_s or 0.0,
        machine=station.name if station.kind == "drive" else "",
    )


def _configured(station: Station) -> Configured:
    if station.address is None:
        raise OutOfRange(f"{station.name} has no address in the plan; the controller can't ask it.")
    if exchange(station) is None:
        raise Unknown(
            f"{station.name}: the format {station.format_controller!r} is not known; nothing can be exchanged."
        )
    return Configured(
        station.name,
        station.address,
        _IDENTS.get(station.kind, 0xFFF4),
        station.format_controller or station.format_drive,
        watchdog_s=station.watchdog_s or 0.0,
        program=Program() if station.kind == "drive" else None,
    )
