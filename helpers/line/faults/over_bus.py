"""The stations that take an address over the bus, and what such an address changes in them."""

from __future__ import annotations

from dataclasses import replace

from helpers.drive.settings import Settings
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place, devices


def able(installation: Installation) -> tuple[Place, ...]:
    """The drives whose description says that they take an address over the bus.

    >>> from helpers.line.plant.build import installation_of
    >>> from helpers.facts import DATA
    >>> from helpers.plan.read import read_plan
    >>> mill = installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0])
    >>> [place.words for place in able(mill)]
    ['Dust filter valve']
    """
    return tuple(p for p in devices(installation, "drive") if installation.device(p.device).address_over_bus)


def given(settings: Settings, address: int) -> Settings:
    """The settings after an address over the bus; it stays when the supply goes. What is set at the device stays too.

    >>> given(Settings(), 22).active.address, given(Settings(), 22).set.address
    (22, 126)
    """
    kept = None if address == settings.set.address else address  # what is also set there needs no second place
    return replace(settings, active=replace(settings.active, address=address), given=kept)
