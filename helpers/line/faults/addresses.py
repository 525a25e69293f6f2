"""Faults of addresses: at the device, and in what the engineering computer has."""

from __future__ import annotations

from random import Random

from helpers.bus.address.address import LAST_USABLE
from helpers.drive.settings import SettingValues
from helpers.line.faults.fault import Fault
from helpers.line.faults.settings import with_values
from helpers.line.plant.changes import address_given, both
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place, addressed_over_bus, polled, stations

_SET_AND_CYCLED = (("set address", "power cycle"), ("exchange device",))


def _right(installation: Installation) -> tuple[Place, ...]:
    """Stations that answer where the controller asks them."""
    return tuple(p for p in stations(installation) if _asked(installation, p.device) == _own(installation, p.device))


def _asked(installation: Installation, name: str) -> tuple[int, ...]:
    return tuple(s.address for s in installation.edited.stations if s.name == name) * 2


def _own(installation: Installation, name: str) -> tuple[int, ...]:
    settings = installation.device(name).settings
    return settings.set.address, settings.active.address


def _with_others(installation: Installation) -> tuple[Place, ...]:
    """Stations that answer where they are asked, where another address than their own is in use."""
    return tuple(p for p in _right(installation) if _others(installation, p.device))


def _with_room(installation: Installation) -> tuple[Place, ...]:
    """Stations that answer where they are asked, where an address is free."""
    return _right(installation) if free(installation) else ()


def _others(installation: Installation, name: str) -> list[int]:
    own = installation.device(name).address
    return sorted({device.address for device in installation.stations} - {own})


def free(installation: Installation) -> list[int]:
    """Addresses that nobody has and the controller asks nobody at."""
    used = {address for d in installation.devices for address in (d.settings.set.address, d.settings.active.address)}
    for project in (installation.edited, installation.loaded):
        used |= {project.address, *(station.address for station in project.stations)}
    return [address for address in range(1, LAST_USABLE + 1) if address not in used]


def _duplicate(installation: Installation, place: Place, random: Random) -> Installation:
    return with_values(installation, place.device, address=random.choice(_others(installation, place.device)))


def _wrong(installation: Installation, place: Place, random: Random) -> Installation:
    return with_values(installation, place.device, address=random.choice(free(installation)))


def _waiting(installation: Installation, place: Place, random: Random) -> Installation:
    return with_values(installation, place.device, what=("active",), address=random.choice(free(installation)))


def _as_delivered(installation: Installation, place: Place, random: Random) -> Installation:
    return with_values(installation, place.device, address=SettingValues().address)


def _listed(installation: Installation) -> tuple[Place, ...]:
    """Stations of the project that have an address of their own, where there is another one to take."""
    addresses = [station.address for station in installation.edited.stations]
    own = [p for p in polled(installation) if addresses.count(installation.edited.station(p.device).address) == 1]
    return tuple(own) if len(own) > 1 else ()


def _by_project(installation: Installation, place: Place, random: Random) -> Installation:
    own = installation.edited.station(place.device).address
    taken = random.choice(sorted({station.address for station in installation.edited.stations} - {own}))
    return both(installation, place.device, address=taken)


def _takes(installation: Installation) -> tuple[Place, ...]:
    """Stations that answer where they are asked, and would take another address over the bus."""
    over_bus = addressed_over_bus(installation)
    return tuple(p for p in _with_others(installation) if p in over_bus and installation.device(p.device).on_bus)


def _by_program(installation: Installation, place: Place, random: Random) -> Installation:
    taken = random.choice(_others(installation, place.device))
    settings = address_given(installation.device(place.device).settings, taken)
    return installation.with_device(place.device, settings=settings)


FAULTS = (
    Fault(key="duplicate address", name="Two devices with one address", group="addresses", grade=2,
          places=_with_others, make=_duplicate, cures=_SET_AND_CYCLED,
          what="This device is set to the address of another station."),
    Fault(key="wrong address", name="Wrong address", group="addresses", grade=1, places=_with_room, make=_wrong,
          cures=_SET_AND_CYCLED,
          what="This device is set to an address at which the controller asks nobody."),
    Fault(key="address not active", name="Address changed without a power cycle", group="addresses", grade=2,
          places=_with_room, make=_waiting, cures=(("power cycle",), ("exchange device",)),
          what="The right address is set in this device, but the old one is still active: its supply was not off "
               "since."),
    Fault(key="address as delivered", name="Address 126 left", group="addresses", grade=1, places=_right,
          make=_as_delivered, cures=_SET_AND_CYCLED,
          what="This device still has the address with which it was delivered, 126."),
    Fault(key="duplicate in the project", name="One address twice in the project", group="addresses", grade=3,
          places=_listed, make=_by_project, cures=(("address in the project", "load controller"),),
          what="In the loaded project this station has the address of another one; the devices themselves are set "
               "right."),
    Fault(key="duplicate over the bus", name="Address of another station given over the bus", group="addresses",
          grade=3, places=_takes, make=_by_program, cures=(("address over the bus",), ("exchange device",)),
          what="A program has given this station the address of another one by Set_Slave_Add; the one set at it is "
               "right."),
)  # fmt: skip
