"""Faults of a device itself: its bus board, its supply, and what trips a drive."""

from __future__ import annotations

from random import Random

from helpers.line.faults.fault import Fault, drawn
from helpers.line.plant.installation import Device, Installation
from helpers.line.plant.place import Place, devices, stations


def _at(installation: Installation, places: tuple[Place, ...], **right: object) -> tuple[Place, ...]:
    def is_right(device: Device) -> bool:
        return all(getattr(device, name) == value for name, value in right.items())

    return tuple(place for place in places if is_right(installation.device(place.device)))


def _loose(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_device(place.device, board_seated=False)


def _off(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_device(place.device, powered=False)


def _drops(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_device(place.device, supply_drops_s=round(drawn(random, "supply_every_s"), 1))


def _returns(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_device(place.device, fault_returns_s=round(drawn(random, "fault_returns_s"), 1))


FAULTS = (
    Fault(key="board loose", name="Bus board not seated", group="drive", grade=1,
          places=lambda installation: _at(installation, devices(installation, "drive"), board_seated=True),
          make=_loose, cures=(("seat board",), ("exchange device",)),
          what="The bus board of this drive does not sit in its slot: it has neither supply nor contact."),
    Fault(key="supply off", name="Supply off", group="drive", grade=1,
          places=lambda installation: _at(installation, stations(installation), powered=True), make=_off,
          cures=(("switch on",),),
          what="The supply of this device is switched off."),
    Fault(key="supply drops", name="Supply that drops", group="drive", grade=3,
          places=lambda installation: _at(installation, stations(installation), supply_drops_s=0.0, powered=True),
          make=_drops, cures=(("mend supply",),),
          what="The supply of this device fails for a moment every few seconds."),
    Fault(key="fault returns", name="Drive fault that comes back", group="drive", grade=2,
          places=lambda plant: _at(plant, devices(plant, "drive"), fault_returns_s=0.0, powered=True),
          make=_returns, cures=(("mend release",),),
          what="Something outside this drive opens its release again a while after each acknowledgement."),
)  # fmt: skip
