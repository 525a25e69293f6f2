"""Faults of what is set in a device: bit rate, sources of run and setpoint, data format."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from random import Random

from helpers.bus.cable.bit_rates import bit_rates
from helpers.device.formats import demo_formats, ppo_types
from helpers.drive.settings import Settings, choices
from helpers.line.faults.fault import Fault
from helpers.line.plant.installation import Installation, configuration_of
from helpers.line.plant.place import Place, devices, stations


def with_values(
    installation: Installation, name: str, *, what: Iterable[str] = ("set", "active"), **values: object
) -> Installation:
    """The installation with other settings in a device: set, active, or both."""
    settings = installation.device(name).settings
    changed = {each: replace(getattr(settings, each), **values) for each in what}
    return installation.with_device(name, settings=replace(settings, **changed))


def _slower(installation: Installation) -> frozenset[float]:
    return frozenset(rate for rate in bit_rates() if rate < installation.bit_rate)


def _able(installation: Installation) -> tuple[Place, ...]:
    """Stations that can do the bit rate of the line, if there is a slower one."""
    if not _slower(installation):
        return ()
    found = ((p, installation.device(p.device).rates) for p in stations(installation))
    return tuple(place for place, rates in found if not rates or installation.bit_rate in rates)


def _rate(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_device(place.device, rates=_slower(installation))


def _led_by_bus(installation: Installation, setting: str) -> tuple[Place, ...]:
    def led(settings: Settings) -> bool:
        return bool(getattr(settings.set, setting) == getattr(settings.active, setting) == "bus")

    return tuple(p for p in devices(installation, "drive") if led(installation.device(p.device).settings))


def _beside_bus(setting: str, random: Random) -> str:
    return random.choice([row["choice"] for row in choices(setting) if row["choice"] != "bus"])


def _run(installation: Installation, place: Place, random: Random) -> Installation:
    return with_values(installation, place.device, run_source=_beside_bus("run_source", random))


def _setpoint(installation: Installation, place: Place, random: Random) -> Installation:
    return with_values(installation, place.device, setpoint_source=_beside_bus("setpoint_source", random))


def _agreeing(installation: Installation) -> tuple[Place, ...]:
    """Drives whose format is the one that the controller expects."""
    found = []
    for place in devices(installation, "drive"):
        settings = installation.device(place.device).settings
        names = [s.data_format for s in installation.edited.stations if s.name == place.device]
        if names and settings.set.data_format == settings.active.data_format == names[0]:
            found.append(place)
    return tuple(found)


def other_formats(data_format: str) -> list[str]:
    """The formats of the drive whose configuration identifiers are others.

    >>> "PPO 4" in other_formats("PPO 4"), "PPO 2" in other_formats("PPO 4")
    (False, True)
    """
    own = configuration_of(data_format).octets
    return [form.name for form in (*ppo_types(), *demo_formats()) if form.identifiers != own]


def _format(installation: Installation, place: Place, random: Random) -> Installation:
    own = installation.device(place.device).settings.active.data_format
    return with_values(installation, place.device, data_format=random.choice(other_formats(own)))


FAULTS = (
    Fault(key="bit rate unsupported", name="Bit rate that a device can't do", group="settings", grade=2, places=_able,
          make=_rate, cures=(("exchange device",),),
          what="The bus board of this device works at lower bit rates only."),
    Fault(key="run source local", name="Run command not from the bus", group="settings", grade=1,
          places=lambda installation: _led_by_bus(installation, "run_source"), make=_run,
          cures=(("set run source",), ("exchange device",)),
          what="The run command of this drive is set to come from its panel or its terminals."),
    Fault(key="setpoint source local", name="Setpoint not from the bus", group="settings", grade=1,
          places=lambda installation: _led_by_bus(installation, "setpoint_source"), make=_setpoint,
          cures=(("set setpoint source",), ("exchange device",)),
          what="The setpoint of this drive is set to come from its panel or its terminals."),
    Fault(key="format differs", name="Format in the drive is another than in the controller", group="settings",
          grade=2, places=_agreeing, make=_format, cures=(("set format", "power cycle"), ("exchange device",)),
          what="Another data format is set in this drive than the controller expects."),
)  # fmt: skip
