"""From a network plan to an installation in which everything is as the plan says."""

from __future__ import annotations

from dataclasses import fields, replace

from helpers.bus.cable.laid import Plug, Segment
from helpers.bus.services.accepted import offered
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.timing import longest_delay_bits
from helpers.device import formats
from helpers.device.description.model import Description
from helpers.device.description.modules import configure, modules_for
from helpers.device.formats import known_configuration
from helpers.drive.settings import Settings, SettingValues
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError
from helpers.facts import one
from helpers.line.plant.installation import Configured, Device, Installation, Program, Project, Stretch
from helpers.plan.descriptions import description_of
from helpers.plan.model import Network, Station

# Where neither the plan nor a description says: ident numbers of the invented devices, given to nobody.
_IDENTS = {"drive": 0xFFF1, "remote I/O": 0xFFF3}
_OTHER = 0xFFF4


def installation_of(network: Network) -> Installation:
    """The installation that a network of a plan describes: drives handed to the bus, the controller loaded.

    What a station's device description tells, the line takes from there: ident number, bit rates, and the octets of
    its own parameters. A station whose format is not known, and one without an address, can't take part; it raises
    `Unknown` or `OutOfRange` with its name. So does a network without a controller, and a bit rate that DP does not
    have.
    """
    controller = next((s for s in network.masters if s.kind == "controller"), None)
    if controller is None:
        raise Unknown(f"network {network.name} has no controller; without one nothing happens on the bus.")
    if not network.has_known_rate:
        raise Unknown(f"network {network.name}: {network.bit_rate:g} bit/s is no bit rate of PROFIBUS DP.")
    devices: dict[str, Device] = {}
    for station in network.stations:
        devices.setdefault(station.name, _device(station, _description(network, station)))
    project = Project(
        tuple(_configured(station, _description(network, station)) for station in network.slaves),
        address=controller.address if controller.address is not None else 1,
    )
    return Installation(
        network.bit_rate,
        tuple(_stretch(segment) for segment in network.segments),
        tuple(devices.values()),
        project,
        project,
        delay_bits=longest_delay_bits(network.ways, network.bit_rate),
    )


def _stretch(segment: Segment) -> Stretch:
    """What the plan lays, without what it says of the stations beside their plugs; an open length is the likely one."""
    plugs = tuple(Plug(**{field.name: getattr(plug, field.name) for field in fields(Plug)}) for plug in segment.plugs)
    noise = one("practice_line", name="quiet_noise_v").number("value")
    pieces = tuple(replace(piece, open=None) for piece in segment.pieces)
    return Stretch(replace(segment, plugs=plugs, pieces=pieces), noise_v=(noise,) * len(plugs))


def _description(network: Network, station: Station) -> Description | None:
    """The station's device description; None if it names none or has none that can be read (the plan's check says)."""
    try:
        return description_of(network, station)
    except Unreadable:
        return None


def _own_parameters(station: Station, description: Description | None) -> bytes:
    """The octets behind the seventh of Set_Prm, each parameter at its default; none where no description gives them."""
    data_format = known_configuration(_formats(station)[1])
    modules = modules_for(description, data_format.octets) if description and data_format else None
    if description is None or not modules:
        return b""
    try:
        return configure(description, [module.name for module in modules]).user_parameters
    except WorkbookError:
        return b""  # more than one telegram holds, or a default that is not allowed: the description's check says so


def _device(station: Station, description: Description | None) -> Device:
    """What hangs on the cable: with the ident number that it shows, which need not be that of the description."""
    values = SettingValues(
        run_source="bus",
        setpoint_source="bus",
        address=SettingValues().address if station.address is None else station.address,  # without one: as delivered
        data_format=_formats(station)[0],
        on_loss="fault",
    )
    return Device(
        station.name,
        station.kind,
        ident=_first(station.ident, description.ident if description else None, _IDENTS.get(station.kind, _OTHER)),
        settings=Settings(values, values),
        rates=frozenset(description.bit_rates if description else ()),
        min_slave_interval_s=station.min_slave_interval_s or 0.0,
        machine=station.name if station.kind == "drive" else "",
        address_over_bus=bool(description and description.number("Set_Slave_Add_supp")),
        user_octets=len(_own_parameters(station, description)) if station.is_slave else 0,
        offers=offered(description) if description else frozenset(),
    )


def _first(*numbers: int | None) -> int:
    """The first number that is known."""
    return next(number for number in numbers if number is not None)


def _formats(station: Station) -> tuple[str, str]:
    """The formats in the device and in the controller, each in the spelling of `formats.spelled`; the other's if one is
    not stated, or says the same length alone. Raises with the station's name for what the bench can't exchange.
    """
    if not station.is_slave:
        return station.format_drive, station.format_drive
    stated = [text for text in (station.format_drive, station.format_controller) if text]
    if not stated:
        raise Unknown(f"{station.name}: no format is stated; nothing can be exchanged.")
    try:
        for text in stated:
            means = formats.in_words(text) if station.kind == "drive" else formats.configuration(text)
            Exchange(means.bytes_out, means.bytes_in)
    except WorkbookError as error:
        raise type(error)(f"{station.name}: {error}") from None
    drive, controller = stated[0], stated[-1]
    sizes = {(c.bytes_out, c.bytes_in) for c in map(formats.configuration, stated)}
    if len(sizes) == 1:
        drive, controller = (_closer(drive, controller), _closer(controller, drive))
    return formats.spelled(drive), formats.spelled(controller)


def _closer(text: str, other: str) -> str:
    return other if formats.only_bytes(text) else text


def _configured(station: Station, description: Description | None) -> Configured:
    """What the engineering computer has of it: by the description, which is all that it knows of a device."""
    if station.address is None:
        raise OutOfRange(f"{station.name} has no address in the plan; the controller can't ask it.")
    return Configured(
        station.name,
        station.address,
        _first(description.ident if description else None, station.ident, _IDENTS.get(station.kind, _OTHER)),
        _formats(station)[1],
        watchdog_s=station.watchdog_s or 0.0,
        user=_own_parameters(station, description),
        program=Program() if station.kind == "drive" else None,
    )
