"""The stations that take an address over the bus, and what such an address changes in them."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from helpers.device.description.read import read_description
from helpers.drive.settings import Settings
from helpers.facts import DATA
from helpers.line.installation import Installation
from helpers.line.place import Place, devices


def able(installation: Installation) -> tuple[Place, ...]:
    """The drives whose description says that they take an address over the bus.

    >>> from helpers.line.build import installation_of
    >>> from helpers.plan.read import read_plan
    >>> mill = installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0])
    >>> [place.words for place in able(mill)]
    ['Dust filter valve']
    """
    found = devices(installation, "drive")
    return tuple(p for p in found if installation.device(p.device).configuration.octets in _formats())


@cache
def _formats() -> frozenset[bytes]:
    """The identifiers of the demo drives that take one.

    An installation does not say which description belongs to a station. The one demo drive that takes an address has a
    single format, and no other station of the demo site uses it, so the format tells.
    """
    descriptions = map(read_description, sorted((DATA / "demo/descriptions").glob("*.gsd")))
    takes = (each for each in descriptions if each.number("Set_Slave_Add_supp"))
    return frozenset(bytes(module.identifiers) for each in takes for module in each.modules)


def given(settings: Settings, address: int) -> Settings:
    """The settings after an address over the bus; it stays when the supply goes. What is set at the device stays too.

    >>> given(Settings(), 22).active.address, given(Settings(), 22).set.address
    (22, 126)
    """
    kept = None if address == settings.set.address else address  # what is also set there needs no second place
    return replace(settings, active=replace(settings.active, address=address), given=kept)
