"""What a technician does at a device: supply, bus board, settings, exchange."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from helpers.bus.address.address import LAST_USABLE
from helpers.bus.services import message
from helpers.bus.services.set_slave_add import SetSlaveAdd
from helpers.device.formats import demo_formats, ppo_types
from helpers.drive import settings as drive_settings
from helpers.line.plant.changes import address_given
from helpers.line.plant.installation import Device, Installation
from helpers.line.plant.place import Place, addressed_over_bus, devices, stations
from helpers.line.repairs.repair import Repair
from helpers.line.station.dp_slave import DpSlave
from helpers.line.station.remote_io import RemoteIO

ADDRESSES = tuple(range(1, LAST_USABLE + 1))
FORMATS = tuple(form.name for form in (*ppo_types(), *demo_formats()))
_SENDER = 0  # the address that is left to the engineering computer, data/address_practice.csv


def _drives(installation: Installation) -> tuple[Place, ...]:
    return devices(installation, "drive")


def _set(name: str, values: tuple[Any, ...]) -> dict[str, Any]:
    """What to do, the planned value and the choices of one setting; it counts when the drive says so."""

    def does(installation: Installation, place: Place, value: Any) -> Installation:
        device = installation.device(place.device)
        changed = drive_settings.changed(device.settings, name, value)
        return installation.with_device(device.name, settings=changed)

    def planned(plan: Installation, place: Place) -> Any:
        return getattr(plan.device(place.device).settings.set, name)

    return {"does": does, "planned": planned, "choices": lambda installation, place: values}


def _sources(name: str) -> tuple[str, ...]:
    return tuple(row["choice"] for row in drive_settings.choices(name))


def _cycled(installation: Installation, place: Place, value: object) -> Installation:
    """What was set becomes active. The device has to have supply."""
    device = installation.device(place.device)
    return installation.with_device(device.name, settings=drive_settings.power_cycle(device.settings))


def _supplied(installation: Installation) -> tuple[Place, ...]:
    return tuple(place for place in stations(installation) if installation.device(place.device).powered)


def _switched_on(installation: Installation, place: Place, value: object) -> Installation:
    device = installation.device(place.device)
    if device.powered:
        return installation
    return installation.with_device(device.name, powered=True, settings=drive_settings.power_cycle(device.settings))


def _seated(installation: Installation, place: Place, value: object) -> Installation:
    """The drive was without supply for it, so what was set is active afterwards."""
    device = installation.device(place.device)
    settings = drive_settings.power_cycle(device.settings)
    return installation.with_device(device.name, board_seated=True, settings=settings)


def _mended(installation: Installation, place: Place, value: object) -> Installation:
    return installation.with_device(place.device, supply_drops_s=0.0)


def _released(installation: Installation, place: Place, value: object) -> Installation:
    return installation.with_device(place.device, fault_returns_s=0.0, cause_present=False)


def _exchanged(installation: Installation, place: Place, value: Device) -> Installation:
    """Another device of the planned type, with the planned settings; what is outside it stays as it was."""
    now = installation.device(place.device)
    new = replace(
        value,
        powered=now.powered,
        supply_drops_s=now.supply_drops_s,
        fault_returns_s=now.fault_returns_s,
        cause_present=now.cause_present,
        board_earthed=now.board_earthed,
    )
    changed = replace(installation, devices=tuple(new if d is now else d for d in installation.devices))
    for segment, plug in installation.places(place.device):
        wrong = changed.stretches[segment].wrong_at(plug)
        changed = changed.without_wrong(segment, (fault for fault in wrong if fault.kind == "unit loads"))
    return changed


def _planned_device(plan: Installation, place: Place) -> Device:
    return plan.device(place.device)


def _give_address(installation: Installation, place: Place, value: Any) -> Installation:
    """The engineering computer sends the order with the ident number that the project has for the station.

    The station takes it while it waits for parameters, as after power-up, and with its own ident number only; else
    nothing is changed. Source: M. Felser, PROFIBUS Manual, address changes.
    """
    device = installation.device(place.device)
    ident = installation.edited.station(place.device).ident
    if not device.on_bus or not _takes(device, SetSlaveAdd(value, ident)):
        return installation
    return installation.with_device(device.name, settings=address_given(device.settings, value))


def _takes(device: Device, order: SetSlaveAdd) -> bool:
    own = device.configuration
    alone = DpSlave(
        ident=device.ident,
        own=own,
        address=device.address,
        application=RemoteIO(inputs=own.bytes_in, outputs=own.bytes_out),
        fixed_address=not device.address_over_bus,
    )
    alone.power_up(0.0, address=device.address, own=own)
    asked = message.request(
        "Set_Slave_Add", to=device.address, sender=_SENDER, data=order.octets, count="first"
    )  # fmt: skip
    alone.answer(asked.octets, 0.0)
    return alone.address == order.address


REPAIRS = (
    Repair("power cycle", "Switch off, wait until it is dark, switch on", "starts; dark; drive stops",
           _supplied, _cycled, restarts=True),
    Repair("switch on", "Switch the supply of the device on", "foreign lock; starts",
           stations, _switched_on, restarts=True),
    Repair("mend supply", "Find the weak place of the supply and mend it", "supply side; mains; dc link; starts",
           stations, _mended),
    Repair("seat board", "Push the bus board home and fasten it", "mains; dc link; starts", _drives, _seated,
           restarts=True),
    Repair("mend release", "Mend what opens the release of the drive", "guards people; mains; dc link; starts",
           _drives, _released),
    Repair("exchange device", "Exchange the device and restore its settings", "mains; dc link; starts",
           stations, _exchanged, _planned_device, restarts=True),
    # Another station with the old or the new address may come back with it.
    Repair("set address", "Set the address at the device", "starts any", stations, **_set("address", ADDRESSES)),
    Repair("address over the bus", "Give the address over the bus, then off and on", "starts any; not alone; dark",
           addressed_over_bus, **(_set("address", ADDRESSES) | {"does": _give_address}), restarts=True),
    Repair("set format", "Set the data format at the drive", "starts", _drives,
           **_set("data_format", FORMATS)),
    Repair("set run source", "Set where the run command comes from", "starts", _drives,
           **_set("run_source", _sources("run_source"))),
    Repair("set setpoint source", "Set where the setpoint comes from", "starts", _drives,
           **_set("setpoint_source", _sources("setpoint_source"))),
)  # fmt: skip
