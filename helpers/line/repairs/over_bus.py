"""Giving a station its address over the bus: the order goes to its DP slave, which takes it or refuses it."""

from __future__ import annotations

from typing import Any

from helpers.bus.services import message
from helpers.bus.services.set_slave_add import SetSlaveAdd
from helpers.line.faults.over_bus import given
from helpers.line.plant.installation import Device, Installation
from helpers.line.plant.place import Place
from helpers.line.station.dp_slave import DpSlave
from helpers.line.station.remote_io import RemoteIO

_SENDER = 0  # the address that is left to the engineering computer, data/address_practice.csv


def does(installation: Installation, place: Place, value: Any) -> Installation:
    """The engineering computer sends the order with the ident number that the project has for the station.

    The station takes it while it waits for parameters, as after power-up, and with its own ident number only; else
    nothing is changed. Source: M. Felser, PROFIBUS Manual, address changes.
    """
    device = installation.device(place.device)
    ident = installation.edited.station(place.device).ident
    if not device.on_bus or not _takes(device, SetSlaveAdd(value, ident)):
        return installation
    return installation.with_device(device.name, settings=given(device.settings, value))


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
